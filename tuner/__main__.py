"""The commands, and the one place where a TunerError becomes a message and an exit status.

Each command lives in a module of its own in tuner/commands; it is imported only when it is asked for, and its
heavy imports stand inside its function, so that `loamstat --help` answers at once.
"""

import importlib
import os
import sys

import click

from tuner.errors import TunerError

# name, module in tuner.commands, one line for `loamstat --help`; in the order that the job is done.
COMMANDS = [
    ("demo", "demo", "The whole job on an invented log that comes with the program."),
    ("inspect", "inspect", "What is in a log and what is wrong with it."),
    ("fit", "fit", "Learn the house from its log."),
    ("replay", "replay", "What the fan would have done with other settings."),
    ("tune", "tune", "Pick the settings to flash: safe in a cold snap, cheap the rest of the week."),
    ("cost", "cost", "What the fan costs, the wear, and whether the heat was worth it."),
    ("boards", "boards", "Which boards are plugged in, and what runs on them."),
    ("flash", "flash", "Put firmware and settings on a board, and prove that it decides as this computer does."),
    ("settings", "settings", "Show a board's settings, compare them with a file, change one."),
    ("pull", "pull", "Fetch the log that a board keeps."),
    ("watch", "watch", "What a board reads, does and why, live."),
    ("trial", "trial", "Let a board run and rest by turns for some hours, to learn the house."),
]


class Commands(click.Group):
    """A group that lists COMMANDS and imports one only when it runs."""

    def list_commands(self, ctx):
        return [name for name, _, _ in COMMANDS]

    def get_command(self, ctx, cmd_name):
        for name, module, _ in COMMANDS:
            if name == cmd_name:
                return importlib.import_module(f"tuner.commands.{module}").command
        return None

    def resolve_command(self, ctx, args):
        from tuner.errors import nearest

        if args and args[0] not in self.list_commands(ctx):
            ctx.fail(f'There is no command "{args[0]}".{nearest(args[0], self.list_commands(ctx))}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx, formatter):
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, _, line in COMMANDS])


def _tell_version(ctx, param, wanted):
    if wanted and not ctx.resilient_parsing:
        from importlib import metadata

        try:
            click.echo(f"loamstat {metadata.version('loamstat')}")
        except metadata.PackageNotFoundError:
            click.echo("loamstat, run from its source folder")
        ctx.exit()


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version", is_flag=True, expose_value=False, is_eager=True, callback=_tell_version, help="Show it and end."
)
def commands():
    """Fan setpoints for a small greenhouse that keeps heat in the soil, from its own log.

    Exit status: 0 done, 1 something you can mend, 2 wrong usage.
    """


def main():
    """Run one command; print a TunerError to stderr and end with status 1. Other exceptions keep their traceback."""
    try:
        commands.main(prog_name="loamstat", standalone_mode=True)
    except TunerError as error:
        from tuner import terminal

        click.echo("\n".join(terminal.wrapped(f"loamstat: {error}".splitlines(), sys.stderr)), err=True)
        sys.exit(1)
    except BrokenPipeError:
        # The reader of our output (head, a pager) has left: end quietly, as other commands do.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)


if __name__ == "__main__":
    main()
