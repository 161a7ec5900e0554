"""SoilGrids' answers, held to recorded shapes: divisors, masked places, and what is refused."""

from __future__ import annotations

import json
from urllib.parse import parse_qsl, urlsplit

import pytest
import responses

from rootbound_service.public.http import Unavailable
from rootbound_service.soil.soilgrids import SoilGrids

URL = "http://127.0.0.1/soilgrids/v2.0/properties/query"


@pytest.fixture
def ask(caller):
    """Ask for a place; the answers come in turn, the last one again and again."""

    def go(*answers, status=200):
        with responses.RequestsMock(assert_all_requests_are_fired=False) as mock:
            for answer in answers:
                body = answer if isinstance(answer, str) else json.dumps(answer)
                mock.get(URL, body=body, status=status)
            try:
                return SoilGrids(caller, "http://127.0.0.1/").fetch(42.03, -93.62)
            finally:
                go.queries = [parse_qsl(urlsplit(call.request.url).query) for call in mock.calls]

    return go


@pytest.fixture
def refused(ask):
    """Ask likewise, and give the error."""

    def go(*answers, status=200):
        with pytest.raises(Unavailable) as caught:
            ask(*answers, status=status)
        assert str(caught.value).startswith("SoilGrids, lat 42.0300, lon -93.6200: ")
        return caught.value

    return go


@pytest.fixture
def whole(recorded):
    return recorded("soilgrids_properties_query")


@pytest.fixture
def masked(recorded):
    return recorded("soilgrids_properties_query_null")


def layer_of(document, name):
    """One property of an answer."""
    (found,) = [one for one in document["properties"]["layers"] if one["name"] == name]
    return found


def test_a_recorded_answer_is_read_over_its_own_divisors(ask, whole):
    profile = ask(whole)

    assert [(one.top_cm, one.bottom_cm) for one in profile.layers] == [
        (0, 5),
        (5, 15),
        (15, 30),
        (30, 60),
        (60, 100),
    ]
    top = profile.layers[0]
    assert (top.clay_pct, top.sand_pct, top.silt_pct) == (24.2, 28.8, 47.0)
    assert (top.bulk_density, top.field_capacity, top.wilting_point) == (1.23, 0.318, 0.158)
    assert top.organic_matter_pct is None
    assert (profile.source, profile.share_pct, profile.remarks) == ("soilgrids", None, ())
    assert json.loads(profile.raw) == whole


def test_another_divisor_in_the_answer_is_the_one_that_counts(ask, whole):
    layer_of(whole, "clay")["unit_measure"]["d_factor"] = 20

    assert ask(whole).layers[0].clay_pct == 12.1


def test_organic_matter_follows_from_organic_carbon(ask, whole):
    carbon = json.loads(json.dumps(layer_of(whole, "clay")))
    carbon["name"] = "soc"
    carbon["unit_measure"] = {"d_factor": 10, "target_units": "g/kg"}
    for depth in carbon["depths"]:
        depth["values"]["mean"] = 203
    whole["properties"]["layers"].append(carbon)

    # 20.3 g/kg of carbon are 2.03 %; matter is 1.724 times that
    assert ask(whole).layers[0].organic_matter_pct == pytest.approx(2.03 * 1.724, rel=1e-3)


def test_the_request_repeats_its_keys(ask, whole):
    ask(whole)

    (query,) = ask.queries
    assert query[:2] == [("lon", "-93.620000"), ("lat", "42.030000")]
    assert [value for name, value in query if name == "property"] == [
        "clay",
        "sand",
        "silt",
        "soc",
        "bdod",
        "wv0033",
        "wv1500",
    ]
    assert ("depth", "100-200cm") in query
    assert query[-1] == ("value", "mean")


def test_a_masked_place_is_answered_by_the_cell_beside_it_and_that_is_said(ask, masked, whole):
    profile = ask(masked, masked, whole)

    assert [dict(query)["lat"] for query in ask.queries] == ["42.030000", "42.032500", "42.027500"]
    assert profile.layers[0].clay_pct == 24.2
    assert profile.remarks == ("the place itself has no value, lat 42.0275, lon -93.6200 has",)


def test_where_all_is_masked_five_places_are_asked_and_no_more(refused, ask, masked):
    error = refused(masked)

    assert len(ask.queries) == 5
    assert error.what == "has no soil here nor in the cells beside it: water, town or bare rock"
    assert not error.retry_later


def test_one_value_that_is_null_is_missing_by_itself(ask, whole):
    layer_of(whole, "wv0033")["depths"][1]["values"]["mean"] = None

    layers = ask(whole).layers

    assert layers[1].field_capacity is None
    assert layers[1].wilting_point == 0.157


def test_a_refused_request_gives_the_services_own_reason(refused, recorded):
    error = refused(recorded("soilgrids_error_422"), status=422)

    assert error.what == (
        "refused the request (HTTP 422): lat: ensure this value is less than or equal to 90"
    )
    assert not error.retry_later


@pytest.mark.parametrize(
    ("answer", "status"),
    [
        ("<html><h1>504 Gateway Time-out</h1></html>", 504),
        ("<html>resting</html>", 200),
        ('{"properties": {"lay', 200),
    ],
)
def test_a_service_that_is_not_well_is_worth_another_try(refused, answer, status):
    assert refused(answer, status=status).retry_later


def put(value, *path):
    """Give a spoiler that sets one thing in the clay of an answer."""

    def spoil(document):
        at = layer_of(document, "clay")
        for name in path[:-1]:
            at = at[name]
        at[path[-1]] = value

    return spoil


DEPTH = ("depths", 0)


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (put(0, "unit_measure", "d_factor"), "clay names no d_factor"),
        (put("10", "unit_measure", "d_factor"), "clay names no d_factor"),
        (put("g/g", "unit_measure", "target_units"), "clay comes in 'g/g', a unit we do not know"),
        (put("inch", *DEPTH, "range", "unit_depth"), "a depth of clay is in 'inch', not in cm"),
        (put(7, *DEPTH, "range", "top_depth"), "a depth of clay runs from 7 to 5 cm"),
        (put(None, *DEPTH, "range", "top_depth"), "a depth of clay runs from None to 5"),
        (put(10**400, *DEPTH, "range", "top_depth"), "a depth of clay runs from 1000"),
        (put(7, *DEPTH, "range", "bottom_depth"), "two layers lie at 0 cm"),
        (put(-242, *DEPTH, "values", "mean"), "clay is -242, no soil has that"),
        (put(2420, *DEPTH, "values", "mean"), "clay is 2420, no soil has that"),
        (put("242", *DEPTH, "values", "mean"), "clay is '242', which is no number"),
        (put([], "depths", 1), "a depth of clay is no JSON object"),
        (put("sand", "name"), "sand is there twice"),
        (put({}, "unit_measure"), "clay names no d_factor"),
    ],
)
def test_an_answer_of_another_shape_is_refused_by_name(refused, whole, spoil, what):
    spoil(whole)

    error = refused(whole)

    assert what in error.what
    assert not error.retry_later


def test_the_soil_of_another_place_is_refused(refused, whole):
    whole["geometry"]["coordinates"][0] = -96.62

    assert refused(whole).what == ("the answer is of another place, -96.62 instead of -93.6200")


def test_an_answer_without_any_property_of_ours_is_refused(refused):
    assert refused({"properties": {"layers": []}}).what.endswith("is in the answer")
