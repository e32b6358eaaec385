"""Write the tables in hardware-notes/*.md that come from the code: settings, reasons, alarms, starting settings.

    python -m tests.tools.write_tables

A page marks the place of a table with two comment lines. What stands between them is written here, except that the
last column of a merged table is the page's own: it is kept by the row's first cell. A test fails while a page
differs from the code, or while a kept cell is empty.
"""

import ast
import json
import re

from controller.core import reasons, rows, settings
from tests.tools import draw_wiring, lost_probes
from tests.tools.draw_states import FOLDER

BOARD_CODE = FOLDER.parent / "controller" / "board"

STARTS = (
    ("frost-free citrus", "frost-free-citrus.json"),
    ("cool orchids", "cool-orchids.json"),
    ("light frost", "light-frost-ornamentals.json"),
)
OFFSETS = ("band", "gain")  # a key with one of these in it is a difference of temperatures, not a temperature


def begin(name):
    """The line before a table."""
    return f"<!-- table {name}: written by python -m tests.tools.write_tables, edit the code instead -->"


END = "<!-- end of table -->"


def fahrenheit(key, centi_c):
    """Return a setting's hundredths of a degree C as people read degrees F: 2400 -> "75.2", a band of 200 -> "3.6"."""
    number = centi_c * 9 / 500 + (0 if any(word in key for word in OFFSETS) else 32)
    return f"{number:.1f}".removesuffix(".0")


def in_fahrenheit(row):
    """Return default and bounds of a settings row in degrees F, "" for rows that are no temperature."""
    key, default, low, high, unit, _ = row
    if unit[0] != "C":
        return ""
    start = "off" if unit.endswith("off") and default == 0 else fahrenheit(key, default)
    return f"{start} ({fahrenheit(key, low)} to {fahrenheit(key, high)})"


def settings_rows():
    """Return the rows of the settings table."""
    out = []
    for row in rows.TABLE:
        default = "0 (off)" if row[4].endswith("off") and row[1] == 0 else rows.text_of(row[1], row[4])
        out.append([f"`{row[0]}`", default, rows.bounds_text(row), in_fahrenheit(row), row[5]])
    return out


def load_start(file):
    """Return the mapping of one starting settings file."""
    return json.loads((FOLDER / "starting-settings" / file).read_text(encoding="utf-8"))


def start_rows():
    """Return one row per setting in which a starting file differs from the defaults."""
    default = settings.to_mapping(rows.defaults())
    files = [load_start(file) for _, file in STARTS]
    out = []
    for key, value in default.items():
        if any(file[key] != value for file in files):
            cells = [f"**{file[key]}**" if file[key] != value else str(file[key]) for file in files]
            out.append([f"`{key}`", str(value), *cells])
    return out


def literal(file, name):
    """Return a table of the board's code, read as text: its modules need a board to run. Names in it become None."""
    tree = ast.parse((BOARD_CODE / file).read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.Assign) and [target.id for target in node.targets if isinstance(target, ast.Name)] == [
            name
        ]:
            return _value(node.value)
    raise ValueError(f"{file} has no table {name}")


def _value(node):
    if isinstance(node, ast.Tuple):
        return tuple(_value(one) for one in node.elts)
    return node.value if isinstance(node, ast.Constant) else None


def literal_number(file, name):
    """Return a number of the board's code, read as text."""
    found = re.search(rf"^{name} = (\d[\d_]*)", (BOARD_CODE / file).read_text(encoding="utf-8"), flags=re.MULTILINE)
    if found is None:
        raise ValueError(f"{file} has no number {name}")
    return int(found[1])


def console_rows():
    """Return the rows of the console's commands."""
    rows_ = [(f"{name} {follows}".strip(), meaning) for name, follows, meaning, *_ in literal("commands.py", "TABLE")]
    return [["`" + words.replace(" | ", " \\| ") + "`", meaning] for words, meaning in rows_]


def choice_rows():
    """Return the rows of what is fitted: the default first among the choices."""
    return [
        [f"`wiring {key} ...`", ", ".join(str(choice) for choice in choices), meaning]
        for key, choices, meaning in literal("wiring.py", "TABLE")
    ]


# name: (page, head, rows; True when the last column is the page's own)
TABLES = {
    "settings": (
        "settings.md",
        ["setting", "default", "may be", "in °F", "what it does"],
        settings_rows,
        False,
    ),
    "reasons": (
        "phases-and-reasons.md",
        ["reason", "what it says", "if it stands longer than you expect"],
        lambda: [[f"`{word}`", sentence] for word, sentence in reasons.REASONS],
        True,
    ),
    "alarms": (
        "phases-and-reasons.md",
        ["alarm", "what it says", "what to do first"],
        lambda: [[f"`{word}`", sentence] for word, sentence in reasons.ALARMS],
        True,
    ),
    "starts": ("choosing.md", ["setting", "default", *(name for name, _ in STARTS)], start_rows, False),
    **{
        f"pins {board}": ("wiring.md", draw_wiring.HEAD, lambda board=board: draw_wiring.table(board), False)
        for board in draw_wiring.BOARDS
    },
    "choices": ("wiring.md", ["console", "choices, default first", "what it says"], choice_rows, False),
    "console": ("console.md", ["command", "what it does"], console_rows, False),
    "board faults": (
        "trouble.md",
        ["fault", "what it says", "what to do"],
        lambda: [[f"`{word}`", meaning] for word, meaning in literal("setup.py", "FAULTS")],
        True,
    ),
    **{
        f"lost {name}": ("lost-probes.md", lost_probes.HEAD, lambda name=name: lost_probes.rows_of(name), False)
        for name in lost_probes.CASES
    },
}


def cells_of(line):
    """Return the cells of one table line."""
    return [cell.strip() for cell in line.strip().strip("|").split(" | ")]


def between(text, name):
    """Return (start, end) of what stands between the marks of a table. Raises ValueError when the page lacks them."""
    found = re.search(re.escape(begin(name)) + r"\n(.*?)" + re.escape(END), text, re.DOTALL)
    if found is None:
        raise ValueError(f'no place for table "{name}": put "{begin(name)}" and "{END}" on lines of their own')
    return found.start(1), found.end(1)


def table_text(head, body):
    """Return a table as Markdown, a blank line above and below."""
    lines = ["", "| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row) + " |" for row in body]
    return "\n".join([*lines, "", ""])


def kept_cells(old):
    """Return {first cell: last cell} of a table that stands in a page."""
    lines = [line for line in old.splitlines() if line.startswith("| ")][1:]
    return {cells_of(line)[0]: cells_of(line)[-1] for line in lines}


def written(page, text):
    """Return the text of a page with all its tables as the code has them."""
    for name, (where, head, body, merged) in TABLES.items():
        if where != page:
            continue
        start, end = between(text, name)
        kept = kept_cells(text[start:end]) if merged else {}
        found = [[*row, kept.get(row[0], "")] if merged else row for row in body()]
        text = text[:start] + table_text(head, found) + text[end:]
    return text


def pages():
    """Return the names of the pages that hold tables."""
    return sorted({table[0] for table in TABLES.values()})


if __name__ == "__main__":
    for page in pages():
        path = FOLDER / page
        path.write_text(written(page, path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
        print(path)
