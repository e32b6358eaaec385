"""Does each command with --units F tell the same as without, converted, and write the same files?

Every word of the two outputs is laid side by side. A number may differ only as a temperature (1.8 C + 32), as a
difference (1.8 K) or as what counts per degree (a 1.8th), within the last decimal that is shown.
"""

import re
import shutil
from dataclasses import replace

import pytest

from tests.test_demo import run
from tests.tune_help import folder

NUMBER = re.compile(r"[-+±]?\d+(?:\.(\d+))?$")
UNIT_WORDS = {("C", "F"), ("K", "F")}
COMMANDS = {
    "inspect": ["inspect", "log.csv", "--site", "site.toml", "--json", "out.json"],
    "fit": ["fit", "log.csv", "--site", "site.toml", "--json", "out.json"],
    "replay": ["replay", "log.csv", "--site", "site.toml", "--settings", "now.json", "--settings", "mild.json",
               "--json", "out.json", "--trace", "out.csv"],
    "replay, open loop": ["replay", "log.csv", "--site", "site.toml", "--settings", "mild.json", "--open-loop",
                          "--json", "out.json", "--trace", "out.csv"],
    "cost": ["cost", "log.csv", "--site", "site.toml", "--json", "out.json"],
    "tune": ["tune", "log.csv", "--site", "site.toml", "--now", "now.json", "--tries", "60", "--out", "out",
             "--json", "out.json"],
}  # fmt: skip
# Which conversions each command must have shown; "per" is W or kWh per degree.
EXPECTED = {
    "inspect": {"temperature"},
    "fit": {"temperature", "difference", "per"},
    "replay": {"temperature", "difference"},
    "replay, open loop": {"temperature"},
    "cost": {"difference"},
    "tune": {"temperature", "difference"},
}


def core(word):
    """Return a word without the marks around it."""
    return word.strip(".,;:()[]")


def kind_of(celsius, fahrenheit):
    """Return how one number became the other: "temperature", "difference", "per"; None for no way."""
    found = [NUMBER.match(word.replace("±", "")) for word in (celsius, fahrenheit)]
    if not all(found):
        return None
    c, f = (float(one[0]) for one in found)
    last = [0.5 * 10 ** -len(one[1] or "") for one in found]
    ways = {"temperature": (1.8 * c + 32, 1.8), "difference": (1.8 * c, 1.8), "per": (c / 1.8, 1 / 1.8)}
    for name, (value, slope) in ways.items():
        if abs(f - value) <= slope * last[0] + last[1] + 1e-9:
            return name
    return None


def compared(celsius, fahrenheit):
    """Return the kinds of conversions between two outputs; fails where a word differs in any other way."""
    found = set()
    lines = [text.splitlines() for text in (celsius, fahrenheit)]
    assert len(lines[0]) == len(lines[1])
    for one, other in zip(*lines, strict=True):
        other = other.replace("degree hours (F)", "degree hours") if "degree hours (" not in one else other
        words = one.split(), other.split()
        assert len(words[0]) == len(words[1]), f"{one}\n{other}"
        for left, right in zip(*words, strict=True):
            if left == right or set(left) == {"-"}:
                continue
            if (core(left), core(right)) in UNIT_WORDS:
                continue
            kind = kind_of(core(left), core(right))
            assert kind, f"{left} became {right}:\n{one}\n{other}"
            found.add(kind)
    return found


def files_of(place):
    """Return {name: bytes} of what a command wrote for machines."""
    names = ("out.json", "out.csv", "out/result.json", "out/settings.json")
    return {name: (place / name).read_bytes() for name in names if (place / name).exists()}


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A working folder with five cold days of the invented log, its site.toml and two settings files."""
    for name in ("log.csv", "site.toml", "now.json"):
        shutil.copy(folder() / name, tmp_path / name)
    (tmp_path / "mild.json").write_text('{"discharge_below_c": 4.5}', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def wrapped(text):
    """Return a text with every paragraph on one line: lines are broken elsewhere when numbers grow."""
    return re.sub(r"(?<=[^\n.|])\n(?=[a-z(] ?)", " ", text)


@pytest.fixture
def one_fit(monkeypatch):
    """Learn a house once, not again for the other units: a fit takes no notice of them."""
    from tuner import fit

    learn, kept = fit.fit, []

    def once(log, site, *args, **options):
        if not kept:
            kept.append(learn(log, site, *args, **options))
        return replace(kept[0], grid=replace(kept[0].grid, site=site))

    monkeypatch.setattr(fit, "fit", once)


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.usefixtures("one_fit")
def test_degrees_f_are_degrees_c_converted(name, place):
    status, celsius, err = run(*COMMANDS[name])
    assert status == 0, err
    written = files_of(place)
    status, fahrenheit, err = run(*COMMANDS[name], "--units", "F")
    assert status == 0, err
    assert compared(wrapped(celsius), wrapped(fahrenheit)) >= EXPECTED[name]
    assert not re.search(r"\d (C|K|degC)\b|\b(C|K)\b per|[a-z] C\b", fahrenheit), fahrenheit
    assert not re.search(r"(?<![\d.])[-+]0(\.0+)?(?![\d.])", celsius + fahrenheit)
    if name == "inspect":  # its tree names the units that its text is in
        again = {key: data.replace(b'"units": "F"', b'"units": "C"') for key, data in files_of(place).items()}
        assert again == written
    else:
        assert files_of(place) == written and written


def test_site_toml_asks_for_degrees_f_and_the_option_wins(place):
    text = (place / "site.toml").read_text(encoding="utf-8")
    _, celsius, _ = run(*COMMANDS["replay, open loop"])
    _, fahrenheit, _ = run(*COMMANDS["replay, open loop"], "--units", "f")
    (place / "site.toml").write_text(text.replace('units = "C"', 'units = "F"'), encoding="utf-8")
    assert run(*COMMANDS["replay, open loop"])[1] == fahrenheit
    assert run(*COMMANDS["replay, open loop"], "--units", "C")[1] == celsius != fahrenheit


def test_units_that_are_none_are_refused(place):
    status, _, err = run(*COMMANDS["cost"], "--units", "R")
    assert status == 2 and "'R' is not one of" in err


def test_limits_and_snap_may_be_written_in_degrees_f():
    from tuner.commands.tune import limits_of

    assert limits_of(["discharge_below_c=37.4F:46.4F", "charge_band_c=0.9F:3.6F", "min_run_s=120:600"]) == [
        ("discharge_below_c", 3.0, 8.0), ("charge_band_c", 0.5, 2.0), ("min_run_s", 120, 600),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--limit", "discharge_below_c=cold:8"], "--limit discharge_below_c=cold:8: this is no temperature. Write 7"),
        (["--limit", "discharge_below_c=37:46"], "it may be -2 to 20 degrees C (28.4 to 68 F).\nWrite KEY="),
        (["--limit", "charge_band_c=0.1F:0.5F"], "it may be 0.5 to 10 K (0.9 to 18 F)."),
        (["--limit", "min_run_s=2000:3000"], "it may be 60 to 1800."),
        (["--limit", "discharge_below_c"], "Write KEY=LOWEST:HIGHEST, for example discharge_below_c=3:8 or =37F:46F."),
    ],
)
def test_a_limit_that_is_none_is_refused(place, words, told):
    status, _, err = run(*COMMANDS["tune"], *words)
    assert status == 1 and told in err and not (place / "out").exists()


@pytest.mark.parametrize(
    ("text", "told"),
    [("50F", "it must be 0 to 20 K (0 to 36 F)"), ("cold", "this is no difference of temperatures. Write 5 or 5K")],
)
def test_a_snap_that_is_none_is_wrong_usage(place, text, told):
    status, _, err = run(*COMMANDS["tune"], "--colder", text)
    assert status == 2 and told in " ".join(err.split())
