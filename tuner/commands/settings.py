"""loamstat settings: the settings on a board."""

import click

from tuner.commands import options


@click.command(short_help="Show a board's settings, compare them with a file, change one.")
@options.PORT
@click.option("--compare", "compare_path", type=click.Path(), help="Show only what differs from this settings file.")
@click.option("--set", "changes", multiple=True, metavar="KEY=VALUE", help="Change one and keep it. May be repeated.")
@click.option("--out", "out_path", type=click.Path(), help="Also write them as a settings file (JSON).")
@options.UNITS
def command(port, compare_path, changes, out_path, units):
    """Show the settings that count on the board. Values to --set are degrees C (or 42F), seconds and percent.

    A change is checked by the board itself, against its other settings too; what it refuses changes nothing.
    """
    options.refuse_bad_outputs(out_path, inputs=[compare_path] if compare_path else [])

    from tuner import link, link_boards, link_read, link_settings, settings_file
    from tuner.files import write_whole

    pairs = _pairs(changes)
    wanted = settings_file.load_settings(compare_path) if compare_path else None
    with link.Link(link_boards.pick(port)) as board:
        units = units or link_read.wiring(board)["units"]
        held = link_read.settings(board)
        if pairs:
            before = held
            held = link_settings.set_some(board, pairs)
            _tell_changes(link_settings.changes(before, held.settings, units) if held.settings else [])
    if wanted is not None:
        lines = link_settings.changes(held, wanted, units)
        click.echo(f"The board and {compare_path}: " + ("alike." if not lines else "board -> file"))
        for line in lines:
            click.echo("  " + line)
    elif not pairs:
        for line in link_settings.shown(held, units):
            click.echo(line)
        if held.unsaved:
            click.echo("Not saved on the board: a reset brings the ones before back.")
    if out_path:
        write_whole(out_path, link_settings.file_text(held))
        click.echo(f"Settings: {out_path}")


def _pairs(changes):
    """Return [(key, value)] of KEY=VALUE texts. Raises SettingsError."""
    from tuner import degrees
    from tuner.errors import SettingsError

    pairs = []
    for text in changes:
        key, sign, value = (part.strip() for part in text.partition("="))
        try:
            value = degrees.unmarked(key, value)
        except ValueError as fault:
            raise SettingsError(f"--set {text}: {fault}") from None
        if not sign or not key or not value or " " in key + value:
            raise SettingsError(f'--set {text}: write KEY=VALUE, for example: --set "discharge_below_c=5.5", or =42F')
        pairs.append((key, value))
    return pairs


def _tell_changes(lines):
    for line in lines:
        click.echo(f"Changed and kept: {line}")
    if not lines:
        click.echo("It was so already; nothing changed.")
