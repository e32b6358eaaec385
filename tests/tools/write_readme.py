"""Keep README.md true: the demo's output and the table of settings are put between its marks.

    python -m tests.tools.write_readme

A test fails while README.md differs from what the program prints.
"""

import contextlib
import io
import os
import re
import sys
import tempfile
from pathlib import Path

from controller.core.rows import TABLE, bounds_text, text_of

README = Path(__file__).resolve().parents[2] / "README.md"


def demo_output():
    """Return what `loamstat demo` prints, as an indented block; what rests on the learned house is left out.

    The last digits of a fit depend on the machine; logs, open sums and headings do not.
    """
    from tuner.__main__ import commands

    before, out = os.getcwd(), io.StringIO()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        try:
            with contextlib.redirect_stdout(out):
                commands.main(["demo", "--tries", "50"], standalone_mode=False)
        finally:
            os.chdir(before)
    kept = ["$ loamstat demo"]
    fitted = False
    for line in out.getvalue().replace("\\", "/").splitlines():
        if line.startswith("== "):
            fitted = line.startswith(("== The house", "== Two other", "== The settings"))
            kept += ["", line] + (["..."] if fitted else [])
        elif not fitted or line.startswith(("Check:", "Numbers:", "Timeline:", "Report:", "Settings to flash:")):
            kept.append(line)
    return "\n".join(f"    {line}".rstrip() for line in re.sub("\n\n+", "\n\n", "\n".join(kept)).splitlines())


def cost_output():
    """Return the end of what `loamstat cost` prints about the demo's log, as an indented block."""
    from tuner.__main__ import commands

    demo = Path(__file__).resolve().parents[2] / "tuner" / "demo"
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        commands.main(["cost", str(demo / "log.csv.gz"), "--site", str(demo / "site.toml")], standalone_mode=False)
    lines = out.getvalue().rstrip().splitlines()
    kept = lines[next(at for at, line in enumerate(lines) if line.startswith("in all")) :]
    shown = ["$ loamstat cost loamstat-demo/log.csv --site loamstat-demo/site.toml", "...", *kept]
    return "\n".join(f"    {line}".rstrip() for line in shown)


def settings_table():
    """Return the table of settings as Markdown, from the core's own rows."""
    lines = ["| name | default | range | what it does |", "|---|---|---|---|"]
    for row in TABLE:
        name, default, _, _, unit, meaning = row
        lines.append(f"| `{name}` | {text_of(default, unit)} | {bounds_text(row)} | {meaning} |")
    return "\n".join([*lines, "", "`*` common practice in the trade, no source; the other defaults are our choice."])


def filled(text):
    """Return the README's text with what stands between the marks made anew."""
    parts = (("demo output", demo_output), ("cost output", cost_output), ("settings table", settings_table))
    for name, made in parts:
        begin, end = f"<!-- {name} -->\n", f"\n<!-- end of {name} -->"
        head, _, rest = text.partition(begin)
        _, found, tail = rest.partition(end)
        if not found:
            raise SystemExit(f"README.md: the marks of the {name} are gone")
        text = head + begin + "\n" + made() + "\n" + end + tail
    return text


if __name__ == "__main__":
    README.write_text(filled(README.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
    print(README, file=sys.stderr)
