"""Price bands on the wall clock: which hour of which month and weekday each covers, and where they overlap or fail.

Lives here: what a band means, hour by hour, in whole minutes of a local day. Never here: dates, time zones, money.

Each hour is priced by its own month, its own weekday and its own place on the clock. A band whose `from` is later
than its `to` covers the end and the beginning of each of its days, so that 23:00 to 07:00 on weekdays includes
Monday morning and leaves out Saturday morning, as tariff sheets print it.
"""

from itertools import pairwise

from tuner.site_values import DAYS

HOLIDAY, SUNDAY = DAYS.index("holiday"), DAYS.index("sun")
DAY_MINUTES = 1440
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MOST_TOLD = 4  # stretches named in one fault; the rest are counted


def clock_parts(band):
    """Return the parts of a local day that a band covers, [(from minute, to minute)], without midnight inside."""
    if band.from_minute < band.to_minute:
        return [(band.from_minute, band.to_minute)]
    return [part for part in ((0, band.to_minute), (band.from_minute, DAY_MINUTES)) if part[0] < part[1]]


def holidays_apart(bands):
    """True if some band treats holidays apart from weekdays: it names the holiday without naming every day."""
    return any(HOLIDAY in band.weekdays and len(set(band.weekdays)) < len(DAYS) for band in bands)


def days_of(band, apart):
    """Return the set of days (0 Monday to 6 Sunday, 7 a holiday) that a band covers.

    apart : holidays_apart of all bands. Where it is False a holiday counts as a Sunday.
    """
    days = set(band.weekdays)
    if apart:
        return days
    return days | {HOLIDAY} if SUNDAY in days else days - {HOLIDAY}


def covering(bands, month, day, minute, apart):
    """Return the places, in the list bands, of those that cover a minute of a day (0..6, 7 holiday) of a month."""
    return [
        place
        for place, band in enumerate(bands)
        if month in band.months
        and day in days_of(band, apart)
        and any(start <= minute < end for start, end in clock_parts(band))
    ]


def edges(bands):
    """Return the minutes of the day at which some band begins or ends, with 0 and 1440, rising."""
    return sorted({0, DAY_MINUTES} | {minute for band in bands for part in clock_parts(band) for minute in part})


def faults(bands, rest_price, has_holidays):
    """Return the fault texts of a list of bands: hours with two prices, and hours with none.

    rest_price : the price of the hours that no band names, or None; has_holidays : does the site list any
    """
    if not bands:
        return []
    apart = holidays_apart(bands)
    days = range(len(DAYS) if has_holidays else len(DAYS) - 1)
    cuts = edges(bands)
    twice, none = {}, {}
    for month in range(1, 13):
        for day in days:
            for start, end in pairwise(cuts):
                found = covering(bands, month, day, start, apart)
                if len(found) > 1:
                    _add(twice.setdefault(tuple(found[:2]), {}), month, day, start, end)
                elif not found and rest_price is None:
                    _add(none, month, day, start, end)
    texts = [
        f"[[energy.band]] numbers {first + 1} and {second + 1} overlap: {_told(hours)}. An hour can have one price: "
        "change the months, weekdays, from or to of one of them."
        for (first, second), hours in twice.items()
    ]
    if none:
        texts.append(
            f"[[energy.band]]: no price for {_told(none)}. Add a band for these hours, or give [energy] price_per_kwh "
            "for every hour that no band names."
        )
    return texts


def _add(hours, month, day, start, end):
    """Note a stretch of a day, joined to the one before it where they touch."""
    parts = hours.setdefault((month, day), [])
    if parts and parts[-1][1] == start:
        parts[-1] = (parts[-1][0], end)
    else:
        parts.append((start, end))


def _told(hours):
    """Say which hours: {(month, day): [(start, end)]} as "Nov to Mar, sat and sun, 06:00 to 10:00; ..."."""
    months_of = {}
    for (month, day), parts in hours.items():
        for part in parts:
            months_of.setdefault((part, day), []).append(month)
    days_of_stretch = {}
    for (part, day), months in months_of.items():
        days_of_stretch.setdefault((part, tuple(months)), []).append(day)
    told = [
        f"{months_text(months)}, {days_text(days)}, {clock(part[0])} to {clock(part[1])}"
        for (part, months), days in sorted(days_of_stretch.items())
    ]
    more = f"; and {len(told) - MOST_TOLD} stretches more" if len(told) > MOST_TOLD else ""
    return "; ".join(told[:MOST_TOLD]) + more


def clock(minute):
    """Return a minute of the day as "HH:MM"; the end of the day is 24:00."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def months_text(months):
    """Return months 1..12 as "Nov to Mar", "Jan, Mar", "every month"."""
    if len(set(months)) == 12:
        return "every month"
    return _runs_text(sorted(set(months)), 12, lambda month: MONTHS[month - 1], lambda month: month % 12 + 1)


def days_text(days):
    """Return days 0..7 as "mon to fri", "sat and sun", "every day" (holidays apart or not)."""
    week = [day for day in sorted(set(days)) if day != HOLIDAY]
    if len(week) == 7:
        return "every day"
    text = _runs_text(week, 7, lambda day: DAYS[day], lambda day: (day + 1) % 7) if week else ""
    if HOLIDAY in days:
        text = f"{text} and holidays" if text else "holidays"
    return text


def _runs_text(items, size, name, following):
    """Join cyclic items: three or more in a row as "a to b", the others one by one."""
    starts = [item for item in items if not any(following(other) == item for other in items)]
    texts = []
    for start in starts:
        run = [start]
        while following(run[-1]) in items and len(run) < size:
            run.append(following(run[-1]))
        texts += [f"{name(run[0])} to {name(run[-1])}"] if len(run) > 2 else [name(one) for one in run]
    return texts[0] if len(texts) == 1 else ", ".join(texts[:-1]) + " and " + texts[-1]


def name_of(band, number):
    """Return what people call a band: its own name, else its clock and days."""
    if band.name:
        return band.name
    parts = f"{clock(band.from_minute)}-{clock(band.to_minute)}"
    days, months = days_text(band.weekdays), months_text(band.months)
    words = [f"band {number}", parts]
    words += [days] if days != "every day" else []
    words += [months] if months != "every month" else []
    return " ".join(words)
