"""Several settings over one log: replayed, summed up, and written as text, JSON and CSV."""

from dataclasses import dataclass

import numpy as np

from controller.core.reasons import PHASE_WORDS, REASONS
from controller.core.record import HEADER, alarm_words
from tuner import core_numba, logged, nights, predict, replay, report
from tuner.files import write_whole


@dataclass(frozen=True)
class Comparison:
    """runs: list of logged.Run, the log itself first; summaries: the dict of nights.summary for each; logs: the Log
    with each run's own temperatures (open loop: the log itself); fit: the tuner.fit.Fit, None when open loop."""

    log: object
    site: object
    runs: list
    summaries: list
    logs: list
    fit: object = None

    @property
    def note(self):
        """One sentence on how the replays were made."""
        return replay.OPEN_LOOP if self.fit is None else predict.CLOSED_LOOP


def compare(log, chosen, site):
    """Return the Comparison of settings over one log.

    log : tuner.logs.Log; chosen : list of (name, Settings); site : Site
    Raises SiteError when the prices do not cover the log.
    """
    runs = [logged.as_logged(log), *(replay.replay(log, settings, name) for name, settings in chosen)]
    return Comparison(log, site, runs, [nights.summary(log, run, site) for run in runs], [log] * len(runs))


def compare_closed(fit, chosen):
    """Return the Comparison of settings in closed loop, with the fan's effect on house and store.

    fit : tuner.fit.Fit; chosen : list of (name, Settings)
    Raises FitError where the log does not tell what the fan does, SiteError when the prices do not cover the log.
    """
    log, site = fit.grid.log, fit.grid.site
    found = [predict.predict(fit, settings, name) for name, settings in chosen]
    runs = [logged.as_logged(log), *(one.run for one in found)]
    logs = [log, *(one.log for one in found)]
    summaries = [nights.summary(own, run, site) for own, run in zip(logs, runs, strict=True)]
    for summary, one in zip(summaries[1:], found, strict=True):
        _add_spread(summary, one.house_min_sd)
    return Comparison(log, site, runs, summaries, logs, fit)


def _add_spread(summary, house_min_sd):
    """Put house_min_sd_c into each night, and into the total that of its coldest night."""
    by_date = {f"{night:%Y-%m-%d}": sd for night, sd in house_min_sd.items()}
    for night in summary["nights"]:
        sd = by_date.get(night["date"])
        night["house_min_sd_c"] = None if sd is None or np.isnan(sd) else round(sd, 3)
    known = [night for night in summary["nights"] if night["house_min_c"] is not None]
    coldest = min(known, key=lambda night: night["house_min_c"]) if known else None
    summary["total"]["house_min_sd_c"] = coldest["house_min_sd_c"] if coldest else None


def check(log, settings, result):
    """Return one line: how the replay with the settings that were on board compares with the log itself."""
    run = nights.summary(log, replay.replay(log, settings, "check"), result.site)["total"]
    own = result.summaries[0]["total"]
    return (
        f"Check: with the settings that were on board the replay gives {report.amount(run['fan_h'], 1)} fan hours and "
        f"{run['starts']} starts; the log has {report.amount(own['fan_h'], 1)} and {own['starts']}."
    )


def tree(result):
    """Return what `--json` writes: the keys are listed in DEVELOPERS.md with their units."""
    return {"open_loop": result.fit is None, "note": result.note, "runs": result.summaries}


def text(result):
    """Return the lines that `loamstat replay` prints."""
    frame, place, needs = result.log.frame, result.site.site, result.site.needs
    first, last = (one.tz_convert(place.zone) for one in (frame.index[0], frame.index[-1]))
    hours = nights.stood_s(frame.index) / 3600.0
    lines = [
        f"{place.name}: {len(frame)} rows, {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} ({place.time_zone})",
        result.note,
    ]
    if not core_numba.HAVE_NUMBA:
        lines.append(core_numba.SLOW)
    table = report.nights_table if result.fit is None else report.closed_nights_table
    lines += ["", *table(result.summaries, place.units)]
    lines += ["", *report.totals_table(result.summaries, result.site.energy.currency)]
    lines += ["", report.needs_line(result.summaries[0]["total"], needs, place.units)]
    lines += ["", "Hours under each reason:", *report.why_lines(result.runs, hours), ""]
    return lines


def write_trace(result, path):
    """Write one CSV row per log row and settings file: its name, then the log's own columns. Raises OutputError.

    Temperatures are the logged ones, or in closed loop the predicted ones, in degrees C; uptime_s counts from the
    replay's own power-ups. So the rows of one settings file, without the first column, are a log again.
    """
    write_whole(path, _trace_lines(result))


def _trace_lines(result):
    """Yield the text of the trace, one line at a time."""
    yield f"settings,{HEADER}\n"
    heads, of = [], None
    for run, log in zip(result.runs[1:], result.logs[1:], strict=True):
        if log is not of:
            heads, of = _heads(log), log
        name, tails = quoted(run.name), {}
        out = run.out
        decided = zip(
            *(column.tolist() for column in (out.phase, out.fan_pct, out.fan_s, out.heater, out.vent)),
            *(column.tolist() for column in (out.reason, out.alarms)),
            strict=True,
        )
        for head, row in zip(heads, decided, strict=True):
            tail = tails.get(row)  # few rows differ in what was decided: each text is made once
            if tail is None:
                tail = tails[row] = _decided_text(row)
            yield f"{name},{head},{tail}\n"


def _heads(log):
    """Return the first columns of each row of a log as text: time, uptime, readings."""
    frame = log.frame
    readings = [cells(frame[name], 2) for name in ("house", "soil", "outlet", "outside")]
    times = frame.index.strftime("%Y-%m-%dT%H:%M:%SZ")
    uptimes = logged.uptime_s(log).astype(str)
    return [",".join(row) for row in zip(times, uptimes, *readings, cells(frame["humidity"], 1), strict=True)]


def _decided_text(row):
    """Return the last columns of the log for (phase, fan_pct, fan_s, heater, vent, reason, alarms)."""
    phase, fan_pct, fan_s, heater, vent, reason, alarms = row
    return f"{PHASE_WORDS[phase]},{fan_pct},{fan_s},{heater},{vent},{REASONS[reason][0]},{alarm_words(alarms)}"


def cells(series, places):
    """Return a column of floats as CSV cells, empty for NaN."""
    return ["" if np.isnan(value) else f"{value:.{places}f}" for value in series.to_numpy(dtype=float)]


def quoted(name):
    """Return a text as one CSV cell."""
    return '"' + name.replace('"', '""') + '"' if any(mark in name for mark in ',"\n') else name
