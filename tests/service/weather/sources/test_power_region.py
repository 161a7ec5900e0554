"""NASA POWER's answers about a box: which box, one parameter each, and cells that are not there."""

from __future__ import annotations

import copy
import json
import math
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import responses
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.sources.power_names import GRID, PARAMETERS, SOLAR
from rootbound_service.weather.sources.power_region import box_of, solar_centre, tiles

SOME = settings(deadline=None, derandomize=True)

SHAPE = json.loads(
    (Path(__file__).parents[4] / "fixtures/shapes/nasa_power_daily_regional.json").read_text()
)
URL = "http://127.0.0.1"
# The nine cells of the recorded shape: 41.5..42.5 N, 94.375..93.125 W.
CELLS = tuple(GRID.cell(row, column) for row in (263, 264, 265) for column in (137, 138, 139))
ASK = Ask(CELLS, date(2026, 7, 1), date(2026, 7, 2), date(2026, 7, 8))
RAIN = [[0.0, 4.12], [0.0, 2.25], [0.0, 0.38]] * 3
UNITS = {SOLAR: "MJ/m^2/day", "WS2M": "m/s", "PRECTOTCORR": "mm/day"}


def told(theirs):
    """Give the recorded shape for another parameter."""
    document = copy.deepcopy(SHAPE)
    for feature in document["features"]:
        table = feature["properties"]["parameter"]
        table[theirs] = table.pop("PRECTOTCORR")
    document["parameters"] = {theirs: {"units": UNITS.get(theirs, "C")}}
    return document


def fetch(spoil=lambda theirs, document: None, ask=ASK):
    """Fetch, each answer spoilt on its way; gives the block and the queries."""

    def answer(request):
        theirs = request.params["parameters"]
        document = told(theirs)
        spoil(theirs, document)
        return 200, {}, json.dumps(document)

    with responses.RequestsMock() as mock:
        mock.add_callback("GET", f"{URL}/api/temporal/daily/regional", answer)
        caller = Caller(Patience(retries=0))
        try:
            block = NasaPower(caller, URL).fetch(ask)
        finally:
            caller.close()
        return block, [call.request.params for call in mock.calls]


def test_every_cell_gets_the_values_of_its_own_centre():
    block, queries = fetch()

    assert block.values.shape == (6, 9, 2)
    assert block.values[block.quantities.index("rain_mm")].tolist() == RAIN
    assert block.elevation_m.tolist() == [290.0] * 3 + [300.0] * 3 + [310.0] * 3
    assert [query["parameters"] for query in queries] == list(PARAMETERS)


def test_the_box_holds_all_centres_and_is_two_degrees_or_more():
    _, queries = fetch()

    box = {name: float(queries[0][name]) for name in queries[0] if name.startswith("l")}
    # Radiation's cells reach to 94.5 W; what lacks to 2 degrees is shared between the sides.
    assert box == {
        "latitude-min": 41.0,
        "latitude-max": 43.0,
        "longitude-min": -94.8125,
        "longitude-max": -92.8125,
    }


def test_cells_that_do_not_come_are_missing():
    def spoil(theirs, document):
        del document["features"][4]

    block, _ = fetch(spoil)

    missing = [bool(one) for one in map(math.isnan, block.values[2, :, 1])]
    assert missing == [False] * 4 + [True] + [False] * 4
    assert math.isnan(block.elevation_m[4])


def test_radiation_may_come_in_its_own_cells_of_a_degree():
    def spoil(theirs, document):
        if theirs != SOLAR:
            return
        feature = document["features"][0]
        document["features"] = []
        for place, value in (((-93.5, 42.5), 20.0), ((-94.5, 41.5), 10.0)):
            one = copy.deepcopy(feature)
            one["geometry"]["coordinates"] = [*place, 0.0]
            one["properties"]["parameter"][SOLAR] = {"20260701": value, "20260702": value}
            document["features"].append(one)

    solar = fetch(spoil)[0].values[3, :, 0]

    # Cell 42.0 N 93.75 W, asked a hair north-east, lies in 42..43 N, 94..93 W.
    assert solar[4] == solar[5] == solar[7] == 20.0
    assert solar[0] == 10.0
    assert math.isnan(solar[1])


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (lambda d: d.update(features=[]), "is there for none of the cells"),
        (lambda d: d.pop("features"), "features is missing"),
        (lambda d: d["features"].append(3), "has a feature that is none"),
        (lambda d: d["features"].append({}), "has a feature without a place"),
        (lambda d: d["features"].append(d["features"][0]), "is there twice for one place"),
        (lambda d: d["features"][1]["properties"].clear(), "parameter is missing"),
    ],
)
def test_an_answer_of_another_shape_is_refused_by_name(spoil, what):
    with pytest.raises(Unavailable, match=what) as caught:
        fetch(lambda theirs, document: spoil(document))

    assert str(caught.value).startswith("NASA POWER, 9 cells from nasa_power:263-137: ")


def test_many_cells_of_few_days_are_asked_for_in_boxes_and_the_rest_one_by_one():
    near = tuple(GRID.cell(264, column) for column in range(128, 140))  # one tile
    far = (GRID.cell(100, 10),)
    source = NasaPower(None, URL)

    short = list(
        source.split(Ask((*near, *far), date(2026, 6, 1), date(2026, 7, 1), date(2026, 7, 2)))
    )
    long = list(source.split(Ask(near, date(2026, 4, 1), date(2026, 7, 1), date(2026, 7, 2))))
    few = list(source.split(Ask(near[:11], date(2026, 6, 1), date(2026, 7, 1), date(2026, 7, 2))))

    assert [len(one.cells) for one in short] == [12, 1]
    assert {len(one.cells) for one in long} == {len(one.cells) for one in few} == {1}


PLACES = st.tuples(st.integers(0, 360), st.integers(0, 575))


@SOME
@given(st.sets(PLACES, min_size=1, max_size=40))
def test_a_box_is_one_that_the_service_bears_and_no_centre_lies_on_its_edge(places):
    cells = [GRID.cell(*place) for place in places]
    groups = tiles(cells)

    assert sorted(cell for group in groups for cell in group) == sorted(cells)
    for group in groups:
        box = box_of(group)
        assert 2 <= round(box.north - box.south, 9) <= 10
        assert 2 <= round(box.east - box.west, 9) <= 10
        assert -90 <= box.south < box.north <= 90
        assert -180 <= box.west < box.east <= 180
        for lat, lon in [cell.centre for cell in group] + [solar_centre(cell) for cell in group]:
            assert box.south < lat < box.north or abs(lat) == 90
            assert box.west < lon < box.east or lon == -180


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=5,
)


def paths(node, prefix=()):
    """Every place in a JSON document."""
    yield prefix
    if isinstance(node, dict | list):
        for name, child in node.items() if isinstance(node, dict) else enumerate(node):
            yield from paths(child, (*prefix, name))


@SOME
@given(st.sampled_from(sorted(paths(SHAPE), key=str)), JSON)
def test_whatever_stands_anywhere_in_an_answer_the_result_is_right_or_refused(path, value):
    def spoil(theirs, document):
        if theirs != "PRECTOTCORR" or not path:
            return
        node = document
        for name in path[:-1]:
            node = node[name]
        node[path[-1]] = value

    try:
        block, _ = fetch(spoil)
    except Unavailable:
        return
    for got, meant in zip(block.values[2].flat, np.ravel(RAIN), strict=True):
        assert math.isnan(got) or got in (meant, value)
