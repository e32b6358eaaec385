"""Play the three starting settings, and no fan at all, in the plant of tests/plant; put the table into choosing.md.

    python -m tests.tools.play_starts

About two minutes, most of it compiling. A slow test fails while the page differs from what the plant does.
"""

import numpy as np

from tests.tools.draw_states import FOLDER
from tests.tools.write_tables import STARTS, load_start, table_text

PAGE = FOLDER / "choosing.md"
BEGIN, END = "<!-- played: written by python -m tests.tools.play_starts -->", "<!-- end of played -->"
HEAD = ["settings", "lowest in the house", "nights below its `frost_guard_c`", "fan ran", "soil at the end"]
MINUTES_A_DAY, NOON_H = 1440, 12


def play(settings, fan):
    """Return the plant's Result over the demonstration's fortnight under a settings file's mapping.

    fan : True for the settings' own decisions, False for no fan at all; the 28 days before are run with the settings.
    """
    from tests.plant import demo_house, run

    return run.simulate(
        demo_house.HOUSE,
        demo_house.WEATHER,
        settings,
        days=demo_house.DAYS,
        warmup_days=demo_house.WARMUP_DAYS,
        seed=demo_house.SEED,
        warmup_settings=settings,
        fan_override=None if fan else np.zeros(demo_house.DAYS * MINUTES_A_DAY, dtype=np.int64),
    )


def row_of(name, settings, fan=True):
    """Return (name, lowest house, nights below frost_guard_c, fan hours, soil at the end) as numbers."""
    result = play(settings, fan)
    house = result.truth["house"]
    means = np.convolve(house, np.ones(10) / 10, "valid")
    night = (np.arange(means.size) + NOON_H * 60) // MINUTES_A_DAY
    lows = [means[night == one].min() for one in np.unique(night)]
    below = sum(low < settings["frost_guard_c"] for low in lows)
    return name, float(min(lows)), int(below), float(np.sum(result.fan_s) / 3600), float(result.truth["soil"][-1])


def numbers():
    """Return the rows of the table as numbers."""
    citrus = load_start(STARTS[0][1])
    return [
        *(row_of(name, load_start(file)) for name, file in STARTS),
        row_of("no fan that fortnight", citrus, False),
    ]


def filled(text):
    """Return the page's text with the table made anew."""
    head, _, rest = text.partition(BEGIN)
    _, found, tail = rest.partition(END)
    if not found:
        raise SystemExit(f"{PAGE.name}: the marks of the played table are gone")
    body = [
        [name, f"{low:.1f} °C", str(below), f"{hours:.0f} h", f"{soil:.1f} °C"]
        for name, low, below, hours, soil in numbers()
    ]
    return head + BEGIN + "\n" + table_text(HEAD, body) + END + tail


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
    print(PAGE)
