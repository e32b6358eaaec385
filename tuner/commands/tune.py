"""loamstat tune: pick the settings to flash."""

import click

from tuner.commands import options


def limits_of(texts):
    """Return [(key, low, high)] of --limit texts: "discharge_below_c=3:8", "=37F:46F". Raises SettingsError."""
    from tuner import degrees
    from tuner.errors import SettingsError

    found = []
    for one in texts:
        key, _, span = (part.strip() for part in one.partition("="))
        low, _, high = span.partition(":")
        try:
            span = degrees.number_for(key, low), degrees.number_for(key, high)
            refuse_outside(key, *span)
            found.append((key, *span))
        except ValueError as fault:
            raise SettingsError(
                f"--limit {one}: {fault}\nWrite KEY=LOWEST:HIGHEST, for example discharge_below_c=3:8 or =37F:46F."
            ) from None
    return found


def refuse_outside(key, low, high):
    """Raise ValueError where no value of a row that is known lies within low to high: degrees F without a mark?"""
    from controller.core import rows
    from tuner import degrees

    row = next((row for row in rows.TABLE if row[0] == key), None)
    if row is None:
        return  # named by the search, with the nearest that it knows
    scale = 100 if row[4][0] == "C" else 1
    lowest, highest = row[2] / scale, row[3] / scale
    if low > highest or high < lowest:
        bounds = f"{lowest:g} to {highest:g}"
        bounds = degrees.span_text(lowest, highest, degrees.is_difference(key)) if scale == 100 else bounds
        raise ValueError(f"no value of this row lies there: it may be {bounds}.")


@click.command(short_help="Pick the settings to flash: safe in a cold snap, cheap the rest of the week.")
@options.LOGS
@options.SITE
@click.option("--out", "out_path", required=True, type=click.Path(), help="Folder for settings.json and the report.")
@click.option("--now", "now_path", type=click.Path(), help="The settings on the board now (JSON); else the defaults.")
@click.option("--colder", default="5K", show_default=True, type=options.Difference(0, 20), help="Cold snap; 5K or 9F.")
@click.option("--dull", default=70.0, show_default=True, type=click.FloatRange(0, 100), help="Sun's gain cut, percent.")
@click.option("--tries", default=2000, show_default=True, type=click.IntRange(50, 100000), help="Settings to try.")
@click.option("--limit", "limits", multiple=True, help="Narrower bounds of a row: discharge_below_c=3:8, or 37F:46F.")
@click.option("--workers", type=click.IntRange(1, 256), help="Threads; all cores unless given. Changes no result.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(0, 2**31 - 1), help="Of the search.")
@options.UNITS
@options.JSON
def command(logs, site_path, out_path, now_path, colder, dull, tries, limits, workers, seed, json_path, units):
    """Learn the house from LOG, try settings in its weather and in harder ones, and pick.

    Writes settings.json (for the board), report.html (opens offline), figures and result.json. Ctrl-C keeps the best
    so far.
    """
    inputs = [*logs, site_path, *([now_path] if now_path else [])]
    options.refuse_bad_outputs(json_path, inputs=inputs)
    asked = limits_of(limits)

    from tuner import fit as fitting
    from tuner import logs as log_files
    from tuner import settings_file, tune_report, tuning
    from tuner import site as sites
    from tuner.commands import progress

    site = sites.load_site(site_path, units)
    now = settings_file.load_settings(now_path, site.fan.most_starts_per_hour) if now_path else None
    folder = tune_report.check_folder(out_path)
    options.refuse_bad_outputs(*[folder / name for name in WRITTEN], inputs=inputs)
    log = log_files.read_logs(list(logs), site)
    with progress.LongWork() as tell:
        fitted = fitting.fit(log, site, progress=lambda text: tell(text, None))
        tuned = tuning.tune(
            fitted, now, colder=colder, dull=dull, tries=tries, workers=workers, seed=seed, limits=asked, tell=tell
        )
        tell("drawing the report", 0.98)
        told = tune_report.write(tuned, folder)
    options.say(tune_report.text(told, tuned))
    if json_path:
        options.write_json(json_path, told)
        click.echo(f"Numbers: {json_path}")
    tell_where(folder)


def tell_where(folder):
    """Print where the settings and the report are."""
    click.echo("")
    click.echo(f"Settings to flash: {folder / 'settings.json'}")
    click.echo(f"Report:            {folder / 'report.html'}")


WRITTEN = ("settings.json", "report.html", "result.json")
