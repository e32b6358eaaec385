"""Bring what commands print up to date in the pages: the ```console blocks of README.md and all other pages.

    python -m tests.tools.write_blocks

Each shown line is replaced by the printed line that is most like it; three dots stay where they are: alone for any
lines, within a line for any words. A block that no longer fits after that is named: write it anew by hand. The blocks
of a page run one after the other in one folder. After "console about" numbers may be a quarter off: what is learned
from a log differs in its last digits from machine to machine. For "console with a board" a simulated board is plugged
in, with a week in its journal. A search is given fewer tries than the page says (QUICK).
"""

import contextlib
import difflib
import gzip
import os
import re
import shlex
import sys
import tempfile
from pathlib import Path
from unittest import mock

from tests.docs_help import EVERY
from tests.tools.draw_states import FOLDER

DEMO = FOLDER.parent / "tuner" / "demo"
KINDS = ("console", "console about", "console with a board")
BLOCK = re.compile(rf"^```({'|'.join(KINDS)})\n(.*?)^```", flags=re.DOTALL | re.MULTILINE)
FILE = re.compile(r"<!-- file (\S+) -->\n```\w*\n(.*?)```", flags=re.DOTALL)
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])|(?<![\w.])-?\d+(?:\.\d+)?(?=\.(?:\s|$))")
DOTS = "..."
QUICK = {"tune": ["--tries", "60"], "demo": ["--tries", "50"]}
OFF, OFF_AT_ALL = 0.25, 0.5  # what "about" allows: share of a number, or so much


def pattern_of(line, about):
    """Return the regular expression that a printed line must match; numbers are groups where they are "about"."""
    parts = []
    for piece in re.split(r"(\.\.\.)", line.rstrip()):
        if piece == DOTS:
            parts.append(".*")
        elif about:
            words = NUMBER.split(piece)
            parts.append(r"(-?\d+(?:\.\d+)?)".join(re.sub(r"(?:\\ )+", " +", re.escape(one)) for one in words))
        else:
            parts.append(re.escape(piece))
    return "".join(parts)


def line_fits(shown, printed, about=False):
    """Return True when one printed line is the shown one, "..." in it standing for any words."""
    found = re.fullmatch(pattern_of(shown, about), printed.rstrip())
    if not found or not about:
        return found is not None
    told = [float(one) for piece in shown.rstrip().split(DOTS) for one in NUMBER.findall(piece)]
    return all(
        abs(float(is_) - was) <= max(OFF * abs(was), OFF_AT_ALL) for was, is_ in zip(told, found.groups(), strict=True)
    )


def fits(shown, printed, about=False):
    """Return True when the printed lines are the shown ones, a line "..." standing for any number of lines."""
    reached = {0}  # how many printed lines may have been used up
    for line in shown:
        if line.strip() == DOTS:
            reached = set(range(min(reached, default=len(printed) + 1), len(printed) + 1))
        else:
            reached = {at + 1 for at in reached if at < len(printed) and line_fits(line, printed[at], about)}
    return len(printed) in reached


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
    if "--tries" not in words:
        words += QUICK.get(words[0], []) if words else []
    result = CliRunner().invoke(commands, words)
    lines = result.stdout.splitlines()
    if isinstance(result.exception, TunerError):
        return lines + f"loamstat: {result.exception}".splitlines()
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return lines or result.output.splitlines()


@contextlib.contextmanager
def one_fit_a_log():
    """Learn each log once, however many commands of a page ask for it."""
    from tuner import fit

    learn, kept = fit.fit, {}

    def once(log, site, *args, progress=None, **options):
        import pandas as pd

        name = (int(pd.util.hash_pandas_object(log.frame["house"]).sum()), repr(site), args, tuple(options.items()))
        if name not in kept:
            kept[name] = learn(log, site, *args, **options)
        return kept[name]

    with mock.patch.object(fit, "fit", once):
        yield


@contextlib.contextmanager
def at_work(folder, text):
    """Work in a folder where everything that a page's commands name is at hand, a board too where it asks for one."""
    from tests import link_help
    from tuner import link_ports

    before = os.getcwd()
    with contextlib.ExitStack() as stack:
        if "```console with a board" in text:
            home = stack.enter_context(tempfile.TemporaryDirectory())
            image = link_help.journal(home, 7)
            there = stack.enter_context(tempfile.TemporaryDirectory())
            virtual = stack.enter_context(link_help.board(there, image=image))
            link_help.settled(virtual.port)
            stack.enter_context(mock.patch.dict(os.environ, {link_ports.INSTEAD: virtual.port}))
        stack.enter_context(one_fit_a_log())
        lay_out(folder, text)
        os.chdir(folder)
        stack.callback(os.chdir, before)
        yield


def played(text, folder):
    """Yield (kind, line typed, [lines shown], [lines printed]) for each command of a page's blocks, in order."""
    with at_work(folder, text):
        for kind, block in BLOCK.findall(text):
            for typed, shown in exchanges(block):
                yield kind, typed, shown, run(typed)


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
        best = difflib.get_close_matches(line, printed, 1, 0.0) if line.strip() and DOTS not in line else []
        out.append(best[0] if best else line)
    return out


def written(text, folder):
    """Return a page's text with its blocks brought up to date; the commands run in folder."""
    made = []
    for kind, typed, shown, printed in played(text, folder):
        about = kind.endswith("about")
        if not fits(shown, printed, about):
            shown = mended(shown, printed)
        if not fits(shown, printed, about):
            raise SystemExit(f"{typed}\nprints something else now; write this block anew:\n" + "\n".join(printed))
        made.append("".join(f"{line.rstrip()}\n" for line in [f"$ {typed}", *shown]))
    made.reverse()

    def again(match):
        return f"```{match[1]}\n" + "".join(made.pop() for _ in exchanges(match[2])) + "```"

    return BLOCK.sub(again, text)


if __name__ == "__main__":
    wanted = [Path(word).resolve() for word in sys.argv[1:]] or EVERY
    for page in wanted:
        text = page.read_text(encoding="utf-8")
        if BLOCK.search(text):
            with tempfile.TemporaryDirectory() as name:
                page.write_text(written(text, Path(name)), encoding="utf-8", newline="\n")
            print(page)
