"""What the tests of the pages share: the pages, their links, their command blocks, and a board to ask."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
NOTES = ROOT / "hardware-notes"
PAGES = sorted(NOTES.glob("*.md"))
EVERY = [
    *sorted(ROOT.glob("*.md")),
    *PAGES,
    *sorted(ROOT.glob("tuner/**/*.md")),
    *sorted(ROOT.glob("controller/**/*.md")),
    *sorted(ROOT.glob("tests/**/*.md")),
]
MICROPYTHON = shutil.which("micropython") or shutil.which("micropython", path=str(Path(sys.executable).parent))


def read(path):
    """Return the text of a file."""
    return path.read_text(encoding="utf-8")


def flat(path):
    """Return a file's text with every run of blanks and line ends as one space."""
    return " ".join(read(path).split())


def name_of(path):
    """Return a file's name for a test's title."""
    return str(path.relative_to(ROOT))


def without_code(text):
    """Return a page's text without fenced blocks and code in backticks."""
    return re.sub(r"`[^`]*`", "", re.sub(r"```.*?```", "", text, flags=re.DOTALL))


def anchor(heading):
    """Return the anchor that a heading gets on the usual forges: lower case, no marks, dashes for spaces."""
    words = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading.strip().lower())
    return re.sub(r"[^\w\- ]", "", words).replace(" ", "-")


def anchors(text):
    """Return the anchors of a page."""
    lines = re.sub(r"```.*?```", "", text, flags=re.DOTALL).splitlines()
    return {anchor(line.lstrip("#")) for line in lines if re.match(r"#{1,6} ", line)}


def links(text):
    """Return the targets of all links and pictures of a page."""
    return re.findall(r"\]\(([^)\s]+)\)", without_code(text))


def blocks(text, kind):
    """Return the bodies of the fenced blocks whose first line names kind ("console board")."""
    return re.findall(rf"^```{re.escape(kind)}\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE)


def play(tmp_path, **plan):
    """Return ([(second, line, answer lines)], {pin: [(second, level)]}) of a plan, played by tests/rig/inner/ask.py."""
    if MICROPYTHON is None:
        pytest.skip("no micropython command here: the board's console is not asked")
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    run = subprocess.run(
        [MICROPYTHON, "-X", "heapsize=8M", str(ROOT / "tests/rig/inner/ask.py"), str(ROOT), str(path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    *answers, (_, pins) = json.loads(run.stdout.splitlines()[-1])
    return answers, {int(pin): levels for pin, levels in pins.items()}
