"""The decision part of the core made small enough for a 9.6 kB heap, by rule and not by hand.

One list of function texts: docstrings and comments gone, modules flattened, constants put in by value, fields of
named tuples read by their place, names shortened. The order of every operation stays. test_microbit holds the
small form to the core on CPython before it runs on the board.
"""

import ast
import importlib

from controller.core.allowance import Allowance
from controller.core.rows import Settings
from controller.core.screen import Reading
from controller.core.state import Asked, Deciding

MODULES = ("screen", "phases", "allowance", "limits", "wants", "stages", "timers", "decide")
ENTRY = ("decide", "next_deciding")
TUPLES = (Settings, Reading, Deciding, Allowance, Asked)
PLACES = {field: place for kind in TUPLES for place, field in enumerate(kind._fields)}
assert len(PLACES) == sum(len(kind._fields) for kind in TUPLES), "two tuples share a field's name"
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def loaded(name):
    """Return one module of the core."""
    return importlib.import_module(f"controller.core.{name}")


def functions():
    """Return {(module, function): its syntax} of MODULES."""
    out = {}
    for name in MODULES:
        with open(loaded(name).__file__, encoding="utf-8") as file:
            for node in ast.parse(file.read()).body:
                if isinstance(node, ast.FunctionDef):
                    out[name, node.name] = node
    return out


def owner(module, name):
    """Return (module, function) of the function that name means inside a module, or None."""
    value = getattr(loaded(module), name, None)
    home = getattr(value, "__module__", "") or ""
    return (home.rsplit(".", 1)[1], value.__name__) if callable(value) and home.startswith("controller.core.") else None


class Shrink(ast.NodeTransformer):
    """Rewrite one function; `called` collects the functions that it needs."""

    def __init__(self, module, node, names):
        self.module, self.names, self.called = module, names, []
        local = [argument.arg for argument in node.args.args]
        local += [part.id for part in ast.walk(node) if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Store)]
        self.local = {name: LETTERS[i] for i, name in enumerate(dict.fromkeys(local))}

    def constant(self, value):
        """Return the syntax of a module-level value."""
        if isinstance(value, tuple) and len(value) > 8:
            return ast.Constant(bytes(value))  # indexing gives the same ints in a quarter of the room
        return ast.parse(repr(value), mode="eval").body

    def function(self, key):
        """Return the short name of a function, and note that it is needed."""
        self.called.append(key)
        return ast.Name(self.names[key], ast.Load())

    def visit_Name(self, node):
        """A local name, a function, a constant, or a built-in."""
        if node.id in self.local:
            return ast.Name(self.local[node.id], node.ctx)
        if owner(self.module, node.id) in self.names:
            return self.function(owner(self.module, node.id))
        value = getattr(loaded(self.module), node.id, None)
        return node if value is None else self.constant(value)

    def visit_arg(self, node):
        """A parameter."""
        return ast.arg(self.local[node.arg])

    def visit_Attribute(self, node):
        """module.function, module.CONSTANT, or a field."""
        if isinstance(node.value, ast.Name) and node.value.id in MODULES and node.value.id not in self.local:
            key = owner(node.value.id, node.attr)
            return self.function(key) if key in self.names else self.constant(getattr(loaded(node.value.id), node.attr))
        return ast.Subscript(self.visit(node.value), ast.Constant(PLACES[node.attr]), ast.Load())

    def visit_Call(self, node):
        """A call; a named tuple becomes a plain one; len of a constant its value."""
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        if name in [kind.__name__ for kind in TUPLES]:
            return ast.Tuple([self.visit(argument) for argument in node.args], ast.Load())
        if name == "len":
            return ast.Constant(len(getattr(loaded(self.module), node.args[0].id)))
        return self.generic_visit(node)

    def visit_Expr(self, node):
        """Docstrings go."""
        return None if isinstance(node.value, ast.Constant) else self.generic_visit(node)


def texts():
    """Return [(short name, source)] of all functions that a decision needs, callees first."""
    found = functions()
    names = {key: "f" + LETTERS[i // 26] + LETTERS[i % 26] for i, key in enumerate(found)}
    done = {}

    def add(key):
        if key in done:
            return
        done[key] = ""
        shrink = Shrink(key[0], found[key], names)
        node = shrink.visit(found[key])
        node.name = names[key]
        done.pop(key)
        for other in shrink.called:
            add(other)
        done[key] = ast.unparse(ast.fix_missing_locations(node)).replace("    ", " ")

    add(ENTRY)
    return [(names[key], done[key]) for key in done]


def flat(value):
    """Return a named tuple as a plain one, inner ones too."""
    return tuple(flat(part) for part in value) if isinstance(value, tuple) else int(value)
