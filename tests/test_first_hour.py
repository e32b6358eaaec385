"""Does README.md's first command work, typed as it stands, in a copy of this folder without anything else?

Slow: it makes a new environment and installs the libraries. Linux and macOS; the lines for Windows are compared word
for word with these. The second command is these tests: `.ci/run` must run the same.
"""

import os
import re
import shutil
import subprocess
import sys

import pytest

from tests.docs_help import ROOT, read

TYPED = re.findall(r"^    (\S.*(?:venv|demo).*)$", read(ROOT / "README.md").partition("**Safety**")[0], re.MULTILINE)


def test_the_lines_for_windows_say_the_same():
    posix, windows = TYPED[:2], TYPED[2:]
    assert len(posix) == len(windows) == 2
    told = [line.replace("python3", "py").replace(".venv/bin/", r".venv\Scripts" + "\\") for line in posix]
    assert told == windows


def test_the_second_command_is_what_the_checks_run():
    words = TYPED[1].partition("python -m pytest")[2]
    assert words and f"-m pytest{words}\n" in read(ROOT / ".ci" / "run")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the lines for Windows are another two")
def test_a_fresh_copy_is_installed_and_does_the_whole_job(tmp_path):
    for name in ("controller", "tuner", "hardware-notes"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("README.md", "LICENSE", "pyproject.toml"):
        shutil.copyfile(ROOT / name, tmp_path / name)
    plain = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(
        ["bash", "-c", TYPED[0]], cwd=tmp_path, env=plain, capture_output=True, text=True, check=False, timeout=900
    )
    assert done.returncode == 0, f"{TYPED[0]}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    assert done.stdout.startswith("The house, its weather and its log are invented")
    made = {path.name for path in (tmp_path / "loamstat-demo").iterdir()}
    assert {"timeline.png", "report.html", "settings.json"} <= made
