"""Do the quick roads of the reader say what the careful ones say, for cells nobody thought of?"""

import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.core.record import HEADER
from tests import fuzz_logs
from tests.test_logs_foreign import site_of
from tuner.errors import TunerError
from tuner.logs import read_logs
from tuner.reader import cells, dates, iso

numbers_written = st.one_of(
    st.floats(-1e6, 1e6).map(lambda value: f"{value:.3f}"),
    st.integers(-(10**6), 10**6).map(str),
    st.text("0123456789.,+-", min_size=1, max_size=8),
    st.sampled_from(fuzz_logs.TOKENS),
)


@given(st.lists(numbers_written, min_size=1, max_size=20), st.booleans())
def test_many_plain_numbers_are_read_as_each_of_them(texts, own):
    quick = cells.many_plain(texts, own)
    if quick is None:
        return
    each = [cells.read(text, own=own) for text in texts]
    assert [one.value for one in each] == quick[0].tolist()
    assert {one.how for one in each} >= set(quick[1])
    for how, place in quick[1].items():
        assert each[place].how == how


@given(numbers_written, st.booleans(), st.booleans())
def test_a_cell_is_a_finite_number_or_none(text, own, states):
    cell = cells.read(text, own=own, states=states)
    assert math.isnan(cell.value) == (cell.how in ("bad", "empty", "missing"))
    assert not math.isinf(cell.value)
    if own and cell.how not in ("bad", "empty"):
        assert cell.value == float(text)


# Text, value, what was seen; common practice, no source.
CELLS = [
    ("21.5", 21.5, "point"), ("21,5", 21.5, "comma"), ("-0,5", -0.5, "comma"), (".5", 0.5, "point"),
    ("12", 12, "plain"),
    ("1,250", 1.25, "comma?"), ("1.250", 1.25, "point?"), ("1.234,5", 1234.5, "comma"), ("1,234.5", 1234.5, "point"),
    ("1'234.5", 1234.5, "point"), ("−3.5", -3.5, "point"), ("21.5 °C", 21.5, "point"), ("70°F", 70, "plain"),
    ("45 %", 45, "plain"), ("1e3", 1000, "plain"), ("0,250", 0.25, "comma"),
]  # fmt: skip


@pytest.mark.parametrize("text, value, how", CELLS)
def test_a_number_written_in_many_ways(text, value, how):
    cell = cells.read(text)
    assert (cell.value, cell.how) == (value, how)


@pytest.mark.parametrize(
    "text", ["1,2,3", "1.2.3", "--5", "5-", "0x1F", "1_000", "１２", "1 2", "nanny", "1,23,456.7", "+"]
)
def test_what_is_no_number_is_refused(text):
    assert cells.read(text).how == "bad"


@given(st.datetimes(datetime(1970, 1, 1), datetime(2105, 1, 1)))
def test_iso_times_are_those_of_the_standard_library(when):
    when = when.replace(microsecond=0)
    text = when.strftime("%Y-%m-%dT%H:%M:%SZ")
    meant = int(when.replace(tzinfo=UTC).timestamp())
    assert iso.seconds_of(np.array([text, text + " ", "", text[:-1]], dtype=object)).tolist() == [
        meant, iso.NO_TIME, iso.NO_TIME, iso.NO_TIME,
    ]  # fmt: skip


@given(st.text("0123456789-T:Z. ", min_size=20, max_size=20))
def test_an_iso_time_is_strict(text):
    second = int(iso.seconds_of(np.array([text], dtype=object))[0])
    try:
        meant = datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    except ValueError:
        assert second == iso.NO_TIME
    else:
        assert second == int(meant.timestamp())


TIMES = [
    ("2026-01-05T10:00:00Z", (2026, 1, 5), 36_000, 0), ("2026-01-05 10:00", (2026, 1, 5), 36_000, None),
    ("20260105T100000", (2026, 1, 5), 36_000, None), ("2026/1/5 9:05", (2026, 1, 5), 32_700, None),
    ("5 Jan 2026 10:00 PM", (2026, 1, 5), 79_200, None), ("Jan 5, 2026 12:00 AM", (2026, 1, 5), 0, None),
    ("Mon 05-Jan-26 10:00", (2026, 1, 5), 36_000, None),
    ("2026-01-05T10:00:00.250+01:00", (2026, 1, 5), 36_000.25, 3600),
    ("2026-01-05 24:00", (2026, 1, 5), 86_400, None), ("5. Januar 2026 10:00", (2026, 1, 5), 36_000, None),
]  # fmt: skip


@pytest.mark.parametrize("text, day, second, offset", TIMES)
def test_a_time_written_in_many_ways(text, day, second, offset):
    day_text, clock_text = dates.split(text)
    written = dates.parse_date(day_text)
    assert written is not None
    assert (written.year, written.first, written.second) == day
    assert dates.parse_time(clock_text) == (second, offset)


@pytest.mark.parametrize("text", ["", "10:00", "2026-01", "hello", "13.5", "1/2/3/4", "Foo 5 2026", "2026-01-05-10"])
def test_what_is_no_date_is_none(text):
    assert dates.parse_date(dates.split(text)[0]) is None


@pytest.mark.parametrize("text", ["25:00", "10:60", "10:00:61", "13:00 PM", "24:01", "10", "1000", "10:0"])
def test_what_is_no_time_of_day_is_none(text):
    assert dates.parse_time(text) is None


own_cell = st.one_of(
    st.sampled_from(fuzz_logs.TOKENS), st.floats(-30, 60).map(lambda value: f"{value:.2f}"), st.just("")
)


@given(st.lists(st.tuples(own_cell, own_cell, own_cell), min_size=1, max_size=8), st.booleans())
def test_own_rows_are_read_as_they_stand_or_refused(tmp_path_factory, rows, quoted):
    """The same rows, quoted or not, give the numbers that stand in the file, or one TunerError."""
    lines = [HEADER]
    for minute, (house, soil, humidity) in enumerate(rows):
        cells_of = [f"2026-01-05T10:{minute:02d}:00Z", str(60 * minute), house, soil, "", "3.25", humidity]
        cells_of += ["rest", "0", "0", "0", "0", "idle", ""]
        if quoted:
            cells_of = ['"' + cell.replace('"', '""') + '"' for cell in cells_of]
        lines.append(",".join(cells_of))
    path = tmp_path_factory.mktemp("own") / "log.csv"
    path.write_bytes(("\n".join(lines) + "\n").encode("utf-8", "replace"))
    try:
        log = read_logs(path, site_of(), needs=())
    except TunerError as error:
        assert str(path) in str(error) or "No" in str(error)
        return
    fuzz_logs.compare(log, path.read_bytes())


@pytest.mark.parametrize("kind", [0, 1, 2])
def test_a_handful_of_fuzzed_files(tmp_path, kind):
    """The same files each time; `python -m tests.fuzz_logs` goes on from here."""
    import random

    rng, corpus = random.Random(7), fuzz_logs.corpus_of()
    told = set()
    for _ in range(40):
        name, data = fuzz_logs.next_file(kind, rng, corpus)
        path = tmp_path / "try.csv"
        path.write_bytes(data)
        told.add(fuzz_logs.examine(path, site_of(), data if name == "own" else None))
    assert told == {"read", "refused"}
