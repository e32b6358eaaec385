"""Bring what commands print up to date in the pages: the ```console blocks of hardware-notes/*.md.

    python -m tests.tools.write_blocks

Each shown line is replaced by the printed line that is most like it; three dots stay where they are. A block that no
longer fits after that is named: write it anew by hand.
"""

import difflib
import gzip
import os
import re
import shlex
import tempfile
from pathlib import Path

from tests.tools.draw_states import FOLDER

DEMO = FOLDER.parent / "tuner" / "demo"
BLOCK = re.compile(r"^```console\n(.*?)^```", flags=re.DOTALL | re.MULTILINE)
FILE = re.compile(r"<!-- file (\S+) -->\n```\w*\n(.*?)```", flags=re.DOTALL)
DOTS = "..."


def fits(shown, printed):
    """Return True when the printed lines are the shown ones, "..." standing for any number of lines."""
    pattern = "".join(r"(?:.*\n)*" if line.strip() == DOTS else re.escape(line.rstrip()) + r"\n" for line in shown)
    return re.fullmatch(pattern, "".join(line.rstrip() + "\n" for line in printed)) is not None


def lay_out(folder, page_text):
    """Put into folder what commands may name: the demonstration, the starting settings, the page's own files."""
    for path in [*(FOLDER / "starting-settings").glob("*.json"), *DEMO.glob("*.json"), DEMO / "site.toml"]:
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / "log.csv").write_bytes(gzip.decompress((DEMO / "log.csv.gz").read_bytes()))
    for name, text in FILE.findall(page_text):
        (folder / name).write_text(text, encoding="utf-8")


def run(line):
    """Return the lines that a loamstat command line prints in the current folder, errors as the command line does."""
    from click.testing import CliRunner

    from tuner.__main__ import commands
    from tuner.errors import TunerError

    program, *words = shlex.split(line)
    if program != "loamstat":
        raise ValueError(f"{line}: only the program's own commands are run")
    result = CliRunner().invoke(commands, words)
    lines = result.output.splitlines()
    if isinstance(result.exception, TunerError):
        return lines + f"loamstat: {result.exception}".splitlines()
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return lines


def exchanges(block, mark="$ "):
    """Return [(line typed, [lines printed])] of a block; typed lines begin with mark."""
    found = []
    for line in block.splitlines():
        if line.startswith(mark):
            found.append((line.removeprefix(mark), []))
        elif found:
            found[-1][1].append(line)
    return found


def mended(shown, printed):
    """Return the shown lines with each replaced by the printed line that is most like it."""
    out = []
    for line in shown:
        best = difflib.get_close_matches(line, printed, 1, 0.0) if line.strip() not in ("", DOTS) else []
        out.append(best[0] if best else line)
    return out


def written(text, folder):
    """Return a page's text with its blocks brought up to date; the commands run in folder."""

    def again(match):
        lines = []
        for typed, shown in exchanges(match[1]):
            printed = run(typed)
            if not fits(shown, printed):
                shown = mended(shown, printed)
            if not fits(shown, printed):
                raise SystemExit(f"{typed}\nprints something else now; write this block anew:\n" + "\n".join(printed))
            lines += [f"$ {typed}", *shown]
        return "```console\n" + "".join(line.rstrip() + "\n" for line in lines) + "```"

    before = os.getcwd()
    lay_out(folder, text)
    os.chdir(folder)
    try:
        return BLOCK.sub(again, text)
    finally:
        os.chdir(before)


if __name__ == "__main__":
    for page in sorted(FOLDER.glob("*.md")):
        text = page.read_text(encoding="utf-8")
        if BLOCK.search(text):
            with tempfile.TemporaryDirectory() as name:
                page.write_text(written(text, Path(name)), encoding="utf-8", newline="\n")
            print(page)
