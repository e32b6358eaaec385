"""Does a flash bring the board up to date, prove it, and leave a whole board whatever goes wrong?

Rests on: real MicroPython with our firmware behind a real pty (tests/rig); mpremote's own transport. What must hold
after a failure is our own rule: the old version runs, or the new one, whole.
"""

import json
import re

import pytest

from controller.core import rows
from tests import link_help
from tests.link_help import other_tree, settled, type_in
from tests.rig.cable import Cable
from tuner import link, link_boards, link_flash, link_plan, link_proof, link_read, link_shell, link_tree

pytestmark = link_help.needs_board
OLD, NEW = other_tree("0.1.1"), other_tree("0.1.2")


@pytest.fixture(scope="session")
def image(tmp_path_factory):
    return link_help.prepared(tmp_path_factory.mktemp("prepared"))


@pytest.fixture
def place(tmp_path, monkeypatch):
    """The working folder; this program's firmware is NEW, and nobody waits for a port that is gone."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(link_tree, "own", lambda: NEW)
    monkeypatch.setattr(link_flash, "RETURN_S", 0.2)
    monkeypatch.setattr(link_boards, "LOOKS", 1)
    monkeypatch.setattr(link, "GOING_S", 0.3)  # the board's second is a twentieth of ours
    return tmp_path


@pytest.fixture
def board(place, image):
    with link_help.board(place, image=image) as virtual:
        settled(virtual.port)
        yield virtual


def ask(port, line):
    with link.Link(port) as one:
        return one.ask(line, wait_s=10)


def shell_does(port, *codes):
    """Run code on the stopped board, then start it again."""
    with link.Link(port) as one:
        shell = link_shell.Shell(one)
        shell.enter(running=True)
        for code in codes:
            shell.run(code)
        shell.restart()
    return codes


def test_an_upgrade_sends_what_differs_proves_it_and_keeps_a_copy(board, place, monkeypatch, capsys):
    (place / "S.json").write_text('{"discharge_below_c": 6, "charge_above_c": 22.5}', encoding="utf-8")
    words = ["flash", "--settings", "S.json"]
    status, out, err = type_in(monkeypatch, capsys, *words, port=board.port)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[1:6] == [
        "  firmware: 0.1.1 in slot b -> 0.1.2 in slot a",
        "    1 changed: board/version.py",
        "  settings: charge_above_c 24 -> 22.5 C",
        "  settings: discharge_below_c 5 -> 6 C",
        lines[5],
    ]
    copy = re.fullmatch(r"What was on it is kept in (board-copies/\S+ 0\.1\.1 slot b)", lines[5])[1]
    assert lines[6:10] == [
        "Slot a: 1 of 51 files differ, 0 kB to send.",
        "Restarted; waiting for the board.",
        "loamstat 0.1.2 runs from slot a.",
        lines[9],
    ]
    assert re.fullmatch(r"Settings [0-9a-f]{12} count and are saved\.", lines[9])
    assert any(line.startswith("Proved: 240 decisions") for line in lines)
    assert " house " in lines[-1] and "alarms: none" in lines[-1]
    assert json.loads((place / copy / "settings.json").read_text())["charge_above_c"] == 24
    assert set(json.loads((place / copy / "roles.json").read_text())) == {"house", "soil", "outlet", "outside"}
    assert "loamstat 0.1.1, slot b" in (place / copy / "board.txt").read_text()
    with link.Link(board.port) as one:
        assert {slot: wrong for slot, (_, wrong) in link_read.whole_slots(one).items()} == {"a": "", "b": ""}
        held = link_read.settings(one)
        assert held.settings == rows.defaults()._replace(discharge_below_centi_c=600, charge_above_centi_c=2250)
        assert one.told("selfcheck", 20) == link_proof.answer(held.settings)
    assert board.causes == ["reset"]
    again, out, _ = type_in(monkeypatch, capsys, *words, port=board.port)
    assert again == 0 and "firmware: 0.1.2 already runs" in out and "kept in" not in out
    assert board.causes == ["reset"]


def test_a_dry_run_tells_all_and_writes_nothing(board, place, monkeypatch, capsys):
    (place / "S.json").write_text('{"discharge_below_c": 6}', encoding="utf-8")
    (place / "R.json").write_text('{"house": {"serial": "2802ab1234560091", "offset_c": 0.25}}', encoding="utf-8")
    before = ask(board.port, "slots"), ask(board.port, "settings"), ask(board.port, "roles"), ask(board.port, "events")
    words = ["flash", "--dry-run", "--settings", "S.json", "--roles", "R.json", "--units", "F"]
    status, out, err = type_in(monkeypatch, capsys, *words, port=board.port)
    assert (status, err) == (0, "")
    assert out.splitlines()[1:] == [
        "  firmware: 0.1.1 in slot b -> 0.1.2 in slot a",
        "    1 changed: board/version.py",
        "  settings: discharge_below_c 41 -> 42.8 F",
        "  role: house 2801ab12345600c8 -> 2802ab1234560091 corrected by +0.45 F",
        "  role: soil 2802ab1234560091 -> none",
        "  role: outlet 2803ab12345600a6 -> none",
        "  role: outside 2804ab1234560023 -> none",
        "Nothing was written.",
    ]
    after = ask(board.port, "slots"), ask(board.port, "settings"), ask(board.port, "roles"), ask(board.port, "events")
    assert after == before and board.causes == [] and not (place / "board-copies").exists()


def test_roles_are_replaced_all_at_once(board, place, monkeypatch, capsys):
    monkeypatch.setattr(link_tree, "own", lambda: OLD)
    swapped = {"house": {"serial": "2802ab1234560091"}, "soil": {"serial": "2801AB12345600C8", "offset_c": -0.5}}
    (place / "R.json").write_text(json.dumps(swapped), encoding="utf-8")
    status, out, _ = type_in(monkeypatch, capsys, "flash", "--roles", "R.json", port=board.port)
    assert status == 0 and "Roles are saved." in out
    with link.Link(board.port) as one:
        assert link_read.roles(one) == {
            "house": {"serial": "2802ab1234560091"}, "soil": {"serial": "2801ab12345600c8", "offset_c": -0.5},
        }  # fmt: skip
    assert board.causes == []


def test_a_board_that_decides_otherwise_goes_back_to_the_version_before(board, place, monkeypatch, capsys):
    monkeypatch.setattr(link_proof, "digest", lambda settings: "0" * 64)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1
    assert err.startswith("loamstat: the board decides otherwise than this computer.\n  board:    240 steps, ")
    assert "It was sent back to loamstat 0.1.1 in slot b.\nUpdate this program.\nThe board runs loamstat 0.1.1" in err
    assert settled(board.port).number == "0.1.1"


def test_rollback_and_no_version_to_return_to(board, place, monkeypatch, capsys):
    assert type_in(monkeypatch, capsys, "flash", port=board.port)[0] == 0
    status, out, _ = type_in(monkeypatch, capsys, "flash", "--rollback", port=board.port)
    assert status == 0 and "loamstat 0.1.1 runs from slot b again." in out
    assert "It is not this program's version" in out and settled(board.port).number == "0.1.1"
    status, out, _ = type_in(monkeypatch, capsys, "flash", "--rollback", port=board.port)
    assert status == 0 and "loamstat 0.1.2 runs from slot a again." in out and "Proved: " in out
    shell_does(board.port, "import os\nos.remove('/b/digest.txt')")
    settled(board.port)
    status, _, err = type_in(monkeypatch, capsys, "flash", "--rollback", port=board.port)
    assert status == 1
    assert err == (
        "loamstat: there is no version to return to: slot b is not whole (cannot be checked: [Errno 2] ENOENT).\n"
        "The board runs loamstat 0.1.2 from slot a, as before.\n"
    )
    status, _, err = type_in(monkeypatch, capsys, "flash", "--rollback", "--dry-run", port=board.port)
    assert status == 2


def test_frost_guard_is_not_interrupted_unless_told_so(board, place, monkeypatch, capsys):
    board.do("warm house -9")
    with link.Link(board.port) as one:
        while not link_read.state(one)["guard"]:
            pass
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1 and err.startswith("loamstat: frost guard holds on the board:") and "add --now" in err
    assert settled(board.port).number == "0.1.1" and board.causes == []
    status, out, _ = type_in(monkeypatch, capsys, "flash", "--now", port=board.port)
    assert status == 0 and "loamstat 0.1.2 runs from slot a." in out


JUNK = "f = open('/junk', 'wb')\nfor _ in range({}): f.write(bytes(4096)); wdt.feed()\nf.close()"


def test_a_full_flash_is_refused_before_and_survived_in_the_middle(board, place, monkeypatch, capsys):
    monkeypatch.setattr(link_tree, "own", lambda: link_tree.Tree({**NEW.files, "controller/x.py": b"#" * 122880}, b""))
    shell_does(board.port, JUNK.format(159))
    settled(board.port)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1
    assert re.fullmatch(
        r"loamstat: the board's flash is too full: \d+ kB are free, 152 kB are needed\.\n"
        r"Fetch the log \(loamstat pull\), then remove files that are not loamstat's: mpremote resume fs ls\n"
        r"The board runs loamstat 0\.1\.1 from slot b, as before\.\n"
        r"To go on: run the same command again; what arrived whole is not sent again\.\n",
        err,
    )
    monkeypatch.setattr(link_plan, "refuse_space", lambda *words: None)
    status, out, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1 and "the board's flash is full (/a/controller/" in err, out
    assert "The board runs loamstat 0.1.1 from slot b, as before." in err
    monkeypatch.setattr(link_tree, "own", lambda: NEW)
    shell_does(board.port, "import os\nos.remove('/junk')")
    settled(board.port)
    assert type_in(monkeypatch, capsys, "flash", port=board.port)[0] == 0
    assert settled(board.port).number == "0.1.2"


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("LEAST_MICROPYTHON", (9, 0, 0), "the board has MicroPython 1.29.0; loamstat needs 9.0.0 or later."),
        ("PLATFORMS", {"rp2": "pico"}, "there is no pin map for this kind of board (linux"),
        ("LEAST_HEAP", 10**9, "kB of memory for programs; loamstat needs 1000000 kB."),
    ],
)
def test_a_board_that_cannot_run_it_is_left_as_it_was(board, place, monkeypatch, capsys, name, value, told):
    monkeypatch.setattr(link_plan, name, value)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1 and told in err and "The board runs loamstat 0.1.1 from slot b, as before." in err
    assert settled(board.port).number == "0.1.1"


def test_a_board_with_bare_micropython_gets_both_slots(place, monkeypatch, capsys):
    link_help.blank(place)
    (place / "S.json").write_text('{"discharge_below_c": 6}', encoding="utf-8")
    with link_help.board(place) as board:
        status, out, err = type_in(monkeypatch, capsys, "flash", "--dry-run", port=board.port)
        assert (status, err) == (0, "") and out.endswith("Nothing was written.\n")
        status, out, err = type_in(monkeypatch, capsys, "flash", "--settings", "S.json", port=board.port)
        assert (status, err) == (0, "") and "Slot b: 51 of 51" in out and "Slot a: 51 of 51" in out
        assert "loamstat 0.1.2 runs from slot a." in out and "Proved: " in out and "say which probe is which" in out
        with link.Link(board.port) as one:
            assert [wrong for _, wrong in link_read.whole_slots(one).values()] == ["", ""]
            assert link_read.settings(one).texts["discharge_below_c"] == "6"


def test_another_programs_board_is_refused_and_goes_on_until_it_is_to_be_replaced(place, monkeypatch, capsys):
    link_help.blank(place, "/main.py", link_help.FOREIGN)
    with link_help.board(place) as board:
        status, _, err = type_in(monkeypatch, capsys, "pull", port=board.port)
        assert status == 1 and err.startswith("loamstat: no board that runs loamstat was found:\n")
        status, _, err = type_in(monkeypatch, capsys, "flash", "--port", board.port)
        assert status == 1
        assert err == (
            f"loamstat: {board.port}: the board runs another program (main.py, {len(link_help.FOREIGN)} bytes).\n"
            "It goes on. To put loamstat in its place, with a copy of it kept here: loamstat flash --replace\n"
        )
        with link.Link(board.port) as one:
            assert any(line == "pump 1" for line in one.lines(5))
        status, out, _ = type_in(monkeypatch, capsys, "flash", "--port", board.port, "--replace")
        assert status == 0 and "loamstat 0.1.2 runs from slot a." in out
        kept = next((place / "board-copies").glob("* another program/main.py"))
        assert kept.read_text() == link_help.FOREIGN


def test_a_board_with_no_slot_that_runs_is_mended(board, place, monkeypatch, capsys):
    shell_does(
        board.port,
        *(f"f = open('/{slot}/controller/board/main.py', 'w')\nf.write('import nothing')\nf.close()" for slot in "ab"),
    )
    with link.Link(board.port) as one:
        assert any("no slot can be run" in line for line in one.lines(10))
    status, out, _ = type_in(monkeypatch, capsys, "flash", "--port", board.port)
    assert status == 0 and "loamstat 0.1.2 runs from slot a." in out
    assert settled(board.port).number == "0.1.2"


def test_the_watchdog_bites_in_the_middle(board, place, monkeypatch, capsys):
    from tests.rig import virtual_board

    monkeypatch.setattr(virtual_board, "LEAST_WATCHDOG_S", 0.3)
    monkeypatch.setattr(link_tree, "own", lambda: link_tree.Tree({p: d + b"#\n" for p, d in NEW.files.items()}, b""))
    board.power_cycle()
    settled(board.port)
    monkeypatch.setattr(link_shell.Shell, "feed", lambda shell: None)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert "watchdog" in board.causes
    monkeypatch.undo()
    runs = settled(board.port)  # a step that is tried again may catch the board once more, and go through
    assert status == 0 or f"loamstat {runs.number} from slot {runs.slot}" in err
    assert runs.number == ("0.1.2" if status == 0 else "0.1.1")
    with link.Link(board.port) as one:
        assert link_read.whole_slots(one)[runs.slot][1] == ""


def test_ctrl_c_in_the_middle_leaves_the_old_version_running(board, place, monkeypatch, capsys):
    def stop(done, total):
        raise KeyboardInterrupt

    from tuner.commands import progress

    monkeypatch.setattr(progress, "bytes_bar", lambda word: stop)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert (status, err) == (
        1,
        "loamstat: stopped by you.\nThe board runs loamstat 0.1.1 from slot b, as before.\n"
        "To go on: run the same command again; what arrived whole is not sent again.\n",
    )


@pytest.mark.parametrize("seed", range(2))
def test_noise_on_the_line_costs_a_try_and_never_the_board(board, place, monkeypatch, capsys, seed):
    with Cable(board.port, noise=0.15, seed=seed) as cable:
        status, _, err = type_in(monkeypatch, capsys, "flash", port=cable.port)
        assert status == 0 or "loamstat" in err
    assert type_in(monkeypatch, capsys, "flash", "--port", board.port)[0] == 0
    assert settled(board.port).number == "0.1.2"


def test_a_board_in_its_safe_loop_is_told_and_can_be_flashed(place, image, monkeypatch, capsys):
    safe = link_help.survivors(byte1=4, byte2=16, byte3=255, byte4=255, byte5=255, byte6=0x80)
    with link_help.board(place, image=image, registers=safe) as board:
        settled(board.port)
        status, out, _ = type_in(monkeypatch, capsys, "flash", port=board.port)
        assert status == 0 and "The board is in its safe loop" in out and "alarms: safe-loop" in out
        assert "loamstat 0.1.2 runs from slot a." in out


def test_clocks_that_are_years_off(board, place, monkeypatch, capsys):
    monkeypatch.setattr(link_tree, "own", lambda: OLD)
    ask(board.port, "clock 2044-01-01T00:00:00Z")
    status, out, _ = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 0 and re.search(r"Clock set to \S+ \S+ UTC; it was \d{4} d \d+ h ahead\.", out)

    class Past(link_flash.datetime):
        @classmethod
        def now(cls, zone=None):
            return cls(1999, 1, 1, tzinfo=zone)

    monkeypatch.setattr(link_flash, "datetime", Past)
    status, out, _ = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 0
    assert (
        "The board's clock was not set: 1999-01-01T00:00:00Z is no time. Write UTC as 2026-03-01T06:30:00Z. "
        "Set this computer's clock first."
    ) in out


def test_settings_that_the_new_firmware_refuses_stop_it_before_anything_is_written(board, place, monkeypatch, capsys):
    real = link_read.settings

    def odd(one):
        held = real(one)
        return link_read.Held({**held.texts, "pump_pct": "3"}, held.unsaved, None, ["x"])

    monkeypatch.setattr(link_read, "settings", odd)
    status, _, err = type_in(monkeypatch, capsys, "flash", port=board.port)
    assert status == 1 and '"pump_pct" is not a setting.' in err and "Give a settings file: --settings S.json" in err
    assert board.causes == [] and not (place / "board-copies").exists()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('{"attic": {}}', '"attic" is no role. The nearest is "soil".'),
        ('{"house": {"serial": "28"}}', "house: 28 is no serial number: 16 hexadecimal digits, as find on the console"),
        ('{"house": {"serial": "2802ab1234560092"}}', "house: 2802ab1234560092 is no serial number of a DS18B20-type"),
        ('{"house": {"offset_c": 9}}', "house: an offset of 9 is not -3 to 3 degrees C."),
        ('{"house": 3}', 'house: write {"serial": "28..."'),
        ('{"humidity": {"serial": "2802ab1234560091"}}', "humidity: this probe has no serial number"),
        ('{"house": {"serial": "2802ab1234560091"}, "soil": {"serial": "2802ab1234560091"}}', "two roles have this"),
    ],
)
def test_a_bad_roles_file_is_refused_before_the_board_is_touched(place, monkeypatch, capsys, text, told):
    (place / "R.json").write_text(text, encoding="utf-8")
    status, out, err = type_in(monkeypatch, capsys, "flash", "--roles", "R.json", port="")
    assert (status, out) == (1, "") and err.startswith("loamstat: R.json: 1 fault.\n") and told in err
