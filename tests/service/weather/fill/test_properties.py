"""What filling never does, whatever is missing: searched for by invented holes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.weather.day import QUANTITY_NAMES, VITAL
from rootbound_service.weather.fill.compose import NO_SOURCE, How, compose
from rootbound_service.weather.normals import normals_of
from rootbound_service.weather.quality.flags import UNUSABLE, Flag
from service.weather.weather_rig import ELEVATION_M, LAT, ROW, START, invented, source_days

PLACES, DAYS = 3, 60
SKY = invented(DAYS, cells=PLACES, seed=11)
NORMALS = normals_of(invented(6 * 365 + 1, cells=PLACES), START, QUANTITY_NAMES)
SHAPE = SKY.shape
VITAL_ROWS = [ROW[name] for name in VITAL]


@st.composite
def holed(draw):
    """Two or three sources with holes and flags, normals or none, forecasts or none."""
    chance = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    sources = []
    for rank in range(draw(st.integers(1, 3))):
        values = SKY + rank * 1.5
        values[ROW["rain_mm"]] = SKY[ROW["rain_mm"]] * (1 + 0.2 * rank)
        values = np.where(
            chance.random(SHAPE) < draw(st.sampled_from([0.0, 0.1, 0.6])), np.nan, values
        )
        begin = draw(st.integers(0, DAYS - 1))
        long = draw(st.integers(0, 40))
        values[:, 0, begin : begin + long] = np.nan
        if draw(st.booleans()):
            values[draw(st.integers(0, 5))] = np.nan
        flags = np.where(chance.random(SHAPE) < 0.05, chance.choice(list(Flag), SHAPE), 0)
        sources.append(source_days(values, flags.astype(np.uint16), f"source {rank}"))
    rain = np.where(chance.random(SHAPE[1:]) < 0.5, 4.0, np.nan) if draw(st.booleans()) else None
    return sources, (NORMALS if draw(st.booleans()) else None), rain


def composed(case):
    """Put one case together."""
    sources, normals, rain = case
    place = np.full(PLACES, LAT), np.full(PLACES, ELEVATION_M)
    return compose(sources, lat=place[0], elevation_m=place[1], normals=normals, forecast_rain=rain)


def usable(source):
    """A source's values that may be used."""
    return np.where(source.flags & UNUSABLE, np.nan, source.values)


many = settings(max_examples=60, deadline=None)


@many
@given(holed())
def test_observed_means_exactly_the_preferred_sources_own_usable_value(case):
    found, own = composed(case), usable(case[0][0])
    observed = found.how == How.OBSERVED

    assert np.array_equal(found.values[observed], own[observed])
    assert (found.source[observed] == 0).all()
    given_up = ~np.isnan(own) & ~observed  # only where a check and another source both object
    doubt = case[0][0].flags & np.uint16(Flag.RAIN_OUTLIER | Flag.STUCK | Flag.STEP)
    assert (doubt[given_up] != 0).all()
    assert len(case[0]) > 1 or not given_up.any()


@many
@given(holed())
def test_rain_comes_from_a_source_or_a_forecast_or_is_said_to_be_assumed(case):
    found, rain = composed(case), ROW["rain_mm"]
    how, values = found.how[rain], found.values[rain]

    allowed = [How.MISSING, How.OBSERVED, How.OTHER_SOURCE, How.FORECAST, How.ASSUMED_DRY]
    assert np.isin(how, allowed).all()
    assert (values[how == How.ASSUMED_DRY] == 0).all()
    other = how == How.OTHER_SOURCE
    theirs = np.stack([usable(one)[rain] for one in case[0]])
    rank = np.where(other, found.source[rain], 0)
    assert np.array_equal(values[other], np.take_along_axis(theirs, rank[None], 0)[0][other])


@many
@given(holed())
def test_nothing_is_estimated_outside_the_days_that_sources_know_whole(case):
    found = composed(case)
    real = np.isin(found.how, [How.OBSERVED, How.OTHER_SOURCE])
    whole = real[VITAL_ROWS].all(axis=0)
    made = ~real & (found.how != How.MISSING)
    for place in range(PLACES):
        days = np.flatnonzero(whole[place])
        last = days[-1] if len(days) else -1
        assert found.last[place] == last
        assert not made[:, place, last + 1 :].any()
        assert not made[:, place, : days[0] if len(days) else DAYS].any()


@many
@given(holed())
def test_every_value_has_an_origin_and_every_missing_one_none(case):
    found = composed(case)

    assert np.array_equal(np.isnan(found.values), found.how == How.MISSING)
    from_source = np.isin(found.how, [How.OBSERVED, How.OTHER_SOURCE])
    assert np.array_equal(found.source != NO_SOURCE, from_source)
    assert ((found.source == 0) == (found.how == How.OBSERVED)).all()


@many
@given(holed())
def test_a_filled_day_does_not_contradict_itself(case):
    found = composed(case)
    tmax, tmin, dew = (found.values[ROW[n]] for n in ("tmax_c", "tmin_c", "dewpoint_c"))
    filled = found.how > How.OBSERVED

    ordered = (tmax >= tmin) | np.isnan(tmax + tmin)
    assert ordered[filled[ROW["tmax_c"]] | filled[ROW["tmin_c"]]].all()
    dry = (dew <= (tmax + tmin) / 2 + 1e-9) | np.isnan(tmax + tmin + dew)
    assert dry[filled[ROW["dewpoint_c"]]].all()


@many
@given(holed(), st.permutations(range(PLACES)))
def test_places_do_not_touch_each_other_and_nothing_is_left_to_chance(case, order):
    sources, normals, rain = case
    moved = [source_days(one.values[:, order], one.flags[:, order], one.name) for one in sources]
    normals = (
        None
        if normals is None
        else normals_of(invented(6 * 365 + 1, cells=PLACES)[:, order], START, QUANTITY_NAMES)
    )
    a = composed(case)
    b = composed((moved, normals, None if rain is None else rain[order]))

    assert np.array_equal(a.values[:, order], b.values, equal_nan=True)
    assert np.array_equal(a.how[:, order], b.how)
    assert np.array_equal(a.suspect[:, order], b.suspect)


@many
@given(holed())
def test_what_the_sources_gave_is_not_written_to(case):
    before = [one.values.copy() for one in case[0]]

    composed(case)

    for one, kept in zip(case[0], before, strict=True):
        assert np.array_equal(one.values, kept, equal_nan=True)


def test_sources_of_other_days_are_refused():
    short = source_days(SKY[:, :, :10])

    with pytest.raises(ValueError, match="same places and days"):
        composed(([source_days(SKY), short], None, None))
