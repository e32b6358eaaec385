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
@options.JSON
@click.option(
    "--out", "out_path", type=click.Path(), help="Also write figures and a list of all runs into this folder."
)
def command(logs, site_path, settings_paths, json_path, out_path):
    """Add up the fan's hours, energy, money, wear and heat in LOG, by night, week, month and in all.

    With --settings the fan is replayed on the temperatures as logged (open loop) and added up the same way.
    """
    options.refuse_bad_outputs(json_path, inputs=[*logs, site_path, *settings_paths])

    from tuner import cost_report, settings_file
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.files import make_folder

    site = sites.load_site(site_path)
    chosen = settings_file.load_all(settings_paths, site.fan.most_starts_per_hour)
    log = log_files.read_logs(list(logs), site, needs=("fan",) if not chosen else ("house", "soil", "fan"))
    options.tell_faults(log)
    results = cost_report.costs(log, chosen, site)
    for line in cost_report.text(results, log, site):
        click.echo(line)
    if json_path:
        options.write_json(json_path, cost_report.tree(results, site))
        click.echo(f"Numbers: {json_path}")
    if out_path:
        from tuner import cost_plots

        folder = make_folder(out_path)
        cost_report.write_runs(results, folder / "runs.csv")
        click.echo(f"Every run: {folder / 'runs.csv'}")
        for name, path in cost_plots.write_all(folder, results, site).items():
            click.echo(f"{name}: {path}")
