"""What plain ways tell of eighteen Iowa yields: bounds that fail when the reckoning breaks.

Outside sources: yields of Boone County by USDA NASS; weather of the Marsden farm (public R
package maRsden), both in ``../shared/data/iowa``. What is known of those years: 1988 was a
drought, 1993 the flood, 2004 a record.
"""

from __future__ import annotations

import numpy as np
import pytest

from seasons.baselines import WEATHER, YIELDS, gains, measure, section

pytestmark = pytest.mark.skipif(
    not (WEATHER.exists() and YIELDS.exists()),
    reason=f"there is no {YIELDS}: real yields are kept beside the project",
)


@pytest.fixture(scope="module")
def measured():
    return measure()


def test_the_worst_years_are_the_flood_and_the_drought(measured):
    worst = [measured.years[i] for i in np.argsort(measured.share)[:2]]
    assert worst == [1993, 1988]
    assert 2.0 < measured.slope < 5.0  # bu/ac a year; US maize gained about 2 in those decades


def test_the_wet_seasons_are_three(measured):
    wet = [year for year, dry in zip(measured.years, measured.not_wet, strict=True) if not dry]
    assert wet == [1987, 1990, 1993]


def test_every_way_is_computed_and_tells_little_of_all_seasons_but_something_of_dry_ones(measured):
    for way in measured.baselines:
        assert way.score is not None, way.why_not
        assert way.whole.years == 18
        assert way.not_wet.years == 15
        assert way.not_wet.pearson.value < min(0.0, way.whole.pearson.value)
        assert abs(way.left_out) < 0.3


def test_the_section_has_a_line_for_every_way_and_says_what_the_guess_is_worth(measured):
    page = section(measured)
    assert page.startswith("## ")
    for way in measured.baselines:
        assert f"| {way.name} |" in page
    assert "1987, 1990, 1993" in page
    assert "{" not in page


def test_a_score_that_knew_the_yields_would_gain_on_every_way(measured):
    for found in gains(measured, -measured.share).values():
        assert found.low > 0.0
