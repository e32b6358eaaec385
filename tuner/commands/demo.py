"""loamstat demo: the whole job on an invented log that comes with the program."""

import click

from tuner.commands import options

OUT = "loamstat-demo"
HOUSES = 8  # plausible houses for the finalists: enough to show the job, half the time


@click.command(short_help="The whole job on an invented log that comes with the program.")
@click.option("--out", "out_path", default=OUT, show_default=True, type=click.Path(), help="Folder to write into.")
@options.UNITS
@click.option("--tries", default=300, show_default=True, type=click.IntRange(50, 100000), help="Settings to try.")
def command(out_path, tries, units):
    """Check an invented fortnight, learn its house, replay other settings, add up the cost, pick settings, report.

    House, place, crop and weather are made up; the folder tuner/demo says how. The inputs are copied beside the
    results, so that each command can be tried on them by itself.
    """
    from tuner import demo_files, tune_report
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.commands import progress

    folder = tune_report.check_folder(out_path)
    inputs = demo_files.copy_into(folder)
    site = sites.load_site(inputs.site, units)
    log = log_files.read_logs([str(inputs.log)], site)
    options.say([demo_files.INVENTED])
    show_log(log, inputs, site)
    with progress.LongWork() as tell:
        learned = show_house(log, inputs, site, tell)
        show_replay(learned, log, inputs, site, folder)
        show_cost(log, inputs, site, folder)
        pick(learned, inputs, folder, tries, tell)
    click.echo("")
    click.echo("Open the report in a browser; try your own:")
    words = " ".join(f"--settings {path}" for path in inputs.others)
    click.echo(f"  loamstat replay {inputs.log} --site {inputs.site} {words}")


def headed(text, command):
    """Print the heading of a stage and the command that does it alone."""
    click.echo("")
    options.say([f"== {text} (loamstat {command})"])


def show_log(log, inputs, site):
    """Stage 1: what is in the log and what is wrong with it."""
    from tuner import inspection, inspection_text

    headed("The log", f"inspect {inputs.log} --site {inputs.site}")
    tree = inspection.inspect(log, site)
    options.say([inspection_text.head(tree), *inspection_text.faults(tree)])


def show_house(log, inputs, site, tell):
    """Stage 2: the house, learned from its log. Returns the Fit."""
    from tuner import fit, fit_text

    headed("The house", f"fit {inputs.log} --site {inputs.site}")
    learned = fit.fit(log, site, progress=lambda text: tell(text, None))
    tell("", None)
    options.say(fit_text.lines(learned)[2:])
    return learned


def show_replay(learned, log, inputs, site, folder):
    """Stage 3: what two other settings would have done, the fan's own effect included."""
    from tuner import comparison, plots, settings_file

    words = " ".join(f"--settings {path}" for path in inputs.others)
    headed("Two other settings", f"replay {inputs.log} --site {inputs.site} {words}")
    chosen = settings_file.load_all([str(path) for path in inputs.others], site.fan.most_starts_per_hour)
    result = comparison.compare_closed(learned, chosen)
    options.say(comparison.text(result)[1:])
    options.say([comparison.check(log, settings_file.load_settings(inputs.own), result)])
    options.write_json(folder / "comparison.json", comparison.tree(result))
    plots.write_timeline(folder / "timeline.png", log, result.runs, site, result.note, result.logs)
    click.echo(f"Numbers:  {folder / 'comparison.json'}")
    click.echo(f"Timeline: {folder / 'timeline.png'}")


def show_cost(log, inputs, site, folder):
    """Stage 4: what the fan cost, as logged."""
    from tuner import cost_report, replay

    headed("The cost, as logged", f"cost {inputs.log} --site {inputs.site}")
    results = cost_report.costs(log, [], site)
    lines = cost_report.text(results, log, site, replay.OPEN_LOOP)
    options.say(lines[next(at for at, line in enumerate(lines) if line.startswith("in all")) :])
    options.write_json(folder / "cost.json", cost_report.tree(results, site))
    click.echo(f"Numbers:  {folder / 'cost.json'}")


def pick(learned, inputs, folder, tries, tell):
    """Stage 5: settings to flash, and the report."""
    from tuner import settings_file, tune_report, tuning
    from tuner.commands.tune import tell_where

    headed("The settings to flash", f"tune {inputs.log} --site {inputs.site} --now {inputs.own} --out {folder}")
    now = settings_file.load_settings(inputs.own)
    tuned = tuning.tune(learned, now, tries=tries, houses=HOUSES, tell=tell)
    tell("drawing the report", 0.98)
    told = tune_report.write(tuned, folder)
    tell("", None)
    options.say(tune_report.text(told, tuned))
    tell_where(folder)
