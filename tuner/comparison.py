"""Several settings over one log: replayed, summed up, and written as text, JSON and CSV."""

from dataclasses import dataclass

import numpy as np

from controller.core.reasons import PHASE_WORDS, REASONS
from controller.core.record import HEADER, alarm_words
from tuner import core_numba, logged, nights, replay, report
from tuner.files import write_whole


@dataclass(frozen=True)
class Comparison:
    """runs: list of logged.Run, the log itself first; summaries: the dict of nights.summary for each."""

    log: object
    site: object
    runs: list
    summaries: list


def compare(log, chosen, site):
    """Return the Comparison of settings over one log.

    log : tuner.logs.Log; chosen : list of (name, Settings); site : Site
    Raises SiteError when the prices do not cover the log.
    """
    runs = [logged.as_logged(log), *(replay.replay(log, settings, name) for name, settings in chosen)]
    return Comparison(log, site, runs, [nights.summary(log, run, site) for run in runs])


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
    return {"open_loop": True, "note": replay.OPEN_LOOP, "runs": result.summaries}


def text(result):
    """Return the lines that `loamstat replay` prints."""
    frame, place, needs = result.log.frame, result.site.site, result.site.needs
    first, last = (one.tz_convert(place.zone) for one in (frame.index[0], frame.index[-1]))
    hours = nights.stood_s(frame.index) / 3600.0
    lines = [
        f"{place.name}: {len(frame)} rows, {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} ({place.time_zone})",
        replay.OPEN_LOOP,
    ]
    if not core_numba.HAVE_NUMBA:
        lines.append(core_numba.SLOW)
    lines += ["", *report.nights_table(result.summaries, place.units)]
    lines += ["", *report.totals_table(result.summaries, result.site.energy.currency)]
    lines += ["", report.needs_line(result.summaries[0]["total"], needs, place.units)]
    lines += ["", "Hours under each reason:", *report.why_lines(result.runs, hours), ""]
    return lines


def write_trace(result, path):
    """Write one CSV row per log row and settings file: its name, then the log's own columns. Raises OutputError.

    Temperatures are the logged ones, in degrees C; uptime_s counts from the replay's own power-ups. So the rows of
    one settings file, without the first column, are a log again.
    """
    write_whole(path, _trace_lines(result))


def _trace_lines(result):
    """Yield the text of the trace, one line at a time."""
    frame = result.log.frame
    readings = [cells(frame[name], 2) for name in ("house", "soil", "outlet", "outside")]
    times = frame.index.strftime("%Y-%m-%dT%H:%M:%SZ")
    uptimes = logged.uptime_s(result.log).astype(str)
    heads = [",".join(row) for row in zip(times, uptimes, *readings, cells(frame["humidity"], 1), strict=True)]
    yield f"settings,{HEADER}\n"
    for run in result.runs[1:]:
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
