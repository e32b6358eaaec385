"""The weekly habit, end to end, each step a command as a grower types it: flash, a week, pull, inspect, tune, flash,
watch. The board is the virtual one; the week is decided by the core and logged by the firmware's own journal, fast.

    python -m tests.rig.habit [--tries 200] [--no-tune]

House, weather and probes are invented. Exit status 1 when a step does not end well.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests import link_help
from tests.rig.run import ROOT, inner
from tuner import link_ports

SITE = """
[site]
name = "Invented lean-to"
time_zone = "Europe/Lisbon"
[needs]
frost_floor_c = 2
hot_limit_c = 32
[fan]
watts = 70
[energy]
currency = "EUR"
price_per_kwh = 0.2
"""
ROLES = {"house": "2801ab12345600c8", "soil": "2802ab1234560091", "outlet": "2803ab12345600a6",
         "outside": "2804ab1234560023"}  # fmt: skip
DAYS = 7


class Habit:
    """Runs commands in a folder and shows what they print. told: what all of them printed."""

    def __init__(self, folder, show=print):
        self.folder, self.show, self.told = Path(folder), show, ""
        (self.folder / "site.toml").write_text(SITE, encoding="utf-8")
        (self.folder / "first.json").write_text('{"discharge_below_c": 6, "charge_above_c": 18}', encoding="utf-8")
        roles = {place: {"serial": serial} for place, serial in ROLES.items()}
        (self.folder / "roles.json").write_text(json.dumps(roles), encoding="utf-8")

    def type_in(self, port, line):
        """Run `loamstat LINE`; return what it printed. Raises AssertionError when it does not end with 0."""
        environ = {**os.environ, link_ports.INSTEAD: port, "PYTHONPATH": str(ROOT)}
        run = subprocess.run(
            [sys.executable, "-m", "tuner", *line.split()],
            cwd=self.folder, env=environ, capture_output=True, text=True, check=False,
        )  # fmt: skip
        self.show(f"$ loamstat {line}\n{run.stdout}{run.stderr}")
        assert run.returncode == 0, f"{line}: status {run.returncode}\n{run.stdout}{run.stderr}"
        self.told += run.stdout
        return run.stdout


def habit(folder, tries, show=print):
    """Go through it all in a folder; tries: of the search, 0 to leave out tuning. Return the Habit."""
    link_help.blank(folder)
    go = Habit(folder, show)
    with link_help.board(folder) as board:
        go.type_in(board.port, "boards")
        go.type_in(board.port, "flash --settings first.json --roles roles.json")
    show(f"({DAYS} days go by: {inner('week.py', Path(folder) / 'flash.img', DAYS, 'keep', heap='4M').strip()} rows)\n")
    with link_help.board(folder) as board:
        link_help.settled(board.port)
        go.type_in(board.port, "pull --out log.csv")
        go.type_in(board.port, "inspect log.csv --site site.toml")
        if tries:
            go.type_in(board.port, f"tune log.csv --site site.toml --now first.json --tries {tries} --out tuned")
        else:
            (Path(folder) / "tuned").mkdir()
            (Path(folder) / "tuned" / "settings.json").write_text('{"discharge_below_c": 5.5}', encoding="utf-8")
        go.type_in(board.port, "flash --settings tuned/settings.json")
        go.type_in(board.port, "settings --compare tuned/settings.json")
        go.type_in(board.port, "watch --count 3 --every 0.2")
    return go


def main():
    """Show it."""
    words = argparse.ArgumentParser(prog="python -m tests.rig.habit", description=__doc__.split("\n")[0])
    words.add_argument("--tries", type=int, default=200)
    words.add_argument("--no-tune", action="store_true")
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        habit(folder, 0 if given.no_tune else given.tries)
    return 0


if __name__ == "__main__":
    sys.exit(main())
