"""Open-Meteo's answers, held to recorded shapes: members, units, lists, and what is refused."""

from __future__ import annotations

import json
import math
from datetime import UTC, date, datetime

import numpy as np
import pytest
import responses
from responses import matchers

from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.open_meteo import OpenMeteo, customer_address
from service.weather.forecast.forecast_rig import NOW, PLACE, column, raw, shape

URL = "http://127.0.0.1"
WIND = "wind_speed_10m_mean"
RAIN = "precipitation_sum"


def ask(document, status=200, *, ensemble=False, now=NOW, places=(PLACE,)):
    """Ask for places and get ``document`` for an answer."""
    body = document if isinstance(document, bytes) else json.dumps(document).encode()
    path = "ensemble" if ensemble else "forecast"
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/v1/{path}", body=body, status=status)
        caller = Caller(Patience(retries=0))
        try:
            return OpenMeteo(caller, URL + "/", ensemble=ensemble).fetch_many(places, now)
        finally:
            caller.close()


def told():
    return shape("openmeteo_forecast_daily")


def refusal(document, status=200, **how):
    """Ask likewise, and give the error."""
    with pytest.raises(Unavailable) as caught:
        ask(document, status, **how)
    assert str(caught.value).startswith("Open-Meteo")
    return caught.value


def test_a_recorded_answer_is_read_into_our_names_and_units():
    (forecast,) = ask(told())

    assert (forecast.start, forecast.end) == (date(2026, 7, 6), date(2026, 7, 8))
    assert (forecast.source, forecast.members, forecast.issued) == ("open_meteo", 1, NOW)
    assert list(column(forecast, "tmax_c")) == [32.1, 33.6, 28.9]
    assert list(column(forecast, "tmin_c")) == [20.3, 21.5, 18.8]
    assert list(column(forecast, "rain_mm")) == [3.4, 0.0, 0.2]
    assert list(column(forecast, "solar_mj")) == [22.71, 26.03, 24.4]
    assert list(column(forecast, "dewpoint_c")) == [18.9, 19.6, 16.2]
    # ASCE-EWRI (2005), Eq. 33: 0.748 from 10 m to 2 m
    assert list(column(forecast, "wind_m_s")) == pytest.approx(
        [3.41 * 0.748, 4.02 * 0.748, 2.97 * 0.748], rel=1e-3
    )
    assert not forecast.made.any()
    assert forecast.raw == json.dumps(told()).encode()


def test_wind_in_km_an_hour_is_the_same_wind():
    document = told()
    document["daily_units"][WIND] = "km/h"
    document["daily"][WIND] = [3.6, 7.2, None]

    (forecast,) = ask(document)

    assert list(column(forecast, "wind_m_s"))[:2] == pytest.approx([0.748, 1.496], rel=1e-3)
    assert math.isnan(column(forecast, "wind_m_s")[2])


def test_members_follow_the_control_and_what_is_not_given_is_not_known():
    (forecast,) = ask(shape("openmeteo_ensemble_daily"), ensemble=True)

    assert (forecast.source, forecast.members, forecast.days) == ("open_meteo_ensemble", 4, 2)
    rain = forecast.values[QUANTITY_NAMES.index("rain_mm")]
    assert rain.tolist() == [[2.0, 3.0], [2.3, 2.8], [2.6, 2.6], [2.9, 2.4]]
    assert np.isnan(forecast.values[QUANTITY_NAMES.index("wind_m_s")]).all()


def test_a_member_missing_from_one_quantity_leaves_the_others_in_their_places():
    document = shape("openmeteo_ensemble_daily")
    del document["daily"][f"{RAIN}_member02"]

    (forecast,) = ask(document, ensemble=True)

    rain = forecast.values[QUANTITY_NAMES.index("rain_mm")]
    assert np.isnan(rain[2]).all()
    assert rain[3].tolist() == [2.9, 2.4]


def test_several_places_come_as_a_list_in_their_order():
    document = shape("openmeteo_forecast_daily_two_locations")

    first, second = ask(document, places=(PLACE, (41.52, -91.1)))

    assert (first.lat, second.lat) == (42.03, 41.52)
    assert second.where == "41.52,-91.1"


def test_trouble_with_several_places_is_told_with_their_number():
    error = refusal([told()], places=(PLACE, (41.52, -91.1)))

    assert error.who == "Open-Meteo, place 42.03 -93.62 and 1 more"


def test_a_list_of_one_is_one_place_too():
    assert ask([told()])[0].days == 3


@responses.activate
@pytest.mark.parametrize(
    ("ensemble", "key", "query"),
    [
        (False, None, {"forecast_days": "16", "timezone": "America/Chicago"}),
        (True, None, {"forecast_days": "10", "models": "ncep_gefs025"}),
        (False, "k3y", {"apikey": "k3y", "wind_speed_unit": "ms"}),
    ],
)
def test_what_is_asked_for(ensemble, key, query):
    daily = "temperature_2m_max,temperature_2m_min,precipitation_sum,"
    daily += "shortwave_radiation_sum,dew_point_2m_mean,wind_speed_10m_mean"
    wanted = {"latitude": "42.0300", "longitude": "-93.6200", "daily": daily, **query}
    matcher = matchers.query_param_matcher(wanted, strict_match=False)
    path = "ensemble" if ensemble else "forecast"
    responses.get(f"{URL}/v1/{path}", json=told(), match=[matcher])
    caller = Caller(Patience(retries=0))

    zone = "America/Chicago"
    source = OpenMeteo(caller, URL, ensemble=ensemble, key=key, zone=zone)
    assert source.fetch(*PLACE, NOW).days == 3
    caller.close()


@pytest.mark.parametrize(
    ("free", "paid"),
    [
        ("https://api.open-meteo.com", "https://customer-api.open-meteo.com"),
        ("https://ensemble-api.open-meteo.com", "https://customer-ensemble-api.open-meteo.com"),
        ("https://customer-api.open-meteo.com", "https://customer-api.open-meteo.com"),
        ("http://127.0.0.1:8081/om", "http://127.0.0.1:8081/om"),
        ("https://open-meteo.example.org", "https://open-meteo.example.org"),
    ],
)
def test_who_pays_is_served_at_another_address_but_nobody_elses_is_changed(free, paid):
    assert customer_address(free) == paid


def test_no_key_is_told_when_the_way_is_cut():
    caller = Caller(Patience(retries=0, timeout_s=1))
    with pytest.raises(Unavailable) as caught:
        OpenMeteo(caller, "http://127.0.0.1:9", key="s3cret").fetch(*PLACE, NOW)
    caller.close()

    assert "s3cret" not in str(caught.value)
    assert caught.value.__cause__ is None


@pytest.mark.parametrize(
    ("document", "status", "words", "later"),
    [
        (raw("openmeteo_error_400"), 400, "start_date' is out of allowed range", False),
        (raw("openmeteo_error_400"), 200, "start_date' is out of allowed range", False),
        (raw("openmeteo_error_429"), 429, "Minutely API request limit exceeded", True),
        (b'{"error":true,"reason":"The service is overloaded"}', 503, "is overloaded", True),
        (b"<html>bad gateway</html>", 502, r"HTTP 502", True),
        (b'{"error":true,"reason":"Something went wrong."}', 500, "went wrong", True),
        (b'{"error":true,"reason":"late"}', 504, "late", True),
        (b'{"error":true,"reason":7}', 400, "refused the request", False),
        (
            raw("openmeteo_forecast_daily") + b"Unexpected error while streaming data: x",
            200,
            "broke off in the middle",
            True,
        ),
        (
            raw("openmeteo_forecast_daily")[:300] + b"Unexpected error while streaming data",
            200,
            "broke off in the middle",
            True,
        ),
        (raw("openmeteo_forecast_daily")[:300], 200, "cut short", True),
        (b"<html>outage</html>", 200, "web page", True),
        (b"[]", 200, "answered for 0 places instead of 1", False),
        (b"[1]", 200, "no JSON object", False),
        (b"7", 200, "no JSON object", False),
        (raw("openmeteo_forecast_daily_two_locations"), 200, "2 places instead of 1", False),
    ],
)
def test_a_refusal_is_a_sentence_with_the_services_own_reason(document, status, words, later):
    error = refusal(document, status)

    assert words in error.what
    assert error.retry_later is later


def put(part, name, value):
    def spoil(document):
        (document[part] if part else document)[name] = value

    return spoil


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (put(None, "daily", []), "daily is missing"),
        (put(None, "daily_units", None), "daily_units is missing"),
        (put(None, "latitude", None), "does not say its latitude"),
        (put(None, "latitude", 43.0), "answered for 43 -93.6253 instead"),
        (put(None, "longitude", 93.62), "instead"),
        (put("daily", "time", []), "0 days"),
        (put("daily", "time", ["2026-07-06"] * 41), "41 days"),
        (put("daily", "time", ["2026-07-06", "2026-07-08", "2026-07-09"]), "follow each other"),
        (put("daily", "time", ["9999-12-31"] * 3), "is no day"),
        (put("daily", "time", [None] * 3), "is no day"),
        (put("daily", "time", ["2025-07-06", "2025-07-07", "2025-07-08"]), "days from 2025-07-06"),
        (put("daily", RAIN, [1.0, 2.0]), "precipitation_sum has 2 values for 3 days"),
        (put("daily", RAIN, 1.0), "precipitation_sum is missing"),
        (put("daily", RAIN, [1.0, "2", 3.0]), "which is no number"),
        (put("daily", RAIN, [1.0, True, 3.0]), "which is no number"),
        (put("daily", RAIN, [1.0, 10**400, 3.0]), "which is no number"),
        (put("daily", RAIN, [1.0, -2.0, 3.0]), "rain_mm of -2, which cannot be"),
        (put("daily", "temperature_2m_max", [90.0, 90.1, 84.0]), "tmax_c of 90"),
        (put("daily", f"{RAIN}_member00", [1.0, 2.0, 3.0]), "is no member"),
        (put("daily_units", RAIN, "inch"), "'inch' instead of mm"),
        (put("daily_units", "temperature_2m_max", "°F"), "'°F' instead of °C"),
        (put("daily_units", WIND, None), "instead of m/s or km/h"),
        (put("daily_units", RAIN, ["mm"]), "instead of mm"),
    ],
)
def test_an_answer_of_another_shape_is_refused_by_name(spoil, words):
    document = told()
    spoil(document)
    error = refusal(document)

    assert words in error.what
    assert not error.retry_later


def test_a_quantity_without_values_needs_no_unit():
    document = told()
    document["daily"]["dew_point_2m_mean"] = [None] * 3
    document["daily_units"]["dew_point_2m_mean"] = "undefined"

    assert np.isnan(column(ask(document)[0], "dewpoint_c")).all()


def test_days_beyond_the_last_value_are_not_told():
    document = told()
    for name in ("temperature_2m_max", "temperature_2m_min", RAIN):
        document["daily"][name][2] = None

    assert ask(document)[0].days == 2


def test_an_answer_without_any_value_may_be_asked_for_again():
    document = told()
    for name in ("temperature_2m_max", "temperature_2m_min", RAIN):
        document["daily"][name] = [None] * 3

    assert refusal(document).retry_later


def test_a_place_across_the_date_line_is_near():
    document = told()
    document["longitude"] = 179.9

    assert ask(document, places=((42.03, -179.9),))[0].days == 3


def test_the_day_there_may_be_tomorrows_or_yesterdays_of_ours():
    for now in (datetime(2026, 7, 5, 20, tzinfo=UTC), datetime(2026, 7, 7, 4, tzinfo=UTC)):
        assert ask(told(), now=now)[0].start == date(2026, 7, 6)


def test_the_whole_globe_is_covered():
    caller = Caller(Patience(retries=0))
    source = OpenMeteo(caller, URL)
    caller.close()

    assert source.covers(-42.0, 147.0)
    assert not source.covers(91.0, 0.0)
