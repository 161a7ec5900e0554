"""NASA POWER's answer about a point, spoilt anywhere: right values or a refusal by name."""

from __future__ import annotations

import json
import math
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.public.http import Reply, Unavailable
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.sources.power_answer import read_point
from rootbound_service.weather.sources.power_names import GRID, PARAMETERS, is_near_real_time

SOME = settings(deadline=None, derandomize=True)

SHAPES = Path(__file__).parents[4] / "fixtures" / "shapes"
TEXT = (SHAPES / "nasa_power_daily_point.json").read_bytes()
ASK = Ask((GRID.snap(42.03, -93.62),), date(2026, 7, 1), date(2026, 7, 5), date(2027, 1, 1))


def read(content):
    """Read five days, or give None where the answer is refused."""
    reply = Reply(200, content, "application/json")
    try:
        return read_point(reply, ASK, NasaPower.habits, "NASA POWER").values[:, 0]
    except Unavailable:
        return None


RIGHT = read(TEXT)
TABLE = json.loads(TEXT)["properties"]["parameter"]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=5,
)
PARTS = ["type", "geometry", "properties", "header", "messages", "parameters"]


def test_the_unspoilt_answer_has_every_value():
    expected = [list(TABLE[theirs].values()) for theirs in PARAMETERS]

    np.testing.assert_array_equal(RIGHT, expected)


@SOME
@given(st.integers(0, len(TEXT) - 1), st.integers(0, 30), st.binary(max_size=4))
def test_spoilt_bytes_leave_values_right_or_are_refused(at, drop, put):
    values = read(TEXT[:at] + put + TEXT[at + drop :])

    # A digit may have changed in one number, or a name of a day with its number may be gone:
    # never more than the spoilt stretch of text can touch.
    assert values is None or (values != RIGHT).sum() <= 2 or at > TEXT.index(b'"header"')


@SOME
@given(st.integers(0, len(TEXT.rstrip()) - 1))
def test_an_answer_cut_anywhere_is_refused(length):
    assert read(TEXT[:length]) is None


@SOME
@given(st.sampled_from(PARTS), JSON)
def test_any_part_may_be_anything_and_values_stay_right_or_are_refused(name, anything):
    document = json.loads(TEXT)
    document[name] = anything
    values = read(json.dumps(document).encode())

    assert values is None or (values == RIGHT).all()


@SOME
@given(st.sampled_from(list(PARAMETERS)), st.sampled_from(sorted(TABLE["T2M_MAX"])), JSON)
def test_any_value_may_be_anything_and_no_other_changes(theirs, day, anything):
    document = json.loads(TEXT)
    document["properties"]["parameter"][theirs][day] = anything
    values = read(json.dumps(document).encode())

    if values is None:
        return
    place = list(PARAMETERS).index(theirs), int(day) - 20260701
    assert math.isnan(values[place]) or values[place] == anything
    values[place] = RIGHT[place]
    assert (values == RIGHT).all()


@pytest.mark.parametrize(
    ("origin", "near"),
    [
        ("GEOSIT", True),
        ("GEOS-IT", True),
        ("FLASHFlux", True),
        ("flashflux-v4a", True),
        ("MERRA2", False),
        ("SYN1DEG", False),
        ("POWER", False),
        ("", False),
    ],
)
def test_near_real_time_sets_are_known_by_name(origin, near):
    assert is_near_real_time(origin) is near
