"""Does what is printed fit a small terminal, and stay whole in a file or a pipe?"""

import pytest

from tuner import report, terminal

PROSE = "House, as logged: lowest ten minutes 0.7 C, highest reading 31.1 C; 2.9 degree hours below the plants' floor."


@pytest.fixture
def narrow(monkeypatch):
    """Let standard output be a terminal of forty columns."""
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", "40")


def test_nothing_is_broken_in_a_pipe():
    assert terminal.width() == 0 and terminal.wrapped([PROSE]) == [PROSE]
    assert len(report.table(["a", *(["b" * 30] * 9)], [["1"] * 10])) == 3


def test_prose_is_broken_between_words_and_tables_are_not(narrow):
    assert terminal.width() == 40
    table = "2026-02-05               0.7    11.6   14.3       5"
    lines = terminal.wrapped([PROSE, table, "", f"  - {PROSE}", "short"])
    assert max(map(len, (one for one in lines if one != table))) <= 40 and table in lines
    assert lines[0] == "House, as logged: lowest ten minutes 0.7"
    points = lines[lines.index(table) + 2 : -1]
    assert points[0].startswith("  - House") and all(one.startswith("    ") for one in points[1:])
    assert " ".join(" ".join(points).split()) == f"- {PROSE}"


def test_a_path_is_never_broken(narrow):
    path = "Numbers: " + "a-folder/" * 9 + "out.json"
    assert path.split()[1] in [one.strip() for one in terminal.wrapped([path])]


def test_a_terminal_that_is_absurdly_narrow_counts_as_forty(narrow, monkeypatch):
    monkeypatch.setenv("COLUMNS", "3")
    assert terminal.width() == 40


def test_a_wide_table_is_told_in_parts_that_keep_together_what_belongs_together(narrow):
    head = ["night to", "one min", "one h", "two min", "two h"]
    rows = [["2026-02-04", "2.9", "15.2", "3.5", "16.9"], ["2026-02-05", "0.7", "14.3", "0.6", "17.4"]]
    assert report.table(head, rows, [2, 2]) == [
        "night to    one min  one h",
        "----------  -------  -----",
        "2026-02-04      2.9   15.2",
        "2026-02-05      0.7   14.3",
        "",
        "night to    two min  two h",
        "----------  -------  -----",
        "2026-02-04      3.5   16.9",
        "2026-02-05      0.6   17.4",
    ]


def test_columns_that_belong_together_but_do_not_fit_are_broken_up(narrow):
    assert terminal.groups_that_fit([10, 9, 9, 9, 9], [4], 40) == [[0, 1, 2], [0, 3, 4]]
    assert terminal.groups_that_fit([10, 90, 5], [1, 1], 40) == [[0, 1], [0, 2]]
    assert terminal.groups_that_fit([10, 9, 9], [1, 1], 0) == [[0, 1, 2]]
