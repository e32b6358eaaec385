"""Do the probes make sense beside each other? Stuck, in the sun, out of step at dawn, swapped columns, a wrong clock.

The limits are common practice or ours, no source; each fault says what was seen, so that the grower can judge.
"""

import numpy as np

from tuner import daypart
from tuner.faults import DAY_MS, stretches
from tuner.reader.parts import MS, TEMPERATURES, length_text

SUN_K, SUN_NIGHT_K = 25.0, 8.0  # house over the warmest other air probe: by day, and at most at night
STILL_H = {"outside": 12, "outlet": 12, "humidity": 24, "soil": 96}
STILL_ROWS = 12  # so many readings alike; two days alike in a daily log say nothing
STILL_MOVED_K = 4.0  # the house moved this much meanwhile
DAWN_OFF_S = 4 * 3600  # the fan has been off this long
DAWNS = 3


def find_still(found):
    """Probes other than the house's that stand still for many hours while the house moves."""
    time, house = found.whole.time, found.whole.values.get("house")
    if house is None or found.step_ms > 7_200_000:
        return
    for name, hours in STILL_H.items():
        numbers = found.whole.values.get(name)
        if numbers is None:
            continue
        which = np.zeros(len(time), dtype=bool)
        same = np.concatenate([[False], numbers[1:] == numbers[:-1]])
        for first, last in stretches(same):
            first -= 1
            moved = house[first : last + 1]
            moved = moved[~np.isnan(moved)]
            long = time[last] - time[first] >= hours * 3_600_000 and last - first >= STILL_ROWS
            full = name == "humidity" and numbers[first] >= 99.0  # a wet night may well stay at 100 %
            if long and not full and len(moved) and np.ptp(moved) >= STILL_MOVED_K:
                which[first : last + 1] = True
        if not which.any():
            continue
        longest = max(time[last] - time[first] for first, last in stretches(which)) / MS
        found.add(
            "stuck",
            which,
            f"{name}: unchanged for {length_text(longest)} while the house moved {STILL_MOVED_K:g} K or more",
            "used as it is: the board would believe it too" + ("; soil may be that steady" if name == "soil" else ""),
            "empty these cells if the probe had failed",
            name,
            grave=name != "soil",
        )


def find_sun(found):
    """A house probe in the sun: far above every other air probe, by day only."""
    whole = found.whole
    others = [whole.values[name] for name in ("outside", "outlet") if name in whole.values]
    house = whole.values.get("house")
    day, night = (
        daypart.parts(whole.time, house, getattr(found.site, "site", None)) if house is not None else (None, None)
    )
    if not others or day is None:
        return
    with np.errstate(invalid="ignore"):
        over = house - np.fmax.reduce(others)
        at_night = over[night & ~np.isnan(over)]
        which = day & (over > SUN_K)
    if not which.any() or not len(at_night) or np.median(at_night) > SUN_NIGHT_K:
        return
    if len(np.unique(found.days()[0][which])) < 2 and whole.time[-1] - whole.time[0] > 3 * DAY_MS:
        return
    found.add(
        "in the sun",
        which,
        f"house: up to {np.nanmax(over[which]):.0f} K above every other air probe, by day "
        f"only (at night {np.median(at_night):.0f} K): the probe may stand in the sun",
        "used as it is",
        "shade the probe from all sides and let air pass; fit and replay take the readings as they are",
        "house",
    )


def find_dawn(found):
    """Probes that cannot both be right at dawn, when the fan has been off for hours."""
    whole = found.whole
    house, soil, outlet, outside = (whole.values.get(name) for name in TEMPERATURES)
    if house is None or whole.values.get("fan_pct") is None:
        return
    day, night = daypart.parts(whole.time, house, getattr(found.site, "site", None))
    if day is None:
        return
    quiet = daypart.dawn(day, night) & _off_long(whole)
    checks = []
    if outside is not None:
        checks.append(("house", "house at dawn lies {:.1f} K below outside", house - outside, outside * 0 - 1.0, -1))
    if outlet is not None and soil is not None:
        checks.append(
            (
                "outlet",
                "outlet at dawn lies {:.1f} K below both house and soil",
                outlet - np.minimum(house, soil),
                house * 0 - 1.0,
                -1,
            )
        )
        checks.append(
            (
                "outlet",
                "outlet at dawn lies {:.1f} K above both house and soil",
                outlet - np.maximum(house, soil),
                house * 0 + 1.0,
                1,
            )
        )
    for name, text, off, limit, sign in checks:
        known = quiet & ~np.isnan(off)
        mornings = np.unique(found.days()[0][known])
        if len(mornings) < DAWNS:
            continue
        middle = float(np.median(off[known]))
        spread = float(np.subtract(*np.percentile(off[known], [75, 25])))
        if sign * middle > abs(float(np.nanmedian(limit))) and spread < max(1.0, abs(middle)):
            found.add(
                "disagree at dawn",
                known,
                f"on {len(mornings)} mornings, the fan off for 4 h or more, " + text.format(abs(middle)),
                "used as they are",
                f"put both probes in one bucket of ice water; if {name} is the wrong one, {name}_offset_c = "
                f"{-middle:+.1f} under [columns]",
                name,
            )


def _off_long(whole):
    """True where the fan has been off for DAWN_OFF_S. shape (n,)"""
    on = np.nan_to_num(whole.values["fan_pct"], nan=100.0) > 0
    last_on = np.maximum.accumulate(np.where(on, whole.time, whole.time[0]))
    return whole.time - last_on >= DAWN_OFF_S * MS


def find_swapped(found):
    """Columns that look exchanged: soil that swings more than the house, a house colder than outside, and so on."""
    whole = found.whole
    if "house" not in whole.values:
        return
    swing = {name: found.daily(name, np.ptp) for name in ("house", "soil", "outside") if name in whole.values}
    middle = {name: np.median(list(days.values())) for name, days in swing.items() if len(days) >= 2}
    every = np.ones(len(whole.time), dtype=bool)
    look = "used as they are"
    if "soil" in middle and "house" in middle and middle["soil"] > 3.0 and middle["soil"] > 1.5 * middle["house"]:
        found.add(
            "looks swapped",
            every,
            f"soil swings {middle['soil']:.1f} K a day, the house only "
            f"{middle['house']:.1f} K: are the two columns exchanged?",
            look,
            "exchange house and soil under [columns]",
            "soil",
        )
    if "outside" in middle and "house" in middle:
        both = whole.values["house"] - whole.values["outside"]
        mean = float(np.nanmean(both)) if not np.isnan(both).all() else 0.0
        if mean < -1.0:
            found.add(
                "looks swapped",
                every,
                f"the house is on average {-mean:.1f} K colder than outside: are the two columns exchanged?",
                look,
                "exchange house and outside under [columns]",
                "outside",
            )


def find_humidity_swapped(found):
    """Humidity falls by day and the house warms; the other way round they are likely exchanged.

    Looks before the units are judged: a humidity under the house's name would pass for degrees F.
    """
    whole = found.whole
    house, humidity = whole.values.get("house"), whole.values.get("humidity")
    place = _with_position(found.site)
    if house is None or humidity is None or place is None:
        return
    day, night = daypart.parts(whole.time, house, place)
    if day is None or not (day.any() and night.any()):
        return
    with np.errstate(invalid="ignore"):
        rise = [
            np.nanmean(column[day]) - np.nanmean(column[night])
            if not (np.isnan(column[day]).all() or np.isnan(column[night]).all())
            else 0.0
            for column in (house, humidity)
        ]
    if rise[0] < -3.0 and rise[1] > 3.0:
        found.add(
            "looks swapped",
            np.ones(len(house), dtype=bool),
            f"by day the house falls by {-rise[0]:.1f} K and humidity rises by "
            f"{rise[1]:.1f} %: are the two columns exchanged, or the clock off by half a day?",
            "used as they are",
            "exchange house and humidity under [columns], or give clock or time_zone",
            "humidity",
        )


def _with_position(site):
    place = getattr(site, "site", None)
    return place if place is not None and place.latitude is not None and place.longitude is not None else None


def find_clock(found):
    """A house that is warmest at night by the site's longitude: the clock or its zone is wrong."""
    place = _with_position(found.site)
    house = found.whole.values.get("house")
    warmest = daypart.warmest_hour(found.whole.time, house) if place is not None and house is not None else None
    if warmest is None or house is None:
        return
    local = (warmest + place.longitude / 15.0) % 24
    swapped = any(fault.kind == "looks swapped" for fault in found.faults)
    if not swapped and not 9.0 <= local <= 19.0:
        found.add(
            "clock looks off",
            np.ones(len(house), dtype=bool),
            f"the house is warmest round {local:.0f} o'clock by the sun at longitude {place.longitude:g}",
            "the times were used as they are",
            "check time_zone, longitude, and clock under [columns]",
            "house",
        )
