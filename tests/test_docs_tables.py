"""Are the tables in the pages those of the code, and does a change of the code change them?"""

import pytest

from controller.core import reasons, rows
from tests.docs_help import NOTES, read
from tests.tools import draw_days, draw_wiring, write_tables


@pytest.mark.parametrize("page", write_tables.pages())
def test_tables_are_up_to_date(page):
    text = read(NOTES / page)
    assert write_tables.written(page, text) == text, "run: python -m tests.tools.write_tables"


@pytest.mark.parametrize("name", [name for name, table in write_tables.TABLES.items() if table[3]])
def test_every_kept_cell_says_something(name):
    page, head, body, _ = write_tables.TABLES[name]
    text = read(NOTES / page)
    start, end = write_tables.between(text, name)
    kept = write_tables.kept_cells(text[start:end])
    assert list(kept) == [row[0] for row in body()]
    assert all(len(words) > 15 for words in kept.values()), f"{page}: an empty cell under {head[-1]!r}"


def test_every_table_of_a_page_is_known():
    marks = [line for page in NOTES.glob("*.md") for line in read(page).splitlines() if line.startswith("<!-- table ")]
    assert sorted(marks) == sorted(write_tables.begin(name) for name in write_tables.TABLES)


def test_a_changed_default_and_a_changed_sentence_show(monkeypatch):
    settings, words = read(NOTES / "settings.md"), read(NOTES / "phases-and-reasons.md")
    monkeypatch.setattr(rows, "TABLE", (("charge_above_c", 2500, 800, 4000, "C", "start"), *rows.TABLE[1:]))
    monkeypatch.setattr(reasons, "REASONS", (("idle", "Nothing."), *reasons.REASONS[1:]))
    assert write_tables.written("settings.md", settings) != settings
    assert "| `idle` | Nothing. | Nothing to do." in write_tables.written("phases-and-reasons.md", words)


def test_a_new_reason_comes_with_an_empty_cell(monkeypatch):
    text = read(NOTES / "phases-and-reasons.md")
    monkeypatch.setattr(reasons, "REASONS", (*reasons.REASONS, ("brand-new", "It is new.")))
    assert "| `brand-new` | It is new. |  |" in write_tables.written("phases-and-reasons.md", text)


# F = 1.8 C + 32 for a temperature, 1.8 K for a difference: the definition of the scale.
@pytest.mark.parametrize(
    ("key", "centi_c", "text"),
    [
        ("charge_above_c", 2400, "75.2"),
        ("charge_band_c", 200, "3.6"),
        ("least_gain_c", 300, "5.4"),
        ("frost_guard_c", -300, "26.6"),
    ],
)
def test_degrees_f(key, centi_c, text):
    assert write_tables.fahrenheit(key, centi_c) == text


@pytest.mark.parametrize(
    ("name", "draw"), [("day-and-night.svg", draw_days.day_svg), ("lost-probes.svg", draw_days.lost_svg)]
)
def test_the_pictures_of_days_are_up_to_date(name, draw):
    assert read(NOTES / name) == draw(), "run: python -m tests.tools.draw_days"


def test_the_picture_shows_what_the_board_logged():
    """Stepped through the log with its own settings, the core gives the log's own phases, minute for minute."""
    found = draw_days.rows()
    _, decided = draw_days.stepped(found, ())
    shown = list(zip(found, decided, strict=True))[draw_days.BEFORE_MIN :]
    same = sum(row["phase"] == reasons.PHASE_WORDS[phase] for row, (phase, _, _) in shown)
    assert same >= len(shown) - 4  # a start may fall a minute to either side


@pytest.mark.parametrize("board", draw_wiring.BOARDS)
def test_the_pin_table_is_that_of_the_map(board):
    rows_ = {row[0]: row[1] for row in draw_wiring.table(board)}
    for name, number in draw_wiring.pin_map(board).items():
        assert str(number) in rows_[f"`{name}`"].replace("GPIO", "GP ").replace("GP", "GP ").split("(")[0].split()
