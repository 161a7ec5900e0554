"""Forecast and soil stand-ins answer key for key as the recorded services do."""

from __future__ import annotations

import pytest
import requests

from loopback.climate import ClimatePlay
from loopback.public_server import PublicServer
from service.weather.shapes_rig import PLACE, SHAPES, TODAY, get, names, recorded

AGGREGATION = "/dodsC/agg_met_tmmx_1979_CurrentYear_CONUS.nc"
DAILY = "/api/temporal/daily/"


@pytest.fixture(scope="module")
def server():
    with PublicServer(ClimatePlay(), TODAY) as made:
        yield made


@pytest.mark.parametrize(
    ("kind", "name", "more"),
    [
        ("forecast", "openmeteo_forecast_daily.json", {}),
        (
            "forecast",
            "openmeteo_forecast_daily_two_locations.json",
            {"latitude": "42.03,41.52", "longitude": "-93.62,-91.1"},
        ),
        (
            "archive",
            "openmeteo_archive_daily.json",
            {"start_date": "2026-07-01", "end_date": "2026-07-04"},
        ),
    ],
)
def test_open_meteo_shapes(server, kind, name, more):
    shape = recorded(name)
    first = shape[0] if isinstance(shape, list) else shape
    units = {key: unit for key, unit in first["daily_units"].items() if key != "time"}
    query = {
        **PLACE,
        "daily": ",".join(units),
        "timezone": "America/Chicago",
        "wind_speed_unit": "ms",
    } | more
    given = get(server, "openmeteo", f"/v1/{kind}", query).json()

    assert names(given) == names(shape)
    one = given[0] if isinstance(given, list) else given
    assert one["daily_units"] == first["daily_units"]
    if isinstance(given, list):
        assert ["location_id" in each for each in given] == [False, True]


def test_open_meteo_ensemble_has_its_control_under_the_plain_name(server):
    shape = recorded("openmeteo_ensemble_daily.json")
    query = {
        **PLACE,
        "daily": "temperature_2m_max,precipitation_sum",
        "timezone": "auto",
        "models": "ncep_gefs025",
    }
    given = get(server, "openmeteo", "/v1/ensemble", query).json()

    assert list(given) == list(shape)
    assert given["timezone"] == "America/Chicago"
    assert list(given["daily"])[:5] == list(shape["daily"])[:5]
    assert len(given["daily"]) == 1 + 2 * 31
    assert list(given["daily_units"]) == list(given["daily"])


def test_open_meteo_refuses_in_its_own_words(server):
    query = {
        **PLACE,
        "daily": "precipitation_sum",
        "start_date": "2015-12-31",
        "end_date": "2026-07-22",
    }
    got = get(server, "openmeteo", "/v1/forecast", query)

    assert (got.status_code, got.json()) == (400, recorded("openmeteo_error_400.json"))
    unknown = get(server, "openmeteo", "/v1/forecast", query | {"daily": "foo"})
    assert unknown.status_code == 400


def ask_survey(server, query, form="JSON+COLUMNNAME+METADATA"):
    body = {"format": form, "query": query}
    return requests.post(server.url("sda") + "/tabular/post.rest", json=body, timeout=10)


def test_the_survey_answers_the_recorded_question_with_the_recorded_columns(server):
    question, shape = recorded("sda_request_body.json")["query"], recorded("sda_horizons.json")
    given = ask_survey(server, question).json()

    assert given["Table"][:2] == shape["Table"][:2]
    assert all(v is None or isinstance(v, str) for row in given["Table"][2:] for v in row)
    assert len(ask_survey(server, question, "JSON").json()["Table"]) == len(given["Table"]) - 2


def test_the_survey_has_nothing_at_sea_and_refuses_bad_questions(server):
    question = recorded("sda_request_body.json")["query"].replace("-93.62 42.03", "2.35 48.85")

    assert ask_survey(server, question).json() == recorded("sda_empty.json")
    got = ask_survey(server, "from mapunit")
    assert got.status_code == 400
    assert (
        got.text.strip()
        == (SHAPES / "sda_error_400.xml").read_text().replace("&#39;", "&#x27;").strip()
    )
    assert "Invalid column name" in ask_survey(server, "SELECT foo FROM component").text


def test_soilgrids_and_its_refusal(server):
    shape = recorded("soilgrids_properties_query.json")
    layers = shape["properties"]["layers"]
    query = [("lon", "-93.62"), ("lat", "42.03"), ("value", "mean")]
    query += [("property", layer["name"]) for layer in layers]
    query += [("depth", depth["label"]) for depth in layers[0]["depths"]]
    path = "/soilgrids/v2.0/properties/query"
    given = get(server, "soilgrids", path, query).json()

    assert names(given) == names(shape)
    units = {layer["name"]: layer["unit_measure"] for layer in given["properties"]["layers"]}
    assert units == {layer["name"]: layer["unit_measure"] for layer in layers}
    beyond = [("lat", "91"), ("lon", "0")]
    got = get(server, "soilgrids", path, beyond)
    assert (got.status_code, got.json()) == (422, recorded("soilgrids_error_422.json"))
