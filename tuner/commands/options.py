"""Options and outputs that several commands share."""

import json
import sys

import click

from tuner import degrees, terminal
from tuner.files import check_writable, write_whole

LOGS = click.argument("logs", nargs=-1, required=True, type=click.Path(), metavar="LOG...")
SITE = click.option(
    "--site",
    "site_path",
    required=True,
    type=click.Path(),
    help="The site.toml of this house. To begin from: loamstat demo leaves one in its folder.",
)
UNITS = click.option(
    "--units",
    type=click.Choice(["C", "F"], case_sensitive=False),
    metavar="C|F",
    help="Degrees that people read. Else those of site.toml, or of the board. JSON and CSV stay in C.",
)
PORT = click.option("--port", help="The board's serial port, where more than one is plugged in. See: loamstat boards")
JSON = click.option("--json", "json_path", type=click.Path(), help="Also write the numbers as JSON to this file.")


class Difference(click.ParamType):
    """A difference of temperatures with or without its unit, "5", "5K" or "9F"; its value is kelvin."""

    name = "degrees"

    def __init__(self, lowest, highest):
        self.lowest, self.highest = lowest, highest

    def convert(self, value, param, ctx):
        """Return kelvin; end with wrong usage where value is no difference or out of range."""
        try:
            kelvin = degrees.parse(str(value), difference=True)
        except ValueError as fault:
            self.fail(f"{value!r}: {fault}", param, ctx)
        if not self.lowest <= kelvin <= self.highest:
            self.fail(f"{value!r}: it must be {degrees.span_text(self.lowest, self.highest, True)}.", param, ctx)
        return kelvin


def refuse_bad_outputs(*paths, inputs=()):
    """Refuse outputs that cannot be written, before the work begins. Raises OutputError."""
    check_writable(paths, inputs)


def say(lines):
    """Print lines, those of prose broken between words where the terminal is narrower."""
    for line in terminal.wrapped(lines):
        click.echo(line)


def tell_faults(log):
    """Say on stderr that the log has faults that may touch the numbers; `loamstat inspect` tells them all."""
    kinds = list(dict.fromkeys(fault.kind for fault in log.faults if fault.grave))
    if kinds:
        count = sum(fault.grave for fault in log.faults)
        faults = "1 fault" if count == 1 else f"{count} faults"
        told = f"The log has {faults} to look at ({', '.join(kinds)}); loamstat inspect tells them."
        click.echo("\n".join(terminal.wrapped([told], sys.stderr)), err=True)


def write_json(path, tree):
    """Write a tree of plain values as JSON; NaN cannot occur in it. Raises OutputError."""
    write_whole(path, json.dumps(tree, indent=2, allow_nan=False) + "\n")
