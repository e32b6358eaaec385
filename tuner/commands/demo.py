"""loamstat demo: the job on an invented log that comes with the program."""

import click

from tuner.commands import options

OUT = "loamstat-demo"


@click.command(short_help="The whole job on an invented log that comes with the program.")
@click.option("--out", "out_path", default=OUT, show_default=True, type=click.Path(), help="Folder to write into.")
def command(out_path):
    """Replay an invented fortnight with two settings files, and write the numbers and the timeline.

    House, place, crop and weather are made up; the folder tuner/demo says how. The inputs are copied beside the
    results, so that each further command can be tried on them.
    """
    from tuner import comparison, plots, settings_file
    from tuner import demo_files as files
    from tuner import logs as log_files
    from tuner import site as sites
    from tuner.files import make_folder

    folder = make_folder(out_path)
    inputs = files.copy_into(folder)
    site = sites.load_site(inputs.site)
    chosen = settings_file.load_all([str(path) for path in inputs.others], site.fan.most_starts_per_hour)
    log = log_files.read_logs([str(inputs.log)], site)
    result = comparison.compare(log, chosen, site)
    check = comparison.check(log, settings_file.load_settings(inputs.own), result)
    click.echo(files.INVENTED)
    for line in comparison.text(result):
        click.echo(line)
    click.echo(check)
    click.echo("")
    options.write_json(folder / "comparison.json", comparison.tree(result))
    plots.write_timeline(folder / "timeline.png", log, result.runs, site)
    click.echo(f"Numbers:  {folder / 'comparison.json'}")
    click.echo(f"Timeline: {folder / 'timeline.png'}")
    words = " ".join(f"--settings {path}" for path in inputs.others)
    click.echo(f"Try your own: loamstat replay {inputs.log} --site {inputs.site} {words}")
