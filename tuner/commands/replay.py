"""loamstat replay: what the fan would have done with other settings."""

import click

from tuner.commands import options


@click.command(short_help="What the fan would have done with other settings.")
@options.LOGS
@options.SITE
@click.option(
    "--settings",
    "settings_paths",
    required=True,
    multiple=True,
    type=click.Path(),
    help="A settings file (JSON). Give it again for each further file to compare.",
)
@options.UNITS
@options.JSON
@click.option("--trace", "trace_path", type=click.Path(), help="Also write every row of every run as CSV.")
@click.option("--figure", "figure_path", type=click.Path(), help="Also draw the timeline (.png, .svg or .pdf).")
@click.option("--open-loop", is_flag=True, help="Leave the temperatures as logged; needs no fit.")
def command(logs, site_path, settings_paths, json_path, trace_path, figure_path, open_loop, units):
    """Step the board's own rules through LOG with each settings file, and lay the results beside the log.

    The house is learned from LOG first, so that the fan's effect on house and store is predicted too (closed loop).
    With --open-loop the temperatures stay as logged, and that effect is left out.
    """
    options.refuse_bad_outputs(json_path, trace_path, figure_path, inputs=[*logs, site_path, *settings_paths])

    from tuner import comparison, plots, settings_file
    from tuner import logs as log_files
    from tuner import site as sites

    plots.check_kind(figure_path)
    site = sites.load_site(site_path, units)
    chosen = settings_file.load_all(settings_paths, site.fan.most_starts_per_hour)
    log = log_files.read_logs(list(logs), site)
    options.tell_faults(log)
    result = comparison.compare(log, chosen, site) if open_loop else _closed(log, chosen, site)
    options.say(comparison.text(result))
    if json_path:
        options.write_json(json_path, comparison.tree(result))
        click.echo(f"Numbers: {json_path}")
    if trace_path:
        comparison.write_trace(result, trace_path)
        click.echo(f"Every row: {trace_path}")
    if figure_path:
        plots.write_timeline(figure_path, log, result.runs, site, result.note, result.logs)
        click.echo(f"Timeline: {figure_path}")


def _closed(log, chosen, site):
    """Return the Comparison in closed loop, with a line on how well the house was learned."""
    from tuner import comparison, fit, learned

    fitted = fit.fit(log, site, progress=lambda text: click.echo(f"... {text}", err=True))
    result = comparison.compare_closed(fitted, chosen)
    options.say(learned.hold_out_lines(fitted))
    click.echo("")
    return result
