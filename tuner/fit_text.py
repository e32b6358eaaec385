"""All that `loamstat fit` prints and writes: layout only, the numbers come from learned.py and predict.py."""

import textwrap

from tuner import core_numba, degrees, learned, predict, terminal, trial_worth

WIDTH = 110  # of paragraphs, where no terminal says otherwise


def lines(fit):
    """Return the lines that `loamstat fit` prints."""
    grid = fit.grid
    first, last = (one.tz_convert(grid.site.site.zone) for one in (grid.log.frame.index[0], grid.log.frame.index[-1]))
    out = [f"{grid.site.site.name}: {len(grid.log.frame)} rows, {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}", ""]
    if not core_numba.HAVE_NUMBA:
        out.insert(1, core_numba.SLOW)
    out += learned.lines(fit)
    weeks = learned.weekly_effectiveness(fit)
    if weeks:
        out += textwrap.wrap(learned.weeks_line(weeks), terminal.width() or WIDTH)
        warning = learned.fallen(weeks)
        if warning:
            out.append(warning)
    out += ["", *learned.hold_out_lines(fit)]
    if fit.fan_known:
        out += ["", *cold_night_lines(fit)]
    notes = trial_worth.notes(fit)
    if notes:
        out += ["", "Not known, or assumed:"]
        for note in notes:
            told = degrees.sentence(note, grid.site.site.units)
            out += textwrap.wrap(told, terminal.width() or WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return out


def cold_night_lines(fit):
    """Return the lines about the coldest night without the fan."""
    units = fit.grid.site.site.units
    night = predict.coldest_night(fit)
    floor = degrees.marked(fit.grid.site.needs.frost_floor_c, units)
    date = f"{night.night:%Y-%m-%d}"
    text = f"Without the fan on a night like the coldest one (to {date}), from {night.begins:%H:%M} on: "
    if night.lasts_h is None:
        text += f"the house stays above the plants' floor of {floor}"
    elif night.lasts_h == 0.0:
        text += f"the house is at the plants' floor of {floor} from the start"
    else:
        text += f"the house holds for {night.lasts_h:.1f} h until the plants' floor of {floor}"
        if night.range_h:
            text += f" ({night.range_h[0]:.1f} to {night.range_h[1]:.1f} h)"
    lowest, logged = degrees.marked(night.lowest, units), degrees.marked(night.logged, units)
    spread = degrees.apart(1.645 * night.sd, units)
    text += f"; lowest {lowest}, give or take {spread}, against {logged} as logged."
    return textwrap.wrap(text, terminal.width() or WIDTH)


def tree(fit):
    """Return what `fit --json` writes."""
    out = learned.tree(fit)
    if fit.fan_known:
        night = predict.coldest_night(fit)
        out["coldest_night_without_fan"] = {
            "night": f"{night.night:%Y-%m-%d}", "from": night.begins.isoformat(), "lasts_h": night.lasts_h,
            "lasts_low_h": night.range_h[0] if night.range_h else None,
            "lasts_high_h": night.range_h[1] if night.range_h else None,
            "house_min_c": night.lowest, "house_min_sd_c": night.sd, "house_min_logged_c": night.logged,
        }  # fmt: skip
    return out
