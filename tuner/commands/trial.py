"""loamstat trial: run and rest by turns, so that the log shows what the fan does."""

import click

from tuner.commands import options


@click.command(short_help="Let a board run and rest by turns for some hours, to learn the house.")
@click.argument("hours", type=int)
@options.PORT
def command(hours, port):
    """Start a trial of HOURS (1 to 96) on the board: 30 minutes run, 30 minutes rest. HOURS 0 ends one.

    It pauses near frost and while soil and air are alike, and ends by itself, or at any reset of the board.
    """
    from datetime import datetime, timedelta

    from tuner import link, link_boards, link_read
    from tuner.link_words import duration

    with link.Link(link_boards.pick(port)) as board:
        board.ask(f"trial {hours}")
        left_s = link_read.state(board)["trial_s"]
    if not left_s:
        click.echo("No trial goes on.")
        return
    ends = datetime.now().astimezone() + timedelta(seconds=left_s)
    click.echo(f"The trial goes on for {duration(left_s)}, until {ends:%a %Y-%m-%d %H:%M} by this computer's clock.")
    click.echo("It ends sooner at any reset of the board, and pauses near frost. Then: loamstat pull, loamstat fit")
