"""Does pull bring every row once, whole, into one file, wherever it was stopped before?

Rests on: journals written by the firmware's own code on real littlefs, fetched over a real pty. The rows to compare
with are read from the same journal in one go.
"""

import json

import pytest

from controller.core import record
from tests import link_help
from tests.link_help import settled, type_in
from tests.rig import lead_cuts
from tests.rig.cable import Cable
from tuner import link, link_merge, link_pull, link_times
from tuner.errors import LinkError, LogError

DAYS = 2


@pytest.fixture(scope="module")
def image(tmp_path_factory):
    return link_help.journal(tmp_path_factory.mktemp("journal"), DAYS)


@pytest.fixture
def board(tmp_path, monkeypatch, image):
    monkeypatch.chdir(tmp_path)
    with link_help.board(tmp_path, 60, image) as virtual:
        settled(virtual.port)
        yield virtual


def rows_of(path):
    return path.read_text(encoding="utf-8").splitlines()[1:]


def in_memory(one):
    """Return the rows that are not on flash yet."""
    return link_pull.piece(one, link_pull.piece(one, (0, 0), 1000)[2])[1]


class OnBoard:
    pytestmark = link_help.needs_board


class TestPull(OnBoard):
    def test_every_row_once_and_inspect_reads_it(self, board, tmp_path, monkeypatch, capsys):
        status, out, err = type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        assert (status, err) == (0, "")
        assert out.splitlines()[:2] == ["L.csv: 2,880 new rows.", "See what is in it: loamstat inspect L.csv"]
        assert out.splitlines()[2].startswith("Clock set to ") and "it was not set before." in out
        first = rows_of(tmp_path / "L.csv")
        assert [row.split(",")[1] for row in first] == [str(60 * n) for n in range(1, 1440 * DAYS + 1)]
        assert first[0].startswith("2026-01-10T00:01:00Z,60,8.00,14.00,")
        with link.Link(board.port) as one:
            while len(in_memory(one)) < 2:
                pass
        status, out, _ = type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        second = rows_of(tmp_path / "L.csv")
        assert second[: len(first)] == first and len(second) >= len(first) + 2
        assert f"L.csv: {len(second) - len(first)} new rows." in out
        status, out, err = type_in(monkeypatch, capsys, "inspect", "L.csv")
        assert (status, err) == (0, "") and out.startswith(f"{len(second)} rows, 2026-01-10 00:01")

    def test_rows_of_memory_come_again_from_flash_and_stand_there_once(self, board, tmp_path, monkeypatch, capsys):
        with link.Link(board.port) as one:
            while len(in_memory(one)) < 2:
                pass
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        held = rows_of(tmp_path / "L.csv")
        note = json.loads((tmp_path / "L.csv.pulled").read_text())
        assert note["settled"] == 1440 * DAYS and len(held) > note["settled"]
        with link.Link(board.port) as one:  # a restart writes what is in memory
            one.restart()
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        now = rows_of(tmp_path / "L.csv")
        assert now[: len(held)] == held and len(set(now)) == len(now)

    def test_a_pull_that_is_cut_keeps_what_came_and_goes_on_there(self, board, tmp_path, monkeypatch, capsys):
        with Cable(board.port, 12_000) as cable:
            status, _, err = type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=cable.port)
        assert status == 1
        part = len(rows_of(tmp_path / "L.csv"))
        assert 0 < part < 1440 * DAYS
        assert err.startswith(f"loamstat: {cable.port}: the port is gone: lead pulled, or power lost")
        assert err.endswith(
            f"\n{part} new rows are safe in L.csv. Run the same command again: it goes on from there.\n"
        )
        status, _, _ = type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        assert status == 0
        assert [row.split(",")[1] for row in rows_of(tmp_path / "L.csv")[: 1440 * DAYS]] == [
            str(60 * n) for n in range(1, 1440 * DAYS + 1)
        ]

    def test_since_fetches_from_then_on(self, board, tmp_path, monkeypatch, capsys):
        monkeypatch.setenv("TZ", "UTC")
        status, _, _ = type_in(
            monkeypatch, capsys, "pull", "--since", "2026-01-11 06:30+00:00", "--out", "L.csv", port=board.port
        )
        assert status == 0 and rows_of(tmp_path / "L.csv")[0].startswith("2026-01-11T06:30:00Z,")
        status, _, err = type_in(monkeypatch, capsys, "pull", "--since", "yesterday", port=board.port)
        assert status == 1
        assert err == ('loamstat: --since yesterday: this is no time. Write "2026-03-01" or "2026-03-01 06:30".\n')

    def test_without_its_note_the_log_is_laid_over_the_journal(self, board, tmp_path, monkeypatch, capsys):
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        whole = (tmp_path / "L.csv").read_text()
        lines = whole.splitlines(keepends=True)
        (tmp_path / "L.csv").write_text("".join(lines[:1000]))  # somebody cut it short
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        assert (tmp_path / "L.csv").read_text()[: len(whole)] == whole
        (tmp_path / "L.csv.pulled").unlink()
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        assert (tmp_path / "L.csv").read_text()[: len(whole)] == whole

    def test_another_boards_log_and_other_files_are_not_touched(self, board, tmp_path, monkeypatch, capsys):
        type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        note = json.loads((tmp_path / "L.csv.pulled").read_text())
        (tmp_path / "L.csv.pulled").write_text(json.dumps({**note, "probes": ["28ffffffffffff00"]}))
        before = (tmp_path / "L.csv").read_bytes()
        status, _, err = type_in(monkeypatch, capsys, "pull", "--out", "L.csv", port=board.port)
        assert status == 1 and (tmp_path / "L.csv").read_bytes() == before
        assert err == (
            "loamstat: L.csv: this log came from another board (probes 28ffffffffffff00).\n"
            "Name another file: --out LOG.csv\n"
        )
        (tmp_path / "N.csv").write_text("a,b\n1,2\n")
        status, _, err = type_in(monkeypatch, capsys, "pull", "--out", "N.csv", port=board.port)
        assert status == 1 and (tmp_path / "N.csv").read_text() == "a,b\n1,2\n"
        assert err == (
            "loamstat: N.csv: this is no log that was pulled from a board.\nName another file: --out LOG.csv\n"
        )

    def test_noise_on_the_line_costs_time_and_no_row(self, board, tmp_path, monkeypatch, capsys):
        whole = lead_cuts.fetched(board.port, (0, 0)).rows
        place, rows = (0, 0), []
        with Cable(board.port, noise=0.05, seed=4) as cable:
            for _ in range(40):
                part = lead_cuts.fetched(cable.port, place)
                place, rows = part.next, rows + part.rows
                if len(rows) >= len(whole):
                    break
        assert rows == whole

    def test_the_lead_pulled_at_many_places(self, image):
        found = lead_cuts.pulls(16, 7, image)
        assert found.cuts >= 14 and found.wrong == []


def lines(*specs):
    """Return CSV lines of (time or "", uptime)."""
    return [f"{time},{uptime},8.00,14.00,,,,rest,0,0,0,0,idle," for time, uptime in specs]


def test_a_wrong_clock_is_emptied_back_to_where_it_was_set():
    wrong = lines(("2044-01-01T00:01:00Z", 60), ("2044-01-01T00:02:00Z", 120))
    right = lines(("2026-03-01T00:03:00Z", 180), ("2026-03-01T00:04:00Z", 240))
    mended, emptied = link_times.mended(wrong + right)
    assert emptied == 2 and mended == lines(("", 60), ("", 120)) + right
    # Over a reset that kept the clock it reaches back; a power-off, after which the clock was set, it does not.
    kept = lines(("2044-01-01T00:00:00Z", 6000), ("2044-01-01T00:01:00Z", 60), ("2026-03-01T00:03:00Z", 120))
    assert link_times.mended(kept) == (lines(("", 6000), ("", 60)) + kept[2:], 2)
    anew = lines(("2025-12-01T00:00:00Z", 6000), ("2044-01-01T00:01:00Z", 60), ("2026-03-01T00:03:00Z", 120))
    assert link_times.mended(anew) == (anew[:1] + lines(("", 60)) + anew[2:], 1)


def test_a_clock_set_by_less_than_two_minutes_is_left_alone():
    rows = lines(("2026-03-01T00:01:00Z", 60), ("2026-03-01T00:03:40Z", 120), ("", 180), ("2026-03-01T09:00:00Z", 240))
    assert link_times.mended(rows) == (rows, 0)


def test_logs_join_where_they_agree_and_only_there():
    old = lines(*((f"2026-03-01T00:0{n}:00Z", 60 * n) for n in range(6)))
    more = lines(*((f"2026-03-01T00:0{n}:00Z", 60 * n) for n in range(4, 9)))
    unknown = link_merge.Earlier(old, len(old), (0, 0), False)
    assert link_merge.joined("L", unknown, more) == old[:4] + more
    assert link_merge.joined("L", unknown, old[2:4]) == old[:4]
    later = lines(("2026-03-02T00:00:00Z", 60))
    assert link_merge.joined("L", unknown, later) == old + later
    other = [line.replace("8.00", "9.00") for line in more]
    with pytest.raises(LogError, match="the rows in it are others than the board's"):
        link_merge.joined("L", unknown, other)
    known = link_merge.Earlier(old, 4, (1, 2), True)
    assert link_merge.joined("L", known, more) == old[:4] + more


def test_where_a_pull_begins():
    sizes = {3: 500, 4: 90}
    assert link_pull.start_of(sizes, (4, 90)) == ((4, 90), "") and link_pull.start_of(sizes, (0, 0)) == ((0, 0), "")
    assert (
        link_pull.start_of(sizes, (2, 10))[0] == (0, 0) and "a gap is possible" in link_pull.start_of(sizes, (2, 1))[1]
    )
    assert "began anew" in link_pull.start_of(sizes, (4, 91))[1] and "began anew" in link_pull.start_of({}, (1, 1))[1]


class Answers:
    """A link that gives made-up answers."""

    device = "port"

    def __init__(self, *answers):
        self.answers = list(answers)

    def ask(self, command, wait_s=0):
        return self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]


def test_a_piece_with_a_lost_line_is_asked_for_again_and_given_up_in_the_end():
    block = link_pull.base64.b64encode(record.pack_block(ROW, [record.pack(ROW)])).decode()
    good = [f"1 0 {block}", "ok 1 blocks, 0 spoilt bytes, next 1:36"]
    assert link_pull.piece(Answers(good[1:], good), (0, 0)) == ([ROW], [], (1, 36), 0, False)
    spoilt = [f"1 0 {block[:-4]}AAA=", good[1]]
    with pytest.raises(LinkError, match="lines of the log kept being lost"):
        link_pull.piece(Answers(spoilt), (0, 0))
    with pytest.raises(LinkError, match="is not understood"):
        link_pull.piece(Answers(["ok what"]), (0, 0))
    again = [good[0], "ok 1 blocks, 0 spoilt bytes, next 0:0, more"]
    with pytest.raises(LinkError, match="again and again"):
        link_pull.fetch(Answers(again), (0, 0), link_pull.Fetched(), lambda *words: None, {1: 99})


ROW = record.Row(9500, 60, 60, 800, 1400, 900, 300, 900, 0, 0, 0, 0, 0, 0, 0)
