"""loamstat pull: the board's log into a CSV file."""

import click

from tuner.commands import options

OUT = "board-log.csv"
LATE_S = 60  # a clock that is further off is set


@click.command(short_help="Fetch the log that a board keeps.")
@options.PORT
@click.option("--since", metavar="TIME", help='Only rows from then on: "2026-03-01" or "2026-03-01 06:30", local time.')
@click.option("--out", "out_path", default=OUT, show_default=True, type=click.Path(), help="CSV file to fetch into.")
def command(port, since, out_path):
    """Fetch the rows that came since the last pull into the same file, checked, without a row twice.

    Nothing is deleted on the board. After a failure run the same command again: it goes on where it was. A board
    that does not know the time is told.
    """
    options.refuse_bad_outputs(out_path)

    from datetime import UTC, datetime

    from tuner import link, link_boards, link_flash, link_merge, link_pull, link_read
    from tuner.commands import progress
    from tuner.errors import LinkError

    start = _utc(since) if since else ""
    with link.Link(link_boards.pick(port)) as board:
        probes = sorted(probe["serial"] for probe in link_read.roles(board).values() if "serial" in probe)
        before = link_merge.earlier(out_path, probes)
        sizes = link_pull.files(board)
        place, remark = link_pull.start_of(sizes, before.next)
        if remark:
            click.echo(remark)
            before = link_merge.Earlier(before.lines, before.settled, (0, 0), False)
        if start:
            place = max(place, link_pull.place_since(board, sizes, start))
        got = link_pull.Fetched()
        try:
            link_pull.fetch(board, place, got, progress.bytes_bar("fetching"), sizes)
        except (LinkError, KeyboardInterrupt) as fault:
            kept, _ = _write(out_path, before, got, start, probes)
            words = str(fault) or "stopped by you."
            raise LinkError(
                f"{words}\n{kept} new rows are safe in {out_path}. Run the same command again: it goes on from there."
            ) from None
        new, emptied = _write(out_path, before, got, start, probes)
        _tell(out_path, new, got, emptied)
        off_s = link_read.clock_off_s(link_read.state(board), datetime.now(UTC))
        if off_s is None or abs(off_s) > LATE_S:
            link_flash.set_clock(board, click.echo)


def _write(path, before, got, start, probes):
    """Write what was fetched; return (rows that the log did not have before, times that were emptied)."""
    from tuner import link_merge, link_pull

    settled = link_merge.joined(path, before, link_pull.lines_of(got.rows, start))
    memory = link_pull.lines_of(got.memory, start)
    emptied = 0
    if settled or memory:
        emptied = link_merge.write(path, settled, memory, got.next, probes)
    return max(len(settled) + len(memory) - len(before.lines), 0), emptied


def _tell(path, new, got, emptied):
    rows = f"{new:,} new rows" if new != 1 else "1 new row"
    click.echo(f"{path}: {rows}.")
    if got.spoilt:
        click.echo(f"{got.spoilt} bytes of the board's journal are spoilt and were passed over.")
    if emptied:
        click.echo(f"{emptied} rows were logged under a wrong clock: their time is left empty, uptime_s places them.")
    if new:
        click.echo(f"See what is in it: loamstat inspect {path}")


def _utc(text):
    """Return a local time as ISO 8601 UTC text. Raises LogError."""
    from datetime import UTC, datetime

    from tuner.errors import LogError

    try:
        return f"{datetime.fromisoformat(text).astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
    except (ValueError, OverflowError, OSError):
        raise LogError(f'--since {text}: this is no time. Write "2026-03-01" or "2026-03-01 06:30".') from None
