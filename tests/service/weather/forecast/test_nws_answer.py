"""The National Weather Service's grid of hours, held to a recorded shape and worked by hand."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.forecast.day import ESTIMATED, PARTIAL
from service.weather.forecast.forecast_rig import NOW, column, grid, layer, made, read

NAN = math.nan


def same(found, expected):
    assert list(found) == pytest.approx(expected, abs=1e-3, nan_ok=True)


def test_a_recorded_answer_is_read_into_local_days_of_our_names_and_units():
    told = read(grid())

    assert (told.start, told.end, told.members) == (date(2026, 7, 6), date(2026, 7, 8), 1)
    assert told.issued == datetime(2026, 7, 6, 9, 12, 44, tzinfo=UTC)
    assert (told.fetched, told.where, told.source) == (NOW, "DMX/73,71", "nws")
    same(column(told, "tmax_c"), [32.2222, 33.8889, 28.8889])
    same(column(told, "tmin_c"), [NAN, 20.5556, 21.6667])
    slices = [
        entry["value"] for entry in grid()["properties"]["quantitativePrecipitation"]["values"]
    ]
    assert sum(slices) == pytest.approx(np.nansum(column(told, "rain_mm")), abs=1e-3)
    assert made(told, "rain_mm") == [0, PARTIAL, 0]
    assert math.isnan(column(told, "rain_mm")[2])


def test_the_dew_point_of_a_day_is_weighted_by_how_long_it_holds():
    # 18.333 until 07:00 and 19.444 until 24:00, by local clocks
    same(column(read(grid()), "dewpoint_c")[:1], [(7 * 18.3333 + 17 * 19.4444) / 24])


def test_wind_of_10_m_in_km_an_hour_becomes_wind_of_2_m_in_m_a_second():
    """Factor 0.748: ASCE-EWRI (2005), Eq. 33."""
    aloft = (7 * 9.26 + 12 * 20.372 + 5 * 14.816) / 24 / 3.6

    assert column(read(grid()), "wind_m_s")[0] == pytest.approx(aloft * 0.748, rel=1e-3)
    assert made(read(grid()), "wind_m_s")[:2] == [0, PARTIAL]


def test_radiation_is_estimated_from_the_clouds_of_the_daylight_hours():
    """FAO-56 Eq. 35 with n/N taken as the clear share; Ra of 42.03 N, 7 July: 41.4, Eq. 21."""
    told = read(grid())

    same(column(told, "solar_mj")[1:2], [(0.25 + 0.5 * (1 - 0.45)) * 41.366])
    assert made(told, "solar_mj") == [ESTIMATED, ESTIMATED, 0]
    assert math.isnan(column(told, "solar_mj")[2])


def test_clouds_of_the_night_shade_nothing():
    document = grid()
    cover = [("2026-07-06T00:00:00+00:00/PT9H", 100), ("2026-07-06T09:00:00+00:00/PT17H", 0)]
    document["properties"]["skyCover"] = layer("percent", *cover)

    assert column(read(document), "solar_mj")[0] == pytest.approx(0.75 * 41.45, rel=2e-3)


def test_the_sun_is_highest_over_the_place_and_not_at_noon_of_its_clocks():
    document = grid()
    # Noon of the sun at 93.62 W is 12:00 + 93.62 / 15 h = 18:14:29 UTC: half of the light each
    cover = [("2026-07-06T06:00:00Z/PT12H14M29S", 100), ("2026-07-06T18:14:29Z/PT9H", 0)]
    document["properties"]["skyCover"] = layer("percent", *cover)

    assert column(read(document), "solar_mj")[0] == pytest.approx(0.5 * 41.45, rel=2e-3)


def test_where_the_sun_does_not_rise_there_is_no_radiation():
    document = grid()
    document["properties"]["updateTime"] = "2026-12-20T09:00:00+00:00"
    document["properties"]["skyCover"] = layer("percent", ("2026-12-20T00:00:00+00:00/P3D", 50))
    document["properties"]["maxTemperature"] = layer(
        "degC", ("2026-12-20T15:00:00+00:00/PT13H", -20)
    )
    now = datetime(2026, 12, 20, 10, tzinfo=UTC)

    assert column(read(document, now, place=(71.3, -156.8)), "solar_mj")[0] == 0.0


def test_empty_layers_have_no_unit_and_mean_not_known_rather_than_none():
    document = grid()
    for name in ("quantitativePrecipitation", "skyCover", "dewpoint", "windSpeed"):
        document["properties"][name] = {"values": []}
    document["properties"].pop("dewpoint")

    told = read(document)

    for name in ("rain_mm", "solar_mj", "dewpoint_c", "wind_m_s"):
        assert np.isnan(column(told, name)).all()
        assert made(told, name) == [0, 0, 0]
    assert column(told, "tmax_c")[0] == pytest.approx(32.2222)


def test_null_covers_nothing():
    document = grid()
    slices = document["properties"]["quantitativePrecipitation"]["values"]
    slices[2]["value"] = None  # 07:00 to 13:00 of the first day

    told = read(document)

    assert made(told, "rain_mm")[0] == PARTIAL


@pytest.mark.parametrize("write", [int, str])
def test_places_in_the_grid_come_as_numbers_or_as_texts(write):
    document = grid()
    for name in ("gridX", "gridY"):
        document["properties"][name] = write(document["properties"][name])

    assert read(document).days == 3


def test_merged_values_hold_as_long_as_they_say():
    document = grid()
    document["properties"]["dewpoint"] = layer("degC", ("2026-07-06T03:00:00+00:00/P6DT15H", 17.0))

    told = read(document)

    same(column(told, "dewpoint_c"), [17.0] * 3)
    assert made(told, "dewpoint_c") == [0, 0, 0]


@pytest.mark.parametrize("hours", [25, 24 * 30, -25])
def test_a_forecast_more_than_a_day_from_now_is_refused(hours):
    made_at = datetime(2026, 7, 6, 9, 12, 44, tzinfo=UTC)

    with pytest.raises(Unavailable, match="more than a day from now") as caught:
        read(grid(), made_at + timedelta(hours=hours))
    assert caught.value.retry_later

    assert read(grid(), made_at + timedelta(hours=hours and 23)).days == 3


def test_a_service_whose_clock_is_ahead_has_made_it_now():
    now = datetime(2026, 7, 6, 4, tzinfo=UTC)  # the fifth there still, and five hours before

    told = read(grid(), now)

    assert (told.issued, told.start) == (now, date(2026, 7, 5))


def set_to(path, value):
    """Put a value somewhere into an answer."""

    def spoil(document):
        *way, last = path
        for name in way:
            document = document[name]
        document[last] = value

    return spoil


MAX = ("properties", "maxTemperature")


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (set_to(("properties",), []), "properties is missing"),
        (set_to(("properties", "gridX"), 74), "another place"),
        (set_to(("properties", "gridId"), None), "another place"),
        (set_to(("properties", "updateTime"), None), "does not say when"),
        (set_to(("properties", "updateTime"), "yesterday"), "updateTime"),
        (set_to(("properties", "updateTime"), "2026-07-06T09:00:00"), "says no zone"),
        (set_to(MAX, []), "maxTemperature has no list"),
        (set_to(MAX, {"values": {}}), "maxTemperature has no list"),
        (set_to((*MAX, "uom"), "wmoUnit:degF"), "'wmoUnit:degF' instead of degC"),
        (set_to((*MAX, "uom"), None), "instead of degC"),
        (set_to((*MAX, "values", 0), 7), "no value with a time"),
        (set_to((*MAX, "values", 0, "validTime"), None), "without a time"),
        (set_to((*MAX, "values", 0, "validTime"), "2026-07-06T12:00:00Z/13H"), "no interval"),
        (set_to((*MAX, "values", 0, "value"), True), "no number"),
        (set_to((*MAX, "values", 0, "value"), "32"), "no number"),
        (set_to((*MAX, "values", 0, "value"), 10**400), "no number"),
        (set_to((*MAX, "values", 0, "value"), 320.0), "maxTemperature holds 320, which cannot be"),
        (set_to((*MAX, "values", 1, "validTime"), "2026-07-06T13:00:00Z/PT1H"), "two values"),
        (
            set_to(("properties", "quantitativePrecipitation", "values", 0, "value"), -1),
            "quantitativePrecipitation holds -1, which cannot be",
        ),
    ],
)
def test_an_answer_of_another_shape_is_refused_by_name(spoil, words):
    document = grid()
    spoil(document)

    with pytest.raises(Unavailable, match=words) as caught:
        read(document)
    assert not caught.value.retry_later
    assert str(caught.value).startswith("them, there: ")


@pytest.mark.parametrize("body", [b"", b"<html>outage</html>", b'{"properties":'])
def test_what_is_no_data_may_be_asked_for_again(body):
    with pytest.raises(Unavailable) as caught:
        read(body)
    assert caught.value.retry_later


def test_an_answer_without_any_value_may_be_asked_for_again():
    document = grid()
    for name in ("maxTemperature", "minTemperature", "quantitativePrecipitation"):
        document["properties"][name] = {"values": []}

    with pytest.raises(Unavailable, match="no value for any coming day") as caught:
        read(document)
    assert caught.value.retry_later


def test_the_mark_of_what_is_said_changes_with_it_and_with_nothing_else():
    later, other = grid(), grid()
    later["properties"]["updateTime"] = "2026-07-06T09:40:00+00:00"
    other["properties"]["maxTemperature"]["values"][0]["value"] = 31.0

    assert read(later).fingerprint == read(grid()).fingerprint
    assert read(other).fingerprint != read(grid()).fingerprint
