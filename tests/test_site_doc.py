"""Does tuner/site.md tell every value of site.toml, with the ranges that are checked and examples that pass?"""

import tomllib

import pytest

from tests.tools import write_site_doc
from tuner.site_fields import FIELDS
from tuner.site_values import check

ROWS = {(row[0], row[1]): row for row in FIELDS}


def test_the_page_is_up_to_date():
    assert write_site_doc.PAGE.read_text(encoding="utf-8") == write_site_doc.page(), (
        "run: python -m tests.tools.write_site_doc"
    )


def test_every_value_has_words_and_no_words_lack_a_value():
    assert set(write_site_doc.WORDS) == set(ROWS)


@pytest.mark.parametrize("place", sorted(ROWS), ids=".".join)
def test_every_example_is_taken(place):
    _, key, kind, lowest, highest, unit, _ = ROWS[place]
    example = tomllib.loads(f"{key} = {write_site_doc.WORDS[place][0]}")[key]
    value, want = check(kind, example, lowest, highest, unit)
    assert (want, value is None) == ("", False)
