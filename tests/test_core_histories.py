"""Do I1 to I10 hold over long histories: second by second, minute by minute, irregular, with restarts?

hypothesis drives screen and decide together; every transition is checked, and beside it an observer that sees
only the fan, the switch and the guard (never the core's own timers) keeps I1, I2, I5 and I8 by its own books.
"""

from collections import deque

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from controller.core import decide, screen
from controller.core.units import LOST
from tests import invariants
from tests.states import grid

DAY_S = 86400
WIDE = st.integers(-500, 4500)
ANY = st.one_of(WIDE, st.integers(-40000, 40000), st.just(LOST), st.just(8500))


class Observer:
    """Books kept by someone who watches the fan from outside."""

    def __init__(self, s):
        self.s = s
        self.now_s, self.stopped_s, self.started_s = 0, 0, 0
        self.on, self.by_guard = False, False
        self.runs = deque()  # (from, to) of running on the allowance's account

    def see(self, before, r, after):
        """Book one step and hold it to the rules."""
        s, b, a = self.s, before.deciding, after.deciding
        elapsed_s = min(max(r.elapsed_s, 0), 3600)
        tail = self.by_guard and self.now_s - self.started_s < s.min_run_s
        if invariants.on_account(b) and not tail:
            self.runs.append((self.now_s, self.now_s + elapsed_s))
        self.now_s += elapsed_s
        own, fan = bool(invariants.own(a)), bool(a.fan)
        if own and not self.on:
            assert self.now_s - self.stopped_s >= s.min_rest_s, "I1"
            self.started_s, self.by_guard = self.now_s, bool(a.guard)
        ran_s = self.now_s - self.started_s
        if self.on and not fan and ran_s < s.min_run_s:
            assert r.hand == 2 or (b.phase == invariants.CHARGE and (a.guard or not r.house_ok)), "I2"
        if own and self.on and ran_s >= s.max_run_s:
            assert a.guard and a.phase == invariants.DISCHARGE, "I8"
        if b.fan or fan:
            self.stopped_s = self.now_s
        self.on = own
        self.window()

    def window(self):
        """Hold the last 24 h to I5: the limit, one longest run, and what one step can draw too much."""
        since_s = self.now_s - DAY_S
        while self.runs and self.runs[0][1] <= since_s:
            self.runs.popleft()
        ran_s = sum(end - max(start, since_s) for start, end in self.runs)
        assert ran_s <= self.s.day_run_limit_s + self.s.max_run_s + 3600, "I5"


class Histories(RuleBasedStateMachine):
    """A board with its probes, its switch and its power."""

    @initialize(name=st.sampled_from([*grid.FILES, *grid.FILES_OF_TESTS]))
    def settle(self, name):
        """Choose a settings file and power up."""
        self.s = grid.settings_of(name)
        self.values = {"house": 1200, "soil": 1400, "outlet": 1300, "outside": 600, "humid_air": 1200, "humidity": 700}
        self.hand, self.request = 0, 0
        self.power_up()

    @rule()
    def power_up(self):
        """Switch the power off and on: all is forgotten."""
        self.sensed, self.state = screen.start(), decide.start(self.s)
        self.observer = Observer(self.s)

    @rule(name=st.sampled_from(["house", "soil", "outlet", "outside", "humid_air"]), value=ANY)
    def read(self, name, value):
        """One probe reads something else from now on."""
        self.values[name] = value

    @rule(house=WIDE, gain=st.integers(-400, 700))
    def weather(self, house, gain):
        """House and soil stand close to each other."""
        self.values["house"], self.values["soil"] = house, house + gain

    @rule(humidity=st.one_of(st.integers(0, 1000), st.just(LOST)))
    def damp(self, humidity):
        """The air's humidity changes."""
        self.values["humidity"] = humidity

    @rule(hand=st.sampled_from([0, 0, 1, 2]), request=st.integers(0, 1))
    def switch(self, hand, request):
        """Someone turns the switch or asks for a trial."""
        self.hand, self.request = hand, request

    @rule(elapsed_s=st.sampled_from([1, 60, 60, 300]), times=st.integers(1, 60))
    def steadily(self, elapsed_s, times):
        """Steps of one length."""
        for _ in range(times):
            self.step(elapsed_s)

    @rule(lengths=st.lists(st.integers(-10, 5000), min_size=1, max_size=12))
    def irregularly(self, lengths):
        """Steps of any length."""
        for elapsed_s in lengths:
            self.step(elapsed_s)

    def step(self, elapsed_s):
        """One step of screen and decide, every check on it."""
        v = self.values
        raw = screen.Raw(
            elapsed_s, v["house"], v["soil"], v["outlet"], v["outside"], v["humid_air"], v["humidity"],
            self.hand, self.request, 0,
        )  # fmt: skip
        self.sensed = screen.step(self.sensed, raw)
        r = screen.reading(self.s, self.sensed, raw)
        before, self.state = self.state, decide.step(self.s, self.state, r)
        wrong = invariants.broken_or_moody(self.s, before, r, self.state)
        assert not wrong, f"{invariants.NAMES[wrong - 1]}: {before} {r} {self.state}"
        self.observer.see(before, r, self.state)

    @invariant()
    def speed_is_lawful(self):
        """The fan's speed is 0 exactly when it is off."""
        if hasattr(self, "state"):
            pct = decide.fan_pct(self.s, self.state)
            assert 0 <= pct <= 100 and (pct > 0) == bool(self.state.deciding.fan)


TestHistories = Histories.TestCase
TestHistories.settings = settings(max_examples=150, stateful_step_count=40)


# A week of one situation that never lets the fan rest. Then the 24 hours of I5 matter.
@settings(max_examples=25)
@given(
    name=st.sampled_from(["run limit 57600", "tightest", "limit and outlet", "quick"]),
    situations=st.lists(
        st.tuples(st.sampled_from([200, 400, 460, 600, 2600]), st.sampled_from([1200, 1600]), st.integers(1, 90)),
        min_size=2,
        max_size=8,
    ),
    elapsed_s=st.sampled_from([60, 300, 900]),
)
def test_running_in_any_day_of_a_week(name, situations, elapsed_s):
    s = grid.settings_of(name)
    state, observer, i = decide.start(s), Observer(s), 0
    while observer.now_s < 5 * DAY_S:
        house, soil, times = situations[i % len(situations)]
        i += 1
        for _ in range(times):
            r = _known(elapsed_s, house, soil)
            before, state = state, decide.step(s, state, r)
            assert not invariants.broken(s, before, r, state)
            observer.see(before, r, state)


def _known(elapsed_s, house, soil):
    plain = {field: 1 if field.endswith("_ok") else 0 for field in screen.Reading._fields}
    return screen.Reading(
        **{**plain, "elapsed_s": elapsed_s, "house_centi_c": house, "soil_centi_c": soil, "outside_centi_c": 500}
    )


# Screening a screened log changes nothing.

LENGTH = st.sampled_from([1, 60, 60, 300])
RUBBISH = st.tuples(ANY, ANY, ANY, ANY, st.just(LOST), st.one_of(st.integers(-10, 1010), st.just(LOST)))


def replay_differs(raws):
    """Return the first place where screening the log of raws once more changes a row, or None."""
    s = grid.settings_of("defaults")
    one, two = screen.start(), screen.start()
    for i, raw in enumerate(raws):
        one = screen.step(one, raw)
        row = screen.logged(one, screen.reading(s, one, raw))
        again = screen.Raw(raw.elapsed_s, *row[:4], LOST, row[4], 0, 0, 0)
        two = screen.step(two, again)
        if screen.logged(two, screen.reading(s, two, again)) != row:
            return i, row
    return None


@given(st.lists(st.tuples(LENGTH, st.integers(0, 9), st.integers(-900, 900), RUBBISH), min_size=1, max_size=60))
def test_screening_a_screened_log_changes_nothing(moves):
    """Walks, leaps, losses and rubbish on every probe."""
    values, raws = [1200, 1400, 1300, 600, LOST, 700], []
    for elapsed_s, which, step, rubbish in moves:
        if which < 4:
            values[which] += step
        raws.append(screen.Raw(elapsed_s, *(rubbish if which == 9 else values), 0, 0, 0))
    assert replay_differs(raws) is None


@given(
    st.lists(st.tuples(LENGTH, st.integers(-80, 80), st.integers(-250, 250), st.booleans()), min_size=1, max_size=60)
)
def test_screening_a_screened_log_with_a_stand_in_changes_nothing(moves):
    """The humidity probe stands in for a house probe that comes and goes, the two less than a jump apart.

    Two probes further apart than a jump share one column of the log; then a replay doubts each change of probe for
    three rows (at 1-minute rows: more than 11 K apart).
    """
    house, raws = 1200, []
    for elapsed_s, step, apart, lost in moves:
        house += step
        raws.append(screen.Raw(elapsed_s, LOST if lost else house, 1400, 1300, 600, house + apart, 700, 0, 0, 0))
    assert replay_differs(raws) is None


@given(
    start=st.integers(-1000, 3000), to=st.integers(-3900, 4900), back_after_s=st.integers(1, 40),
    length=st.sampled_from([1, 2, 5, 10, 15]),
)  # fmt: skip
def test_a_jump_means_the_same_at_any_step(start, to, back_after_s, length):
    """At every length of step up to 15 s a jump is believed at the first reading after it stood 30 s, never before."""
    probe = screen.probe_step(screen.NEW_PROBE, start, 1)
    stood_s = 0
    for i in range(1, 60):
        probe = screen.probe_step(probe, to, length)
        if abs(to - start) <= screen.JUMP_CENTI_C + screen.JUMP_PER_S * length * i:
            assert probe.value == to  # no jump any more: there was time for it
            return
        stood_s = (i - 1) * length
        believed = stood_s >= 30 and i >= 3
        assert (probe.value == to) == believed, (i, probe)
        if believed:
            return


@given(start=st.integers(-1000, 3000), to=st.integers(-3900, 4900))
def test_a_jump_at_one_second_and_at_one_minute(start, to):
    """Both believe it, both refuse a flash of it; neither believes it before three readings and 30 s."""

    def believed_at(length):
        probe = screen.probe_step(screen.NEW_PROBE, start, length)
        for i in range(1, 100):
            probe = screen.probe_step(probe, to, length)
            if probe.value == to and probe.age_s == 0:
                return i
        return None

    seconds, minutes = believed_at(1), believed_at(60)
    assert seconds is not None and minutes is not None
    if abs(to - start) > screen.JUMP_CENTI_C + screen.JUMP_PER_S * 180:
        assert (seconds, minutes) == (31, 3)
    assert minutes <= 3 and seconds <= 31


def test_a_flash_is_never_believed():
    for length in (1, 60):
        probe = screen.probe_step(screen.NEW_PROBE, 1000, length)
        for _ in range(2):
            probe = screen.probe_step(probe, 4900, length)
        assert screen.probe_step(probe, 1000, length).value == 1000
