"""loamstat inspect: what is in a log and what is wrong with it."""

import click

from tuner.commands import options


@click.command(short_help="What is in a log and what is wrong with it.")
@options.LOGS
@click.option("--site", "site_path", type=click.Path(), help="The site.toml of this house: time zone, columns.")
@options.UNITS
@options.JSON
@click.option("--clean", "clean_path", type=click.Path(), help="Also write the log in the board's own format (CSV).")
@click.option("--figure", "figure_path", type=click.Path(), help="Also draw it with its faults (.png, .svg or .pdf).")
def command(logs, site_path, json_path, clean_path, figure_path, units):
    """Read LOG from any logger or spreadsheet, and tell what was understood, what is wrong, and what was done.

    Several files are joined in time: pulls that overlap, or one file for each sensor. Columns that cannot be told
    apart are asked for: name them in site.toml. Nothing in LOG is changed.
    """
    options.refuse_bad_outputs(json_path, clean_path, figure_path, inputs=logs)

    from tuner import clean_log, inspection, inspection_text, log_plot, plots
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.commands import progress

    plots.check_kind(figure_path)
    site = sites.load_site(site_path, units) if site_path else None
    log = log_files.read_logs(list(logs), site, needs=(), progress=progress.reading())
    tree = inspection.inspect(log, site, units)
    options.say(inspection_text.lines(tree))
    if json_path:
        options.write_json(json_path, tree)
        click.echo(f"Numbers: {json_path}")
    if clean_path:
        remarks = clean_log.write(log, clean_path)
        click.echo(f"Clean log: {clean_path}" + "".join(f"; {remark}" for remark in remarks))
    if figure_path:
        log_plot.write(figure_path, log, tree)
        click.echo(f"Figure: {figure_path}")
