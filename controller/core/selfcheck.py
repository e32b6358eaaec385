"""A fixed course of made-up readings, so that a board and a desktop can show that they decide alike.

What lives here: readings from a small random-number generator, and a state as a line of ints. Who hashes the lines and
compares is the caller's affair. What never does: anything that a real reading passes through.
"""

from collections import namedtuple

from controller.core import decide, screen
from controller.core.units import LOST

STEPS = 240
PRIME, TIMES, PLUS = 65537, 75, 74  # next = (75 x + 74) mod 65537, of full period; from memory
ELAPSED_S = (1, 1, 2, 30, 60, 60, 60, 300)

# x: the generator's last number; house, soil, outside: hundredths of a degree, wandering.
Course = namedtuple("Course", "x house soil outside screen state")


def start(settings):
    """Return the Course before its first step."""
    return Course(1, 800, 1200, 300, screen.start(), decide.start(settings))


def draw(x):
    """Return the generator's next number, 0 to 65536."""
    return (x * TIMES + PLUS) % PRIME


def wander(value, x, step, lowest, highest):
    """Return value moved by less than step, inside its bounds."""
    return min(max(value + x % (2 * step + 1) - step, lowest), highest)


def step(settings, c):
    """Return the Course after one more reading. One reading in sixteen is lost, one in 64 has the switch moved."""
    x1 = draw(c.x)
    x2 = draw(x1)
    x3 = draw(x2)
    x4 = draw(x3)
    house = wander(c.house, x1, 180, -400, 3600)
    soil = wander(c.soil, x2, 25, 300, 3100)
    outside = wander(c.outside, x3, 90, -1500, 3000)
    hand = x4 // 16 % 3 if x4 % 64 == 5 else screen.HAND_AUTO
    raw = screen.Raw(
        ELAPSED_S[x4 % 8],
        LOST if x1 % 16 == 3 else house,
        LOST if x2 % 16 == 3 else soil,
        (house + 3 * soil) // 4,
        LOST if x3 % 16 == 3 else outside,
        house + 20,
        500 + x4 % 500,
        hand,
        screen.REQUEST_TRIAL if x3 % 32 == 7 else screen.REQUEST_NONE,
        screen.NOT_FITTED,
    )
    after = screen.step(c.screen, raw)
    state = decide.step(settings, c.state, screen.reading(settings, after, raw))
    return Course(x4, house, soil, outside, after, state)


def line(state):
    """Return a State as one line of ints."""
    numbers = []
    for part in tuple(state.deciding) + tuple(state.counters):
        numbers += list(part) if isinstance(part, tuple) else [part]
    return ",".join([str(int(number)) for number in numbers]) + "\n"
