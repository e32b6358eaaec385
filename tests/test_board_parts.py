"""Are the small parts of the board right, each alone? They run on the desktop as they are.

Sources: DS18B20 data sheet (scratchpads with their check bytes, as in tests/test_core_units.py); the standard
library's calendar for dates; everything else is our own rule, written in each module's head.
"""

import datetime
import random

import pytest

from controller.board import clock, console, humidity, light, probes, safe, survive, version, wiring
from controller.core import record, thin
from controller.core.units import LOST

PAGE_25 = bytes.fromhex("91014b467fff0c10")  # 25.0625 degC, check byte 70
PAGE_85 = bytes.fromhex("50054b467fff0c10")  # 85 degC and the mark of no conversion, check byte 1C


def test_scratchpads():
    assert probes.counts_of(PAGE_25 + b"\x70") == 0x0191
    assert probes.counts_of(PAGE_85 + b"\x1c") == LOST
    assert probes.counts_of(PAGE_25 + b"\x71") == LOST
    assert probes.counts_of(bytes(9)) == LOST
    assert probes.counts_of(b"\xff" * 9) == LOST


def test_humidity_words():
    class Bus:
        def writeto(self, address, data):
            assert (address, data) == (0x44, b"\xfd")

        def readfrom_into(self, address, buffer):
            buffer[:] = bytes.fromhex("666693666693")  # 25.00 degC, 44.0 % (data sheet's formulas)

    probe = humidity.HumidityProbe(Bus(), "sht4x", Bus)
    assert probe.read() == (LOST, LOST)  # not asked yet
    probe.start()
    assert probe.read() == (2500, 440)
    assert probe.read() == (LOST, LOST)  # an old answer is not read twice


@pytest.mark.parametrize("text", ["2026-03-01T06:30:00Z", "2028-02-29T23:59:59Z", "2099-12-31T00:00:00Z"])
def test_clock_reads_what_the_calendar_says(text):
    day, second = clock.parse(text)
    moment = datetime.datetime.fromisoformat(text)
    true = moment - datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
    assert (day, second) == (true.days, true.seconds)
    assert record.time_text(day, second) == text


def test_every_day_of_the_calendar():
    for number in range(clock.FIRST_DAY, clock.LAST_DAY + 1):
        date = datetime.date(2000, 1, 1) + datetime.timedelta(days=number)
        assert clock.days_of(date.year, date.month, date.day) == number


@pytest.mark.parametrize(
    "text", ["", "now", "2026-02-29T00:00:00Z", "2026-13-01T00:00:00Z", "2026-01-01T24:00:00Z", "2026-01-01 00:00:00Z",
             "2026-01-01T00:00:60Z", "2024-12-31T00:00:00Z", "2026-01-0xT00:00:00Z"],
)  # fmt: skip
def test_clock_refuses(text):
    with pytest.raises(ValueError, match=r"is no time|is not between"):
        clock.parse(text)


def test_clock_set_late_in_the_run_knows_when_power_came():
    c = clock.Clock()
    c.add(200_000)
    c.set(*clock.parse("2026-03-01T00:00:10Z"))
    assert c.text() == "2026-03-01T00:00:10Z"
    assert record.time_text(*c.at(0)) == "2026-02-26T16:26:50Z"
    c.add(86_400)
    assert c.text() == "2026-03-02T00:00:10Z"


def test_light_blinks_the_phase_then_the_alarm():
    for phase in range(5):
        levels = [light.level(phase, False, False, ms) for ms in range(0, 4000, 10)]
        assert sum(a < b for a, b in zip([0, *levels], levels, strict=False)) == phase + 1
        assert sum(light.level(phase, True, False, ms) for ms in range(4000)) == 150 * (phase + 1) + 1200
    assert sum(light.level(0, True, True, ms) for ms in range(4000)) == 2000


def block(rows, seed):
    """Return a block of made-up packed rows; seed 0 gives rows of pure noise."""
    chance = random.Random(seed)
    first = record.Row(9500, 0, 60, *[LOST] * 5, 0, 0, 0, 0, 0, 0, 0)
    packed, now = [], bytearray(16)
    for _ in range(rows):
        for i in range(16):
            if not seed or chance.random() < 0.3:
                now[i] = chance.randrange(256)
        packed.append(bytes(now))
    return record.pack_block(first, packed)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("rows", [1, 2, 60, 255])
def test_thin_blocks_come_back_whole_and_never_grow(rows, seed):
    whole = block(rows, seed)
    small = thin.thin(whole)
    assert thin.thick(small) == whole
    assert len(small) <= len(whole)
    for cut in {0, 1, 17, len(small) - 1}:
        assert thin.thick(small[:cut]) != whole


def test_thin_refuses_what_is_no_block():
    assert thin.thick(b"") == b""
    assert thin.thick(bytes(200)) == b""
    assert thin.thick(b"\xff" * 200) == b""


class Boot:
    """What the root hands over."""

    def __init__(self):
        self.memory, self.woke, self.fell = self, True, ""
        self.data = bytearray(16)

    def mark(self, mark):
        self.data[2] = mark

    def keep(self):
        pass


def reset_after(held, seconds, mark=0, started=False):
    """Let a start go on for so many seconds, then reset with a mark; return the Survive of the next start."""
    boot = held.boot
    held.second(seconds, False, (9500, 100))
    held.second(1, started, (9500, 101))
    boot.woke = False
    boot.data[2] = mark
    return first(boot)


def first(boot=None):
    """Return the Survive of a start."""
    boot = boot or Boot()
    held = survive.Survive(boot, 300)
    held.boot = boot
    return held


def test_three_unintended_resets_within_the_window_lead_to_the_safe_loop():
    one = reset_after(first(), 500)
    two = reset_after(one, 500)
    assert not one.safe
    assert not two.safe
    assert reset_after(two, 500).safe
    assert not reset_after(reset_after(reset_after(first(), 500), 1000), 1000).safe


def test_resets_by_the_host_never_do():
    held = first()
    for _ in range(6):
        held = reset_after(held, 20, mark=16)
        assert not held.safe


def test_a_power_on_begins_anew():
    held = first()
    for _ in range(3):
        held = reset_after(held, 100)
    assert held.safe
    held.boot.woke = True
    assert not first(held.boot).safe


def test_rests_double_while_starts_cause_resets_and_only_then():
    held = first()
    for _ in range(3):
        held = reset_after(held, 100)
    assert held.rest_s() == 1800
    for rest_s in (3600, 7200, 7200):
        held = reset_after(held, 100, started=True)
        assert held.rest_s() == rest_s
    assert reset_after(held, 100).rest_s() == 7200


def test_time_is_kept():
    assert reset_after(first(), 50).kept_time() == (9500, 101)


def test_safe_loop_rests_runs_and_rests():
    loop = safe.Safe(1800)
    runs = [loop.second(1) for _ in range(3000)]
    # Off until second 300, on for 600, then off for 1800: on again at 2700.
    assert [i + 1 for i in range(3000) if runs[i] != ([0, *runs])[i]] == [300, 900, 2700]


def test_wiring_is_refused_in_words():
    with pytest.raises(ValueError, match=r'"fann" is no choice of wiring\. The nearest is "fan"\.'):
        wiring.check({"fann": "pwm"})
    with pytest.raises(ValueError, match=r"fan_active: True is not one of 1, 0\."):
        wiring.check({"fan_active": True})
    with pytest.raises(ValueError, match=r"house: an offset of 4 is more than 3 K. Replace the probe."):
        wiring.check_roles({"house": {"offset_c": 4}})
    assert wiring.check({}) == wiring.defaults()


def test_a_sealed_line_opens_and_a_changed_one_does_not():
    line = console.sealed("@status")
    assert console.opened(line) == "status"
    for i in range(len(line)):
        changed = line[:i] + chr(ord(line[i]) ^ 1) + line[i + 1 :]
        with pytest.raises(ValueError, match="disagree"):
            console.opened(changed)


def test_the_version_is_the_distributions():
    import tomllib
    from pathlib import Path

    text = (Path(__file__).resolve().parents[1] / "pyproject.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["project"]["version"] == version.VERSION
