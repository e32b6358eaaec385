# ruff: noqa: E501  (lines stand as the mutants have them)
"""Mutants of the core that no test can kill, each with the reason why it changes nothing.

FUNCTIONS: "module.function" -> {the line as the mutant has it: why}. VALUES: "file: old -> new" -> why.
"""

TRUTH = "a local value that is only ever asked whether it is 0"
SPLIT = "the words are joined by single spaces, so that both ways of splitting give the same"
TRIAL = "a trial runs only for a difference of least_gain, or least_gain less gain_band: 0.5 K at the least"

FUNCTIONS = {
    "alarms.no_flow": {
        "return 1 if abs(apart) >= NO_FLOW_APART and (gone if apart >= 0 else -gone) * NO_FLOW_SHARE < abs(apart) else 0":
            "apart is 5 K or more, one way or the other",
        "return 1 if abs(apart) >= NO_FLOW_APART and (gone if apart > 1 else -gone) * NO_FLOW_SHARE < abs(apart) else 0":
            "apart is 5 K or more, one way or the other",
    },
    "alarms.step": {"seen = 2 if up_s >= s.lost_after_s else 0": TRUTH},
    "limits.store_limit": {"band = 1 if kept else s.soil_band_centi_c": "in ints room < 1 is room <= 0, which holds too"},
    "limits.timed_run_due": {"first = 2 if not t.blind_ran or bitter(s, r) else 0": TRUTH},
    "record.time_text": {
        "clock = (second / 3600, second // 60 % 60, second % 60)": "%02d cuts what stands behind the point",
        "clock = (second // 3600, second / 60 % 60, second % 60)": "%02d cuts what stands behind the point",
    },
    "rows.text_of": {
        'text += ("." + ("0" if part < 10 else "") + str(part)).rstrip("XX0XX")': "no X is in a number: 0 alone is cut off",
    },
    "rows.bounds_text": {
        'name = {"C": " degrees C", "s": " seconds", "p": " percent", "0": "XXXX"}[unit[0]]':
            "a switch's bounds are told without a unit",
    },
    "screen.step": {"changed = 2 if house.value != state.house.value else 0": TRUTH},
    "settings.from_mapping": {
        "numbers.append(row[1] if (wrong) and False else number)":
            "0 stands for a row at fault, whose checks are left out; switches have 0 for their default",
    },
    "settings.between_rows": {
        "damp, flush = s.humid_charge_pct > 1, s.flush_above_centi_c != 0": "1 is out of the row's bounds: 0 or 50 to 100",
        "damp, flush = s.humid_charge_pct > 0, s.flush_above_centi_c != 1": "1 is out of the row's bounds: 0 or 15 to 38 degC",
    },
    "settings._names_any": {"return any(key in words.split(None) for key in keys)": SPLIT},
    "settings._values": {"named = [word for word in words.split(None) if word in values]": SPLIT},
    "stages.heater_step": {"fan_helps = 0 if store_spent(r) or r.hand == HAND_OFF else 2": TRUTH},
    "thin.thick": {
        "if len(data) < HEAD_BYTES + ROW_BYTES - CRC_BYTES or data[2] == 0 or data[0] not in (THICK, THIN):":
            "data a few bytes too short has no two bytes of CRC left at the end either",
        "if place + 3 > len(data):": "where two bytes of mask are the last, the CRC is missing: nothing is returned too",
        "if place + 2 >= len(data):": "where two bytes of mask are the last, the CRC is missing: nothing is returned too",
    },
    "units.div_round": {
        "return -size if top <= 0 else size": "size is 0 where top is 0",
        "return -size if top < 1 else size": "size is 0 where top is 0",
    },
    "units.vapour_deci_pa": {
        "place = clamp(temperature_centi_c - TABLE_FROM_C * 100, 1, last * 100)":
            "the first hundredth of a degree adds 13 // 100 = 0",
    },
    "units.dew_point_centi_c": {
        "middle = (low + high) // 3": "another way to halve: it ends at the same entry",
        "if VAPOUR_DECI_PA[middle] < pressure:": "on an entry itself: 0 parts above it or 100 above the one below",
        "part = clamp((pressure - VAPOUR_DECI_PA[low]) * 100 // step, 0, 101)":
            "pressure is never above the entry at high: 100 at the most",
    },
    "wants.charge_rule": {
        "return BY_TRIAL if trial_runs(t) and warmer >= 0 else NO_RULE": TRIAL,
        "return BY_TRIAL if trial_runs(t) and warmer > 1 else NO_RULE": TRIAL,
    },
    "wants.discharge_rule": {
        "return BY_TRIAL if trial_runs(t) and warmer >= 0 else NO_RULE": TRIAL,
        "return BY_TRIAL if trial_runs(t) and warmer > 1 else NO_RULE": TRIAL,
    },
}  # fmt: skip

VALUES = {}
