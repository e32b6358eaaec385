"""Is what `loamstat tune` picks safe, honest and explained, and does it refuse what it cannot do?"""

import json
import re
import signal
import sys

import numpy as np
import pytest

from controller.core import rows
from controller.core import settings as core
from tests.tune_help import fitted, folder, tuned
from tuner import __main__ as entry
from tuner import explain, judge, settings_file, space, tune_report, tune_words, tuning, weathers
from tuner.errors import FitError, OutputError, SettingsError


def run(monkeypatch, capsys, *words):
    monkeypatch.setattr(sys, "argv", ["loamstat", "tune", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


def ask(*more, site=None):
    return [folder() / "log.csv", "--site", site or folder() / "site.toml", "--tries", 60, *more]


def test_the_pick_passes_the_boards_checks_and_is_within_the_allowance():
    t = tuned()
    for settings in t.settings.values():
        assert core.from_mapping(core.to_mapping(settings)) == (settings, [])
        assert settings_file.starts_faults(settings, t.space.most_starts) == []
    if t.settings["pick"] != t.settings["current"]:
        idle = float(judge.objectives(t.idle, t.prices)[3])
        best = np.array([[0, 0, 0, *t.best_harm]])
        over = np.maximum(0, t.values["pick"][3:] - judge.allowed(best, idle, t.values["current"][3]))
        assert over.sum() <= tuning.MATTERS_K_H  # the last steps, two either way in each row, may find a little less
    safest = t.values["safest"][:2].sum()
    assert all(safest <= value[:2].sum() + 0.01 for value in t.values.values())
    assert t.values["thriftiest"][2] <= t.values["current"][2]


def test_the_same_seed_gives_the_same_settings_whatever_the_threads():
    again = tuning.tune(fitted(), tries=80, workers=1)
    assert again.settings == tuned().settings and again.tried == tuned().tried
    assert (again.known == tuned().known).all() and again.front == tuned().front


def gain_of(money, harm, weathers=1):
    """A Gain over two nights from three houses that agree, the same in each weather."""
    now = np.zeros((3, weathers, 2, 7))
    new = np.zeros((3, weathers, 2, 7))
    now[..., 3] = 5.0
    new[..., 3] = 5.0 - money / 2
    now[..., 0] = 4.0
    new[..., 0] = 4.0 - harm / 2
    return judge.gain(now, new, judge.Prices(0.0, 0.0, 100.0, np.ones(weathers)))


def test_a_gain_is_counted_by_hand_and_noise_is_no_gain():
    """1 money and 2 K h over two nights; the spread holds a tenth of each, times 1.645."""
    gain = gain_of(1.0, 2.0)
    assert (gain.money, gain.harm) == pytest.approx((1.0, 2.0))
    assert (gain.money_spread, gain.harm_spread) == pytest.approx((0.1645, 0.329))
    assert gain.real and not gain_of(0.0, 0.0).real and not gain_of(1.0, -2.0).real
    gain_in_a_hard_weather_only = gain_of(1.0, 2.0, weathers=2)
    assert gain_in_a_hard_weather_only.money == pytest.approx(1.0)  # the first weather's, the log's own
    assert gain_in_a_hard_weather_only.harm == pytest.approx(4.0)  # of both
    noisy = judge.Gain(money=0.5, money_spread=0.6, harm=0.4, harm_spread=0.5)
    assert not noisy.real


def test_money_by_hand():
    """Two nights: 1 of fan money each, 3 starts at 0.1, 2 K h cold at 500 W/K and 0.2 per kWh: 2 + 0.6 + 0.4."""
    sums = np.zeros((1, 1, 2, 7))
    sums[..., 3], sums[..., 4], sums[0, 0, :, 0] = 1.0, 3.0, 2.0
    cold, hot, money = judge.harm_and_money(sums, judge.Prices(0.1, 0.2, 500.0, np.ones(1)))
    assert (cold[0], hot[0], money[0]) == pytest.approx((4.0, 0.0, 3.0))


def test_the_choice_is_the_cheapest_within_the_allowance_in_every_weather():
    values = np.array([[1, 0, 9.0, 0.5, 0.5], [1.3, 0, 4.0, 0.7, 0.6], [1.2, 0, 1.0, 0.2, 1.0], [9, 0, 0.0, 4.5, 4.5]])
    assert judge.choose(values) == 0  # 1 is 0.5 above the least in the first weather, 2 is so in the second
    values[2] = [9, 0, 1.0, 4.5, 4.5]
    assert judge.choose(values) == 1
    assert judge.thriftiest(values, 1) == 1 and judge.safest(values) == 0


def test_the_allowance_by_hand():
    """Least harm 1 and 40: 0.25 and 2 % of 40 more; of 90, no more than 1. The fan prevents 20 of the log's own: 1
    more there, but no more than the current settings' 1.6."""
    values = np.array([[0, 0, 1.0, 1.0, 50.0], [0, 0, 1.0, 3.0, 40.0]])
    assert judge.allowed(values) == pytest.approx([1.25, 40.8])
    assert judge.allowed(values + [0, 0, 0, 0, 50.0]) == pytest.approx([1.25, 91.0])
    assert judge.allowed(values, idle=21.0, now=9.0) == pytest.approx([2.0, 40.8])
    assert judge.allowed(values, idle=21.0, now=1.6) == pytest.approx([1.6, 40.8])
    assert judge.allowed(values, idle=21.0, now=1.0) == pytest.approx([1.25, 40.8])


def test_where_no_gain_holds_the_current_settings_stand(monkeypatch):
    monkeypatch.setattr(tuning, "_holds", lambda folds: False)
    kept = tuning.tune(fitted(), tries=60, workers=2)
    assert kept.settings["pick"] == kept.settings["current"] == rows.defaults()
    if kept.found != kept.settings["current"]:
        assert tune_words.verdict(kept)[0].startswith("No gain: ")


def test_rows_that_hardly_matter_stay_and_are_named():
    t = tuned()
    quiet = [one for one in t.rows if not one["matters"] and one["pick"] == one["now"]]
    sentence = tune_words.insensitive(t, "C")
    assert all(one["key"] in sentence for one in quiet)
    for one in quiet:
        assert all(abs(m["harm_k_h"]) <= tuning.MATTERS_K_H for m in one["moved"])


def test_every_changed_row_is_explained_with_night_and_hour():
    t = tuned()
    facts = explain.changes(t)
    fields = {key: rows.field_of(key) for key in t.space.keys}
    changed = {k for k, f in fields.items() if getattr(t.found, f) != getattr(rows.defaults(), f)}
    assert {one["key"] for one in facts} == changed and changed
    for one in facts:
        why = tune_words.change(one, "EUR", "C")[3]
        if one["alone"] and (one["harm_k_h"] > 0.05 or one["money"] > 0.005):
            assert re.search(r"in the night to \d{4}-\d\d-\d\d towards \d\d h \(", why), why


def test_what_the_fan_cannot_do_is_told_in_kwh_and_time():
    facts = explain.beyond_the_fan(tuned(), tuned().settings["pick"])
    assert [one["weather"] for one in facts] == [w.name for w in tuned().trials.weathers]
    hard = facts[-1]
    assert hard["backup_low"] <= hard["backup_kwh"] <= hard["backup_high"] and hard["backup_kwh"] > 1.0
    said = tune_words.beyond(hard, "2", "C", 0.16, "EUR")
    assert "kWh of backup heat" in said and "though the fan ran" in said
    assert re.search(r"falls below 2 C at \d\d:\d\d", said)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    path = tmp_path_factory.mktemp("out")
    return path, tune_report.write(tuned(), path)


def test_the_folder_holds_settings_report_figures_and_numbers(written):
    path, told = written
    assert {one.name for one in path.iterdir()} == {
        "settings.json", "report.html", "result.json", "tradeoff.svg", "coldest_night.svg", "timeline.svg",
        "cost_map.svg",
    }  # fmt: skip
    assert settings_file.load_settings(path / "settings.json") == tuned().settings["pick"]
    assert json.loads((path / "result.json").read_text(encoding="utf-8")) == json.loads(json.dumps(told))


def test_the_report_needs_nothing_else_and_shows_no_gaps(written):
    text = (written[0] / "report.html").read_text(encoding="utf-8")
    assert not re.search(r'(src|href)="(?!data:)', text) and "<script" not in text and "@import" not in text
    words = re.sub(r"data:[^\"]*", "", text).replace("None of those", "")
    assert "{{" not in words and "None" not in words and not re.search(r"\bnan\b", words.lower())
    assert text.count("<figure>") == 4 and 'name="viewport"' in text and "@media print" in text
    assert len(text) < 1_500_000


def test_a_grower_who_reads_fahrenheit_gets_it_everywhere():
    import dataclasses

    t = tuned()
    site = t.trials.fit.grid.site
    grid = dataclasses.replace(
        t.trials.fit.grid, site=dataclasses.replace(site, site=dataclasses.replace(site.site, units="F"))
    )
    fit = dataclasses.replace(t.trials.fit, grid=grid)
    there = dataclasses.replace(t, trials=dataclasses.replace(t.trials, fit=fit))
    told = tune_report.tree(there)
    text = "\n".join([*tune_report.text(told, there), tune_report.page(told, there, {})])
    assert "plants' floor 35.6 F, limit 93.2 F" in text and "harm F h" in text
    assert not re.search(r"\d (C|K|K h)\b", text.partition("settings.json</h2>")[0])
    harm = told["outcomes"]["pick"]["weathers"]["as logged"]["cold_k_h"]
    assert f"{harm * 9 / 5:.1f}" in text  # a difference: scaled, nothing added


def test_what_a_site_is_called_cannot_become_markup(monkeypatch):
    import dataclasses

    t = tuned()
    site = t.trials.fit.grid.site
    evil = dataclasses.replace(site, site=dataclasses.replace(site.site, name="<script>alert(1)</script> & co"))
    grid = dataclasses.replace(t.trials.fit.grid, site=evil)
    fit = dataclasses.replace(t.trials.fit, grid=grid)
    spoiled = dataclasses.replace(t, trials=dataclasses.replace(t.trials, fit=fit))
    text = tune_report.page(tune_report.tree(t), spoiled, {})
    assert "<script>" not in text and "&lt;script&gt;alert(1)&lt;/script&gt; &amp; co" in text


def test_the_command_writes_and_tells(tmp_path, monkeypatch, capsys):
    words = ask("--now", folder() / "now.json", "--out", tmp_path / "o", "--json", tmp_path / "n.json", "--workers", 2)
    status, out, err = run(monkeypatch, capsys, *words)
    assert (status, err) == (0, "")
    told = json.loads((tmp_path / "n.json").read_text(encoding="utf-8"))
    assert told == json.loads((tmp_path / "o" / "result.json").read_text(encoding="utf-8"))
    assert told["verdict"] == out.splitlines()[0]
    assert "What the fan alone cannot do:" in out and "How sure:" in out
    assert f"Settings to flash: {tmp_path / 'o' / 'settings.json'}" in out


def test_needs_that_no_settings_meet_are_told_with_what_is_missing(tmp_path, monkeypatch, capsys):
    site = tmp_path / "site.toml"
    text = (folder() / "site.toml").read_text(encoding="utf-8")
    site.write_text(text.replace("frost_floor_c = 2.0", "frost_floor_c = 12.0"), encoding="utf-8")
    status, out, err = run(monkeypatch, capsys, *ask("--out", tmp_path / "o", site=site))
    assert (status, err) == (0, "")
    line = next(one for one in out.splitlines() if "No settings that were tried keep the floor of 12 C" in one)
    assert float(re.search(r"([\d.]+) kWh of backup heat are missing", line)[1]) > 5


BAD = [
    (["--limit", "discharge_below_c=8:3"], "the lower bound is above the upper"),
    (["--limit", "discharge_belo_c=3:8"], 'Did you mean "discharge_below_c"?'),
    (["--limit", "discharge_below_c=3"], "Write KEY=LOWEST:HIGHEST"),
    (["--limit", "discharge_below_c=-9:8"], "the board allows -2 to 20 degrees C"),
    (["--limit", "charge_above_c=10:12", "--limit", "discharge_below_c=12:20"], "leave no settings"),
]


@pytest.mark.parametrize(("words", "said"), BAD, ids=[" ".join(words) for words, _ in BAD])
def test_limits_that_cannot_be_are_refused(tmp_path, monkeypatch, capsys, words, said):
    monkeypatch.setattr("tuner.fit.fit", lambda *a, **k: fitted())
    status, out, err = run(monkeypatch, capsys, *ask("--out", tmp_path / "o", *words))
    assert (status, out) == (1, "") and said in err and "Traceback" not in err
    assert not list((tmp_path / "o").iterdir()) if (tmp_path / "o").exists() else True


def test_an_output_folder_that_is_a_file_is_refused_before_any_work(tmp_path, monkeypatch, capsys):
    (tmp_path / "o").touch()
    status, out, err = run(monkeypatch, capsys, *ask("--out", tmp_path / "o"))
    assert (status, out) == (1, "")
    assert err == f"loamstat: {tmp_path / 'o'}: this is a file.\nName a folder to write into.\n"


def test_settings_json_is_not_written_over_when_it_is_read(tmp_path, monkeypatch, capsys):
    now = tmp_path / "settings.json"
    now.write_bytes((folder() / "now.json").read_bytes())
    status, _, err = run(monkeypatch, capsys, *ask("--out", tmp_path, "--now", now))
    assert status == 1 and "would be written over, and it is read here" in err


def test_a_full_disk_leaves_the_folder_as_it_was(tmp_path, monkeypatch):
    from tuner import files

    (tmp_path / "settings.json").write_text("old", encoding="utf-8")
    whole = files.write_whole

    def full(path, data):
        if "result" in str(path):
            raise OutputError(f"{path}: cannot be written (No space left on device).")
        whole(path, data)

    monkeypatch.setattr(tune_report, "write_whole", full)
    with pytest.raises(OutputError, match="No space left"):
        tune_report.write(tuned(), tmp_path)
    assert [one.name for one in tmp_path.iterdir()] == ["settings.json"]
    assert (tmp_path / "settings.json").read_text(encoding="utf-8") == "old"


def test_a_log_that_cannot_carry_a_fit_is_refused(tmp_path, monkeypatch, capsys):
    lines = (folder() / "log.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    short = tmp_path / "short.csv"
    short.write_text("".join(lines[:600]), encoding="utf-8")
    words = [short, "--site", folder() / "site.toml", "--out", tmp_path / "o"]
    status, out, err = run(monkeypatch, capsys, *words)
    assert (status, out) == (1, "") and "too short to learn a house from" in err
    assert list((tmp_path / "o").iterdir()) == []


def test_a_house_whose_fan_is_not_known_gets_no_settings():
    import dataclasses

    with pytest.raises(FitError, match="no settings can be picked"):
        tuning.tune(dataclasses.replace(fitted(), fan_known=False, notes=["The fan never ran in this log."]))


def test_ctrl_c_keeps_the_best_so_far(monkeypatch):
    calls = []
    whole = tuning.trials.run

    def stopped(*words):
        calls.append(1)
        if len(calls) == 3:
            signal.raise_signal(signal.SIGINT)  # the very signal of Ctrl-C
        return whole(*words)

    monkeypatch.setattr(tuning.trials, "run", stopped)
    t = tuning.tune(fitted(), tries=2000, workers=1)
    assert t.stopped and t.tried < 500
    assert any("stopped before its end" in one for one in tune_words.how_sure(t))


def test_the_soil_floor_stays_below_the_coldest_store():
    """Above it only the frost guard would discharge. What is asked for, and what is on the board now, still stands."""
    site, key = fitted().grid.site, "soil_floor_c"

    def highest(base=None, limits=(), coldest=11.6):
        made = space.space(site, base or rows.defaults(), limits, coldest)
        return int(made.grids[made.keys.index(key)][-1])

    assert highest() == 1100 and highest(coldest=None) == 2000
    assert highest(rows.defaults()._replace(soil_floor_centi_c=1500)) == 1500
    assert highest(limits=[(key, 4, 19)]) == 1900
    assert highest(coldest=-0.2) == rows.defaults().soil_floor_centi_c


def test_every_point_of_the_space_is_accepted_by_the_board_or_left_out():
    made = space.space(fitted().grid.site, rows.defaults())
    rng = np.random.default_rng(4)
    some = [made.settings(p) for p in rng.integers(made.lows, made.highs + 1, (300, len(made.keys)))]
    kept = [one for one in some if one is not None]
    assert len(kept) > 100
    for one in kept:
        assert core.from_mapping(core.to_mapping(one))[1] == []
    assert made.settings(made.point(rows.defaults())) == rows.defaults()


def test_fan_speeds_are_searched_only_where_the_fan_has_them():
    import dataclasses

    site = fitted().grid.site
    assert "charge_fan_pct" not in space.space(site, rows.defaults()).keys
    fast = dataclasses.replace(site, fan=dataclasses.replace(site.fan, speed_control=True))
    assert "charge_fan_pct" in space.space(fast, rows.defaults()).keys
    with pytest.raises(SettingsError, match="not tuned"):
        space.space(site, rows.defaults(), [("charge_fan_pct", 20, 100)])


def test_weathers_are_left_out_on_demand_and_tell_their_limits():
    assert [w.name for w in weathers.weathers(fitted(), 0, 0)] == ["as logged"]
    assert [w.name for w in weathers.weathers(fitted(), 5, 0)] == ["as logged", "colder"]
    assert all(w.made and w.not_told for w in weathers.weathers(fitted()))
