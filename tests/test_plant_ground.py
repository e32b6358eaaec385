"""Pipes and soil of the plant against ht, fluids, closed forms and measurements: one test a group of rows."""

import pytest

pytest.importorskip("ht")
pytest.importorskip("fluids")

from tests.plant import checks_ground


@pytest.mark.parametrize(
    "group", [checks_ground.exchange, checks_ground.published_pipes, checks_ground.cylinder, checks_ground.undisturbed]
)
def test_rows_hold(group):
    rows = group()
    assert rows
    assert [row for row in rows if not row.holds] == []
