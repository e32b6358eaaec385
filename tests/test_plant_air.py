"""Moist air, sun and weather of the plant against psychrolib, pvlib and printed tables: one test a group of rows."""

import pytest

pytest.importorskip("pvlib")

from tests.plant import checks_air


@pytest.mark.parametrize(
    "group", [checks_air.moist_air, checks_air.sun_and_cover, checks_air.hours_kept, checks_air.covers]
)
def test_rows_hold(group):
    rows = group()
    assert rows
    assert [row for row in rows if not row.holds] == []
