"""loamstat cost: what the fan costs, and what it earns."""

import click

from tuner.commands import options


@click.command(short_help="What the fan costs, the wear, and whether the heat was worth it.")
@options.LOGS
@options.SITE
@click.option(
    "--settings",
    "settings_paths",
    multiple=True,
    type=click.Path(),
    help="Also what a settings file (JSON) would have cost. Give it again for each further file.",
)
@click.option("--open-loop", is_flag=True, help="With --settings: leave the temperatures as logged; needs no fit.")
@click.option("--fitted", is_flag=True, help="Learn the house for the log's own heat too, where no probe tells it.")
@options.UNITS
@options.JSON
@click.option(
    "--out", "out_path", type=click.Path(), help="Also write figures and a list of all runs into this folder."
)
def command(logs, site_path, settings_paths, open_loop, fitted, json_path, out_path, units):
    """Add up the fan's hours, energy, money, wear and heat in LOG, by night, week, month and in all.

    With --settings the house is learned from LOG, the fan is replayed against it (closed loop), and the replay is added
    up the same way. With --open-loop the temperatures stay as logged, and the heat of a replay is not known.
    """
    options.refuse_bad_outputs(json_path, inputs=[*logs, site_path, *settings_paths])

    from tuner import cost_report, replay, settings_file
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.files import make_folder

    site = sites.load_site(site_path, units)
    chosen = settings_file.load_all(settings_paths, site.fan.most_starts_per_hour)
    log = log_files.read_logs(list(logs), site, needs=("fan",) if not (chosen or fitted) else ("house", "soil", "fan"))
    options.tell_faults(log)
    house, note = None, replay.OPEN_LOOP
    if fitted or (chosen and not open_loop):
        from tuner import predict

        house = _learned(log, site, "leave out --fitted" if fitted else "add --open-loop")
        note = replay.OPEN_LOOP if open_loop else predict.CLOSED_LOOP
    results = cost_report.costs(log, chosen, site, house, open_loop)
    options.say(cost_report.text(results, log, site, note))
    if json_path:
        options.write_json(json_path, cost_report.tree(results, site, note))
        click.echo(f"Numbers: {json_path}")
    if out_path:
        from tuner import cost_plots

        folder = make_folder(out_path)
        cost_report.write_runs(results, folder / "runs.csv")
        click.echo(f"Every run: {folder / 'runs.csv'}")
        for name, path in cost_plots.write_all(folder, results, site).items():
            click.echo(f"{name}: {path}")


def _learned(log, site, way_out):
    """Return the Fit of a log, without a hold-out. Raises FitError, which then names the way_out."""
    from tuner import fit
    from tuner.errors import FitError

    try:
        return fit.fit(log, site, hold_out=False, progress=lambda text: click.echo(f"... {text}", err=True))
    except FitError as fault:
        more = "" if way_out in str(fault) else f"\nTo go without a learned house: {way_out}."
        raise FitError(f"{fault}{more}") from None
