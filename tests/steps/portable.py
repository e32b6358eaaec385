"""The same seeded steps on every runtime, reduced to one digest.

What lives here: what CPython, MicroPython (desktop, 31-bit, emulated board) and numba all run unchanged: ints below
2**30, no import but the core.
What never does: anything that one of them lacks.

Run as a script by a MicroPython it prints (steps, digest, greatest int, phases seen) of every settings file.
"""

from controller.core import decide, rows, screen
from controller.core.units import LOST

# Generator AS 183: Wichmann & Hill (1982), Applied Statistics 31, 188-190. All products stay below 2**23.
PRIMES = (30269, 30307, 30323)
BIG = 16777213  # digests are taken modulo this
NASTY = (
    LOST, 32767, 8500, 8499, -12700, 7000, 7001, -4000, -4001, 5000, 5001, -2000, -2001, 0, -1, 1,
    (1 << 30) - 1, -(1 << 30) + 1,
)  # fmt: skip
LENGTHS = (60, 60, 60, 1, 60, 30, 300, 60, 0, 3600, 3601, -7, 60, 900, (1 << 30) - 1, 10)
COMMON = 40  # one reading in so many is nasty

# What differs from the defaults, by the place of the setting in the table.
CHANGES = (
    {},
    {"day_run_limit_s": 57600, "max_run_s": 3600},
    {"heater_fitted": 1, "vent_fitted": 1, "heat_delay_s": 600, "humid_charge_pct": 60, "flush_above_centi_c": 1600},
    {"min_run_s": 1800, "min_rest_s": 900, "max_run_s": 1800, "day_run_limit_s": 7200, "blind_run_s": 1800},
)


def settings_of(number):
    """Return the Settings of one of CHANGES."""
    values = []
    default = rows.defaults()
    for i in range(len(rows.TABLE)):
        name = rows.field_of(rows.TABLE[i][0])
        values.append(CHANGES[number][name] if name in CHANGES[number] else default[i])
    return rows.Settings(*values)


def seeded(seed):
    """Return the generator's state for a seed."""
    return [seed % 30000 + 1, 12345, 6789]


def draw(g, below):
    """Return an int of 0 ... below - 1 (below at most 30,000) and move the generator g on."""
    g[0], g[1], g[2] = g[0] * 171 % PRIMES[0], g[1] * 172 % PRIMES[1], g[2] * 170 % PRIMES[2]
    return (g[0] + g[1] + g[2]) % below


def wander(g, value, lowest, highest):
    """Return a temperature near value: small steps, now and then a leap, kept inside the bounds."""
    if draw(g, 300) == 0:
        return lowest + draw(g, highest - lowest)
    return min(max(value + draw(g, 61) - 30, lowest), highest)


def spoiled(g, value):
    """Return value, or now and then a nasty one in its place."""
    if draw(g, COMMON) == 0:
        return NASTY[draw(g, len(NASTY))]
    return value


def first_weather():
    """Return [house, soil, outlet, outside, humidity, hand, request, lost probe or -1]."""
    return [1200, 1400, 1300, 600, 800, 0, 0, -1]


def next_raw(g, w):
    """Return the next Raw of the weather w, which moves on."""
    w[0] = wander(g, w[0], -300, 3500)
    w[1] = wander(g, w[1], 300, 3100)
    w[2] = (w[0] + w[1]) // 2 + draw(g, 200) - 100
    w[3] = wander(g, w[3], -1500, 3000)
    w[4] = min(max(w[4] + draw(g, 21) - 10, 0), 1000)
    if draw(g, 400) == 0:
        w[5] = draw(g, 3) if draw(g, 2) else 0
    if draw(g, 200) == 0:
        w[6] = draw(g, 2)
    if draw(g, 150) == 0:
        w[7] = draw(g, 9) - 2  # a probe is lost for a while, or none; 6: both probes of the house air
    air = w[0] + draw(g, 40) - 20
    values = [w[0], w[1], w[2], w[3], air, w[4]]
    for i in range(6):
        values[i] = LOST if w[7] == i or (w[7] == 6 and i in (0, 4)) else spoiled(g, values[i])
    return screen.Raw(
        LENGTHS[draw(g, len(LENGTHS))], values[0], values[1], values[2], values[3], values[4], values[5],
        w[5], w[6], draw(g, 3),
    )  # fmt: skip


def stir(digest, number):
    """Return the digest with one more number in it; every product stays below 2**30."""
    return (digest * 61 + number % 99991) % BIG


def stir_deciding(digest, d):
    """Return the digest with a Deciding in it."""
    for number in (
        d.phase, d.fan, d.rule, d.run_s, d.rest_s, d.blind_s, d.blind_ran, d.wake_s, d.retry_s, d.guard,
        d.allowance.left_s, d.allowance.part, d.allowance.overdrawn_s, d.heater, d.heater_s, d.heat_wait_s,
        d.vent, d.vent_s,
    ):  # fmt: skip
        digest = stir(digest, number)
    return digest


def stir_counters(digest, c):
    """Return the digest with Counters in it."""
    for number in (
        c.reason, c.alarms, c.starts, c.charge_s, c.discharge_s, c.blind_s, c.hand_s, c.guard_s, c.heater_s, c.vent_s,
    ):  # fmt: skip
        digest = stir(digest, number)
    for number in c.alarm_state:
        digest = stir(digest, number)
    return digest


def stir_reading(digest, r):
    """Return the digest with a Reading in it."""
    for number in r:
        digest = stir(digest, number)
    return digest


def greatest(d, c):
    """Return the greatest size of any int of Deciding d and Counters c."""
    return max(
        d.run_s, d.rest_s, d.blind_s, d.retry_s, d.allowance.left_s, d.allowance.part, d.allowance.overdrawn_s,
        d.heat_wait_s, c.charge_s, c.discharge_s, c.blind_s, c.hand_s, c.guard_s, c.heater_s, c.vent_s, c.starts,
    )  # fmt: skip


def one(s, sensed, state, raw, digest):
    """Return (Screen, State, digest) after one Raw."""
    sensed = screen.step(sensed, raw)
    r = screen.reading(s, sensed, raw)
    state = decide.step(s, state, r)
    digest = stir_reading(digest, r)
    digest = stir_deciding(digest, state.deciding)
    digest = stir_counters(digest, state.counters)
    return sensed, state, stir(digest, decide.fan_pct(s, state))


def run(number, seed, steps):
    """Return (steps, digest, greatest int, phases seen as bits) of one settings file."""
    g, w = seeded(seed), first_weather()
    s, sensed = settings_of(number), screen.start()
    state, digest, most, phases = decide.start(s), 1, 0, 0
    for _ in range(steps):
        sensed, state, digest = one(s, sensed, state, next_raw(g, w), digest)
        most = max(most, greatest(state.deciding, state.counters))
        phases |= 1 << state.deciding.phase
    return steps, digest, most, phases


def main(seed, steps):
    """Print one line for each settings file."""
    for number in range(len(CHANGES)):
        print(run(number, seed, steps))
