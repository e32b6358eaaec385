"""Does a replay stay as right as its table says? One fortnight of a house that the model was not developed on.

The whole table is `python -m tests.prediction_table`; the limits here are those of the specification but for the night
minimum (0.10 K is not reached everywhere, see tuner/README-model.md).
"""

import numpy as np
import pytest

from tests import prediction_table as table


@pytest.mark.slow
def test_tight_and_damp_house_in_grey_weather():
    *cases, _ = table.cases_of(table.HOUSES["tight and damp"], table.WEATHERS["grey and wet"], 14, 60)
    fans = [case for case in cases if case.settings != table.NO_FAN]
    none = [case for case in cases if case.settings == table.NO_FAN]
    assert table.rms(np.concatenate([case.predicted - case.truth for case in fans])) < 0.15
    assert table.rms(none[0].predicted - none[0].truth) < 0.30
    hours = [abs(case.fan_h[1] / case.fan_h[0] - 1) for case in fans]
    assert np.mean(hours) < 0.03 and max(hours) < 0.10
    assert table.rms([case.soil_end[1] - case.soil_end[0] for case in cases]) < 0.5
    assert table.inside(cases) > 0.80
