"""Do drawing, table and pin map agree, and is no pin drawn that is not there?"""

import re
from xml.etree import ElementTree

import pytest

from tests.docs_help import NOTES, read
from tests.tools import draw_wiring

# Our own sheets; report-*.svg are the plots of the report.
SHEETS = [path for path in sorted(NOTES.glob("*.svg")) if not path.name.startswith("report-")]
SVG = "{http://www.w3.org/2000/svg}"


def drawn_pins(svg):
    """Return {name: (number in the mark, text that people read)} of a board's drawing."""
    found = {}
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        words = [text.text for text in group.iter(f"{SVG}text")]
        found[group.get("data-pin")] = (int(group.get("data-number")), words)
    return found


@pytest.mark.parametrize("name", sorted(draw_wiring.drawn()))
def test_the_drawings_are_up_to_date(name):
    assert read(NOTES / name) == draw_wiring.drawn()[name], "run: python -m tests.tools.draw_wiring"


@pytest.mark.parametrize("board", draw_wiring.BOARDS)
def test_every_pin_of_the_map_is_drawn_once_with_its_number(board):
    drawn = drawn_pins(read(NOTES / f"wiring-{board}.svg"))
    pins = draw_wiring.pin_map(board)
    assert set(drawn) == set(pins) == set(draw_wiring.PINS)
    for name, number in pins.items():
        assert drawn[name][0] == number
        told = drawn[name][1][0]
        assert re.match(rf"(GP|GPIO){number}\b", told) and drawn[name][1][1] == name


@pytest.mark.parametrize("board", draw_wiring.BOARDS)
def test_no_pin_has_two_jobs(board):
    numbers = list(draw_wiring.pin_map(board).values())
    assert len(set(numbers)) == len(numbers)


def test_legs_are_those_of_a_40_leg_board():
    """Pico data sheet, figure "pinout", from memory: 26 user pins on 40 legs, none of them a ground leg."""
    grounds = {3, 8, 13, 18, 23, 28, 33, 38}
    legs = draw_wiring.PICO_LEGS
    assert len(set(legs.values())) == len(legs) == 26
    assert not grounds & set(legs.values())
    assert list(legs.values()) == sorted(legs.values())


def test_a_moved_pin_changes_drawing_and_table(monkeypatch):
    from controller.board import pins_pico

    svg, table = draw_wiring.board_svg("pico"), draw_wiring.table("pico")
    monkeypatch.setattr(pins_pico, "FAN", 17)
    assert drawn_pins(draw_wiring.board_svg("pico"))["FAN"] == (17, ["GP17 (leg 22)", "FAN"])
    assert draw_wiring.board_svg("pico") != svg and draw_wiring.table("pico") != table


def test_a_pin_that_is_drawn_nowhere_is_found(monkeypatch):
    from controller.board import pins_pico

    monkeypatch.setattr(pins_pico, "PUMP", 9, raising=False)
    assert set(draw_wiring.pin_map("pico")) != set(draw_wiring.PINS)


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_words_stay_inside_the_sheet(path):
    """Each text's start and rough width (7.4 px a letter at 14 px, 6.4 small, 9.5 headings) lie on the paper."""
    root = ElementTree.fromstring(read(path))
    width, height = float(root.get("width")), float(root.get("height"))
    for text in root.iter(f"{SVG}text"):
        kind = text.get("class") or ""
        long = len(text.text or "") * {"s": 6.4, "h": 9.5, "b": 8.2}.get(kind, 7.4)
        left = float(text.get("x")) - {"middle": long / 2, "end": long}.get(text.get("text-anchor"), 0)
        assert left >= -2 and left + long <= width + 2, text.text
        assert 8 <= float(text.get("y")) <= height - 2, text.text


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_drawings_are_readable_in_print(path):
    """White paper under all, letters of at least 12 px, a title for those who hear pages."""
    text = read(path)
    assert 'fill="#ffffff"' in text and "<title>" in text
    assert all(int(size) >= 12 for size in re.findall(r"(\d+)px", text))
