"""loamstat fit: what the log says of the house."""

import click

from tuner.commands import options


@click.command(short_help="Learn the house from its log.")
@options.LOGS
@options.SITE
@options.UNITS
@options.JSON
@click.option("--figure", "figure_path", type=click.Path(), help="Also draw errors and hold-out (.png, .svg or .pdf).")
def command(logs, site_path, json_path, figure_path, units):
    """Learn from LOG how fast the house loses heat, what it holds, and what fan and store do.

    Needs two nights or more; one or two weeks are good. What the log cannot tell is said, not guessed.
    """
    options.refuse_bad_outputs(json_path, figure_path)

    from tuner import fit as fitting
    from tuner import fit_text, plots
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.commands import progress

    plots.check_kind(figure_path)
    site = sites.load_site(site_path, units)
    log = log_files.read_logs(list(logs), site, needs=("house", "fan"), progress=progress.reading())
    options.tell_faults(log)
    learned = fitting.fit(log, site, progress=lambda text: click.echo(f"... {text}", err=True))
    options.say(fit_text.lines(learned))
    if json_path:
        options.write_json(json_path, fit_text.tree(learned))
        click.echo(f"Numbers: {json_path}")
    if figure_path:
        from tuner import fit_plots

        fit_plots.write_figure(figure_path, learned)
        click.echo(f"Figure: {figure_path}")
