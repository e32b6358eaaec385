"""Does every command that the pages show exist, run, and print what they show?

A block that begins with ```console holds commands for a shell ("$ ") with what they print; ```console board holds
lines for the board's console ("> "), which the simulated board answers (tests/rig/inner/ask.py).
A line of three dots stands for lines left out.
"""

import importlib
import re

import pytest

from controller.board import pins_pico
from tests.docs_help import NOTES, PAGES, blocks, name_of, play, read
from tests.tools import write_blocks
from tests.tools.write_blocks import exchanges, fits
from tuner.__main__ import COMMANDS, commands

SHELL = [(page, block) for page in PAGES for block in blocks(read(page), "console")]
BOARD = [(page, block) for page in PAGES for block in blocks(read(page), "console board")]


@pytest.mark.parametrize("page", sorted({page for page, _ in SHELL}), ids=name_of)
def test_shell_blocks_print_what_is_shown(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_blocks.lay_out(tmp_path, read(page))
    for block in blocks(read(page), "console"):
        for line, shown in exchanges(block, "$ "):
            printed = write_blocks.run(line)
            assert fits(shown, printed), "run: python -m tests.tools.write_blocks\n" + "\n".join([line, *printed])


@pytest.mark.parametrize(("page", "block"), BOARD, ids=lambda one: name_of(one) if hasattr(one, "name") else "")
def test_a_board_block_is_answered_as_shown(page, block, tmp_path):
    told = exchanges(block, "> ")
    steps = [[400 + 2 * place, "ask", line] for place, (line, _) in enumerate(told)]
    readings = {"house": 6.0625, "soil": 14.5, "outlet": 9, "outside": -2.25}
    answers, _ = play(tmp_path, readings=readings, steps=steps)
    assert [line for _, line, _ in answers] == [line for line, _ in told]
    for (line, shown), (_, _, printed) in zip(told, answers, strict=True):
        assert fits(shown, printed), f"{line}\n" + "\n".join(printed)


def named(program):
    """Return the words that follow a program's name in the pages' code."""
    codes = [code for page in PAGES for code in re.findall(r"`([^`]+)`", read(page))]
    return sorted({code.split()[1] for code in codes if code.startswith(f"{program} ") and len(code.split()) > 1})


@pytest.mark.parametrize("name", named("loamstat"))
def test_a_command_named_in_a_page_exists(name):
    if name not in [known for known, _, _ in COMMANDS]:
        pytest.skip(f"loamstat {name} is not part of this version yet")
    assert commands.get_command(None, name) is not None


MODULES = sorted({match for page in PAGES for match in re.findall(r"python -m ([\w.]+)", read(page))})


@pytest.mark.parametrize("module", MODULES)
def test_a_module_named_in_a_page_can_be_run(module):
    found = importlib.import_module(module)
    assert "__main__" in read(__import__("pathlib").Path(found.__file__))


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
