"""Are the drawn phases those of the table?"""

import pytest

from controller.core import phases
from tests.tools import draw_states


@pytest.mark.parametrize("name", ["states.svg", "states.md"])
def test_the_drawing_is_up_to_date(name):
    stands = (draw_states.FOLDER / name).read_text(encoding="utf-8")
    assert stands == draw_states.drawn()[name], "run: python -m tests.tools.draw_states"


def test_arrows_and_notes_hold_the_whole_table_and_nothing_else():
    """Read back from what is drawn, every cell comes out as it stands in the table."""
    arrows, everywhere = draw_states.arrows(), draw_states.everywhere()
    for phase in phases.PHASES:
        for condition in phases.CONDITIONS:
            ends = [after for (before, after), named in arrows.items() if before == phase and condition in named]
            after = everywhere.get(condition, ends[0] if ends else phase)
            assert len(ends) <= 1 and after == phases.TABLE[phase][condition]


def test_a_changed_table_changes_the_drawing(monkeypatch):
    before = draw_states.drawn()
    changed = [list(row) for row in phases.TABLE]
    changed[phases.BLIND][phases.NOTHING] = phases.CHARGE
    monkeypatch.setattr(phases, "TABLE", changed)
    assert all(draw_states.drawn()[name] != before[name] for name in before)
