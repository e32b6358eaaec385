"""Stand-in for the time module: the world's clock, not the wall's. Ticks wrap at 2**30 as on a board."""

from world import TICKS, world


def ticks_ms():
    return world.ticks()


def ticks_diff(later, earlier):
    return (later - earlier + TICKS // 2) % TICKS - TICKS // 2


def ticks_add(ticks, ms):
    return (ticks + ms) % TICKS


def sleep_ms(ms):
    world.advance(max(ms, world.least_sleep_ms))


def sleep_us(us):
    pass
