"""loamstat watch: the board, live."""

import click

from tuner.commands import options


@click.command(short_help="What a board reads, does and why, live.")
@options.PORT
@click.option("--record", "record_path", type=click.Path(), help="Also write each reading to this CSV file.")
@click.option(
    "--every", type=click.FloatRange(0.2, 3600), default=2, show_default=True, help="Seconds from look to look."
)
@click.option("--count", type=click.IntRange(1), help="End after so many readings.")
@options.UNITS
def command(port, record_path, every, count, units):
    """Show readings, phase, reason, countdowns and alarms until Ctrl-C: a screen on a terminal, lines in a pipe.

    It only asks; the board is not disturbed. A lead that is pulled is waited for.
    """
    import sys

    from tuner import link, link_boards, link_record

    with link.Link(link_boards.pick(port)) as board:
        recorder = link_record.Recorder(record_path) if record_path else None
        try:
            show = _screen if sys.stdout.isatty() else _lines
            show(board, _states(board, every, count), recorder, units)
        except KeyboardInterrupt:
            pass  # the usual end
        finally:
            if recorder:
                recorder.close()
                click.echo(f"{recorder.rows} rows: {record_path}", err=True)


def _states(board, every, count):
    """Yield (state or None, seconds of silence) at each look, count readings in all; a gone port is awaited."""
    import time

    from tuner import link_read
    from tuner.errors import LinkError

    heard, told, waiting = time.monotonic(), 0, False
    while count is None or told < count:
        due = time.monotonic() + every
        state = None
        try:
            if waiting:
                board.reopen(every)
                waiting = False
            state = link_read.state(board, 1.5)
            heard, told = time.monotonic(), told + 1
        except LinkError:
            waiting = True
        yield state, 0 if state else time.monotonic() - heard
        if count is None or told < count:
            time.sleep(max(due - time.monotonic(), 0))


class Known:
    """What is asked once, and again when the board says that it changed: settings, units."""

    def __init__(self, board, units):
        self.board, self.units, self.name, self.settings = board, units, None, None

    def look(self, state):
        """Ask for what a state says is other than before."""
        from tuner import link_read
        from tuner.errors import LinkError

        try:
            if self.units is None:
                self.units = link_read.wiring(self.board)["units"]
            if state["settings"] != self.name:
                self.settings = link_read.settings(self.board).settings
                self.name = state["settings"]
        except (LinkError, KeyError):
            pass  # asked again at the next look


def _lines(board, states, recorder, units):
    """Print one line a reading."""
    from tuner import link_words

    known, quiet = Known(board, units), False
    for state, quiet_s in states:
        if state is None:
            if not quiet:
                click.echo(f"no answer for {quiet_s:.0f} s; asking on", err=True)
            quiet = True
            continue
        quiet = False
        known.look(state)
        if recorder:
            recorder.add(state)
        click.echo(link_words.status_line(state, known.units or "C"))


def _screen(board, states, recorder, units):
    """Show the screen on the terminal's other page; the page before comes back at the end, with one line on it."""
    from rich.console import Console
    from rich.live import Live
    from rich.text import Text

    from tuner import link_watch, link_words

    known, last, console = Known(board, units), None, Console()
    try:
        with Live(console=console, screen=True, auto_refresh=False) as live:
            for state, quiet_s in states:
                if state is not None:
                    known.look(state)
                    last = state
                    if recorder:
                        recorder.add(state)
                lines = link_watch.screen(last, known.settings, known.units or "C", console.size, board.device, quiet_s)
                live.update(Text("\n".join(lines), no_wrap=True, overflow="crop"), refresh=True)
    finally:
        if last is not None:
            click.echo(link_words.status_line(last, known.units or "C"))
