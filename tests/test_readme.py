"""Does README.md show what the program prints, and name only files that exist?"""

import re

from tests.tools import write_readme

TEXT = write_readme.README.read_text(encoding="utf-8")


def test_output_and_settings_are_up_to_date():
    assert write_readme.filled(TEXT) == TEXT, "run: python -m tests.tools.write_readme"


def test_every_link_leads_somewhere():
    links = re.findall(r"\]\(([^)#]+)\)", TEXT)
    assert len(links) >= 4
    for link in links:
        assert (write_readme.README.parent / link).is_file(), link


def test_the_refusal_it_shows_is_the_real_one(tmp_path, monkeypatch):
    from tuner import settings_file
    from tuner.errors import SettingsError

    monkeypatch.chdir(tmp_path)
    (tmp_path / "mild.json").write_text('{"discharge_below_c": 50, "charge_abov_c": 20}', encoding="utf-8")
    try:
        settings_file.load_settings("mild.json")
        told = ""
    except SettingsError as fault:
        told = str(fault)
    shown = "\n".join(f"    {line}" for line in f"loamstat: {told}".splitlines())
    assert told and shown in TEXT


def test_the_first_line_of_inspect_is_the_real_one(tmp_path, monkeypatch, capsys):
    from tuner import demo_files
    from tuner.__main__ import commands
    from tuner.files import make_folder

    monkeypatch.chdir(tmp_path)
    demo_files.copy_into(make_folder("loamstat-demo"))
    capsys.readouterr()
    commands.main(["inspect", "loamstat-demo/log.csv", "--site", "loamstat-demo/site.toml"], standalone_mode=False)
    lines = capsys.readouterr().out.splitlines()
    assert f"    {lines[0]}\n" in TEXT
    assert "Faults: none found." in lines
