"""Whatever comes: a forecast that can be, or a refusal; nothing else."""

from __future__ import annotations

import copy
import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.public.http import Reply, Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.make import POSSIBLE
from rootbound_service.weather.forecast.nws_answer import Question, read_grid
from rootbound_service.weather.forecast.nws_points import GridPoint
from rootbound_service.weather.forecast.nws_problem import refuse
from rootbound_service.weather.forecast.open_meteo_answer import read_days, read_places
from service.weather.forecast.forecast_rig import CHICAGO, NOW, PLACE, WHO, grid, shape

POINT = GridPoint("DMX", 73, 71, CHICAGO)
ASKED = Question(*PLACE, POINT, NOW, WHO)
JSON = "application/json"

scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(allow_nan=False),
    st.text(max_size=12),
    st.sampled_from(
        [
            "wmoUnit:degF",
            "2026-07-06T03:00:00+00:00/P1DT6H",
            "9999-12-31T00:00:00Z/P9999D",
            "0001-01-01T00:00:00Z/PT1H",
            "2026-07-06T03:00:00+00:00/PT1S",
            "2026-07-06",
            1e308,
            10**400,
        ]
    ),
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


def ways(document, at=()):
    """List the ways to every part of a document."""
    yield at
    parts = ()
    if isinstance(document, dict | list):
        parts = document.items() if isinstance(document, dict) else enumerate(document)
    for name, part in parts:
        yield from ways(part, (*at, name))


def spoilt(document, way, value, *, drop):
    """Put something else at one place of a copy, or leave it out."""
    changed = copy.deepcopy(document)
    if not way:
        return value
    inner = changed
    for name in way[:-1]:
        inner = inner[name]
    if drop:
        del inner[way[-1]]
    else:
        inner[way[-1]] = value
    return changed


def properties_of(document):
    return {key: document[key] for key in ("properties",)}


def check(values):
    for row, name in enumerate(QUANTITY_NAMES):
        low, high = POSSIBLE[name]
        known = values[row][np.isfinite(values[row])]
        assert ((low <= known) & (known <= high)).all()
    assert not np.isinf(values).any()


GRID = properties_of(grid())
DAYS = shape("openmeteo_ensemble_daily")


@given(st.sampled_from(list(ways(GRID))), values, st.booleans())
def test_one_spoilt_part_of_a_grid_is_read_right_or_refused(way, value, drop):
    document = json.dumps(spoilt(GRID, way, value, drop=drop)).encode()
    try:
        forecast = read_grid(Reply(200, document, JSON), ASKED)
    except Unavailable:
        return

    check(forecast.values)
    assert forecast.values.shape[2] == forecast.made.shape[1] == forecast.days > 0


@given(st.sampled_from(list(ways(DAYS))), values, st.booleans())
def test_one_spoilt_part_of_days_is_read_right_or_refused(way, value, drop):
    document = json.dumps(spoilt(DAYS, way, value, drop=drop)).encode()
    try:
        (place,) = read_places(Reply(200, document, JSON), 1, WHO)
        days = read_days(place, WHO)
    except Unavailable:
        return

    assert days.values.shape[0] == len(QUANTITY_NAMES)
    assert not np.isinf(days.values).any()


@given(st.binary(max_size=80), st.integers(200, 599))
def test_any_bytes_are_refused_as_both(body, status):
    reply = Reply(status, body, JSON)
    for read in (
        lambda: read_grid(reply, ASKED),
        lambda: read_days(read_places(reply, 1, WHO)[0], WHO),
        lambda: refuse(reply, WHO),
    ):
        with pytest.raises(Unavailable, match=r"^them, there: "):
            read()


@given(values)
def test_any_problem_is_a_sentence(problem):
    for document in (problem, {"type": problem}, {"title": problem}):
        reply = Reply(404, json.dumps(document).encode(), JSON)
        with pytest.raises(Unavailable, match="HTTP 404"):
            refuse(reply, WHO)
