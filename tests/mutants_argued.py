"""Mutants of the core that no test can kill, each with the reason why it changes nothing.

FUNCTIONS: "module.function" -> {the line as the mutant has it: why}. VALUES: "file: old -> new" -> why.
"""

FUNCTIONS = {}
VALUES = {}
