"""Days whose rain a field's own gauge tells are no gaps for that field."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from rootbound_service.weather.fill.compose import Gaps, compose
from service.weather.weather_rig import ELEVATION_M, LAT, invented, source_days

DAYS, TMAX, RAIN = 120, 0, 2


def test_rain_that_somebody_measured_there_is_not_missing_whatever_the_sources_have():
    own = invented(DAYS)
    own[RAIN, 0, [-6, -5]] = np.nan
    own[TMAX, 0, -5] = np.nan
    found = compose([source_days(own)], np.array([ELEVATION_M]), np.array([LAT]), None, None)
    sixth, fifth = (found.start + timedelta(days=DAYS - back) for back in (6, 5))

    assert found.gaps(0) == Gaps(2, 2, 2)
    assert found.gaps(0, {sixth}) == Gaps(1, 1, 1)
    assert found.gaps(0, {sixth, fifth}) == Gaps(1, 0, 0)  # its temperature is still a guess
    assert found.gaps(0, {found.start}) == Gaps(2, 2, 2)
