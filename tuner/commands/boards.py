"""loamstat boards: which boards are plugged in."""

import click

from tuner.commands import options


@click.command(short_help="Which boards are plugged in, and what runs on them.")
@options.PORT
def command(port):
    """List the serial ports where a board may be, what runs there, and the versions of firmware and settings.

    Nothing is stopped or changed by looking.
    """
    from tuner import link_boards

    boards = link_boards.all_boards(port)
    if not boards:
        click.echo(link_boards.NONE[0].upper() + link_boards.NONE[1:])
    for one in boards:
        click.echo(f"{one.port.device}  ({one.port.what})")
        for line in one.words.splitlines():
            click.echo("  " + line.removeprefix(f"{one.port.device}: "))
