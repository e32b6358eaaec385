"""Does every command that the pages show exist, run, and print what they show?

A block that begins with ```console holds commands for a shell ("$ ") with what they print, see
tests/tools/write_blocks.py; ```console board holds lines for the board's console ("> "), which the simulated board
answers (tests/rig/inner/ask.py). A line of three dots stands for lines left out.
"""

import importlib.util
import re
import sys
from pathlib import Path

import pytest

from controller.board import pins_pico
from tests.docs_help import EVERY, MICROPYTHON, NOTES, PAGES, blocks, name_of, play, read
from tests.tools import write_blocks
from tests.tools.write_blocks import exchanges, fits
from tuner.__main__ import COMMANDS, commands

SHELL = [page for page in EVERY if write_blocks.BLOCK.search(read(page))]
BOARD = [(page, block) for page in EVERY for block in blocks(read(page), "console board")]


@pytest.mark.parametrize("page", SHELL, ids=name_of)
def test_shell_blocks_print_what_is_shown(page, tmp_path):
    text = read(page)
    if "```console with a board" in text and (MICROPYTHON is None or sys.platform == "win32"):
        pytest.skip("no micropython command here: no board can be simulated")
    for kind, line, shown, printed in write_blocks.played(text, tmp_path):
        told = "\n".join(["run: python -m tests.tools.write_blocks", line, *printed])
        assert fits(shown, printed, kind.endswith("about")), told


@pytest.mark.parametrize(("page", "block"), BOARD, ids=lambda one: name_of(one) if hasattr(one, "name") else "")
def test_a_board_block_is_answered_as_shown(page, block, tmp_path):
    told = exchanges(block, "> ")
    steps = [[400 + 2 * place, "ask", line] for place, (line, _) in enumerate(told)]
    readings = {"house": 6.0625, "soil": 14.5, "outlet": 9, "outside": -2.25}
    answers, _ = play(tmp_path, readings=readings, steps=steps)
    assert [line for _, line, _ in answers] == [line for line, _ in told]
    for (line, shown), (_, _, printed) in zip(told, answers, strict=True):
        assert fits(shown, printed), f"{line}\n" + "\n".join(printed)


# Every "loamstat ..." in code, inline or in a block; in a block a line may be broken by a backslash.
TYPED = sorted(
    {
        " ".join(found.split())
        for page in EVERY
        for found in re.findall(r"(?:`|^(?: {4}|\$ )(?:\S*/)?)(loamstat(?: [^`\n]*)?)", read(page), flags=re.MULTILINE)
    }
)


def test_commands_are_found_in_the_pages():
    assert len(TYPED) > 40


@pytest.mark.parametrize("typed", TYPED)
def test_a_command_named_in_a_page_exists_with_its_options(typed):
    words = typed.replace("[", " ").replace("]", " ").split()[1:]
    if not words or words[0].startswith(("-", "0", "COMMAND")):  # the program itself, or a version of it
        return
    assert words[0] in [known for known, _, _ in COMMANDS]
    known = {word for option in commands.get_command(None, words[0]).params for word in option.opts}
    assert {word.partition("=")[0] for word in words if word.startswith("--")} <= {*known, "--help"}


def test_every_command_is_run_on_some_page():
    run = {line.split()[1] for page in SHELL for _, block in write_blocks.BLOCK.findall(read(page))
           for line, _ in exchanges(block)}  # fmt: skip
    assert run == {name for name, _, _ in COMMANDS}


MODULES = sorted({match for page in EVERY for match in re.findall(r"python -m ([\w.]+)", read(page))})


@pytest.mark.parametrize("module", MODULES)
def test_a_module_named_in_a_page_can_be_run(module):
    if not module.startswith(("tests.", "tuner", "controller")):
        assert importlib.util.find_spec(module), module  # pytest, venv, pip: not ours
        return
    found = Path(importlib.import_module(module).__file__)
    assert "__main__" in read(found) or (found.name == "__init__.py" and (found.parent / "__main__.py").exists())


def test_console_commands_named_in_pages_exist():
    from tests.tools.write_tables import literal

    known = {row[0] for row in literal("commands.py", "TABLE")}
    choices = {row[0] for row in literal("wiring.py", "TABLE")}
    for page in PAGES:
        for code in re.findall(r"`([a-z]+(?: [^`]+)?)`", read(page)):
            word, *rest = code.split()
            if word == "wiring" and rest and rest[0].islower() and rest[0] != "...":
                assert rest[0] in choices, f"{name_of(page)}: {code}"
            if word in ("test", "set", "find", "roles", "offset", "wiring", "units", "clock", "trial", "restart"):
                assert word in known, f"{name_of(page)}: {code}"


def test_dots_stand_for_lines_left_out():
    assert fits(["a", "...", "d"], ["a", "b", "c", "d"]) and fits(["a", "..."], ["a"])
    assert not fits(["a", "..."], ["b"]) and not fits(["a"], ["a", "b"])
    assert fits(["to ... in 3 s"], ["to a place in 3 s"]) and not fits(["to ... in 3 s"], ["to a place in 4 s"])


def test_numbers_that_are_about_right():
    assert fits(["loses 213 (194 to 270) W"], ["loses 220 (190 to 300) W"], about=True)
    assert fits(["a  1.5 K."], ["a    1.9 K."], about=True)
    assert not fits(["loses 213 W"], ["loses 120 W"], about=True) and not fits(["at 1.5 K"], ["of 1.5 K"], about=True)
    assert not fits(["loses 213 W"], ["loses 214 W"])


def test_a_stale_line_is_replaced_by_the_one_most_like_it():
    printed = ["House 1.5 C, highest 31 C.", "Fan: 128.4 h, 84 starts.", "The end."]
    assert write_blocks.mended(["...", "Fan: 129.3 h, 81 starts.", "..."], printed) == ["...", printed[1], "..."]


# The table of hardware-notes/first-power-up.md, played on a simulated board out of its bag.
BENCH = [
    (10, "ask", "status", "waking"),
    (200, "ask", "status", "blind-rest"),
    (310, "ask", "status", "blind-run"),
    (312, "ask", "test fan", "error no test: "),
    (320, "probe", ("house", 21.0), None),
    (321, "probe", ("soil", 20.0), None),
    (330, "ask", "find", "ok 2 probes answer"),
    (340, "probe", ("house", 27.0), None),
    (350, "ask", "find", "<- warmed"),
    (352, "ask", "roles house 2801ab12345600c8", "ok 1 roles have a probe"),
    (354, "ask", "roles soil 2802ab1234560091", "ok 2 roles have a probe"),
    (356, "ask", "wiring hand_fitted 1", "type restart"),
    (358, "ask", "restart", "ok restarting"),
    (380, "hand", "on", None),
    (386, "ask", "status", "(hand-on)"),
    (390, "hand", "off", None),
    (396, "ask", "status", "(hand-off)"),
    (400, "hand", "auto", None),
    (404, "ask", "status", "(resting)"),
    (720, "ask", "status", "(hot)"),
    (1500, "probe", ("soil", 28.0), None),
    (1501, "probe", ("house", 0.0), None),
    (1525, "ask", "status", "charge (hot)"),
    (1536, "ask", "status", "rest (resting)"),
    (1850, "ask", "status", "discharge (frost-guard)"),
    (2000, "probe", ("house", None), None),
    (2190, "ask", "status", "blind (blind-run)"),
    (2192, "ask", "faults", "house-lost"),
]


def test_the_first_power_up_goes_as_the_table_says(tmp_path):
    steps = [[second, what, value] for second, what, value, _ in BENCH]
    # Soil in ice water from the start of the warm part on: colder than the house by more than the least gain.
    steps.insert(next(place for place, step in enumerate(steps) if step[0] > 380), [381, "probe", ("soil", 4.0)])
    answers, pins = play(tmp_path, new=True, readings={}, steps=steps)
    expected = [(value, words) for _, what, value, words in BENCH if what == "ask"]
    for (line, words), (second, asked, printed) in zip(expected, answers, strict=True):
        assert asked == line and words in "\n".join(printed), f"{second} s: {line}\n" + "\n".join(printed)
    assert min(second for second, level in pins[pins_pico.FAN] if level) >= 300  # the rest after power-up
    for number in (pins_pico.HEATER, pins_pico.VENT):
        assert {level for _, level in pins[number]} == {0}


def test_every_word_of_the_bench_stands_in_the_page():
    text = read(NOTES / "first-power-up.md")
    for word in ("waking", "blind-rest", "blind-run", "hand-on", "hand-off", "hot", "frost-guard", "house-lost"):
        assert f"`{word}`" in text


def test_the_console_takes_degrees_f(tmp_path):
    """41 F is 5 C; 2.7 F of band are 1.5 K; an offset of -0.45 F is -0.25 K: F = 1.8 C + 32, by definition."""
    lines = [
        ("set discharge_below_c 41F", "ok discharge_below_c 41F counts now; type save to keep it through a reset"),
        ("set discharge_band_c 2.7f least_gain_c 3c", "ok discharge_band_c 2.7f, least_gain_c 3c counts now;"),
        ("set charge_above_c 200F", "error charge_above_c: 93.33 is out of range. It must be 8 to 40 degrees C."),
        ("set charge_above_c warmF", "error charge_above_c: 'warmF' is not a number. It must be 8 to 40 degrees C."),
        ("set min_run_s 300F", "error min_run_s: '300F' is not a number."),
        ("settings", "discharge_below_c 5 ("),
        ("settings", "discharge_band_c 1.5 ("),
        ("offset house -0.45F", "ok house is corrected by -0.25 C"),
        ("units F", "ok units F"),
        ("offset house -0.9F", "ok house is corrected by -0.90 F"),
        ("offset house coldF", "error Write offset ROLE DEGREES, for example: offset house -0.25, or in degrees F"),
    ]
    steps = [[400 + 2 * place, "ask", line] for place, (line, _) in enumerate(lines)]
    readings = {"house": 15, "soil": 14.5, "outlet": 9, "outside": -2.25}
    answers, _ = play(tmp_path, readings=readings, steps=steps)
    for (line, told), (_, asked, printed) in zip(lines, answers, strict=True):
        assert asked == line and told in "\n".join([*printed, ""]), (line, printed)
