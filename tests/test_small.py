"""Is the small form of the decision, which is sent to the emulated board, the core's own decision?"""

from controller.core import decide, screen
from tests.steps import microbit, portable, small


def test_small_form_decides_like_the_core():
    space = {}
    for _, source in small.texts():
        exec(source, space)
    entry = space[small.texts()[-1][0]]
    for number in range(len(portable.CHANGES)):
        s, g, w = portable.settings_of(number), portable.seeded(7), portable.first_weather()
        d, sensed = decide.start(s).deciding, screen.start()
        for _ in range(2000):
            raw = portable.next_raw(g, w)
            sensed = screen.step(sensed, raw)
            r = screen.reading(s, sensed, raw)
            there = entry(small.flat(s), small.flat(d), small.flat(r))
            d = decide.next_deciding(s, d, r)
            assert there == small.flat(d)


def test_small_form_is_small_and_plain():
    text = "\n".join(source for _, source in small.texts())
    assert len(text) < 8000 and "import" not in text and '"""' not in text and "centi" not in text


def test_folding_changes_nothing():
    for _, source in small.texts():
        folded = microbit.folded(source)
        assert all(len(line) <= 64 or " " not in line.strip() for line in folded.splitlines())
        assert compile(folded, "a", "exec").co_code == compile(source, "a", "exec").co_code
