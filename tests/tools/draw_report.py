"""Put two figures of the demonstration's report, and its timeline, into hardware-notes.

    python -m tests.tools.draw_report

They are what `loamstat demo` draws, unchanged. What is learned and searched differs in its last digits from machine to
machine, so no test compares them; run this after a change of the search or of a figure.
"""

import shutil
import tempfile
from pathlib import Path

from tests.tools.draw_states import FOLDER

TAKEN = {
    "tradeoff.svg": "report-tradeoff.svg", "coldest_night.svg": "report-night.svg", "timeline.png": "demo-timeline.png",
}  # fmt: skip

if __name__ == "__main__":
    from tuner.__main__ import commands

    with tempfile.TemporaryDirectory() as name:
        commands.main(["demo", "--out", name], standalone_mode=False)
        for made, kept in TAKEN.items():
            shutil.copyfile(Path(name) / made, FOLDER / kept)
            print(FOLDER / kept)
