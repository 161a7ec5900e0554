"""A rung that would rise on days taken for dry waits until the rain of those days is known."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from rootbound_service.notes.en.reasons import reason_sentence
from rootbound_service.records import ObservationRecord
from rootbound_service.store.fields import find_field
from rootbound_service.store.observations import add_observation
from rootbound_service.weather.forecast.day import Forecast
from service.nights.rig import INES, SOUTH, YEAR, a_field, a_rig, seasons

QUIET, RISE = date(YEAR, 6, 28), date(YEAR, 7, 1)
"""A night of water enough, and one on which the dry spell tells."""
UNKNOWN = date(YEAR, 6, 27)
"""In the spell: it was dry, but nobody says so yet."""
NOON = datetime(YEAR, 6, 29, 17, tzinfo=UTC)


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, seasons(date(YEAR, 6, 25), date(YEAR, 8, 4))) as made:
        made.enrol(a_field("Long Acre"))
        yield made


def rain(rig, amount, *days):
    """Set what the service says of some days."""
    play = rig.sky.play
    for day in days:
        play.columns["rain_mm"][(day - play._first).days] = amount


def test_without_the_gap_the_rung_rises_on_that_night(rig):
    rig.night(QUIET)
    report = rig.night(RISE)

    assert (rig.row("Long Acre").rung, report.notes) == (1, 1)


def test_a_rise_that_rests_on_a_day_taken_for_dry_is_held_back_and_comes_the_next_night(rig):
    rain(rig, np.nan, UNKNOWN)
    rig.night(QUIET)
    held_report = rig.night(RISE)
    rig.send()
    held = rig.row("Long Acre")

    assert (held.status, held.rung, held.raw_rung) == ("watched", 0, 1)
    assert (held.reason, held.said_rung) == ("rain_not_known", None)
    assert (held_report.notes, rig.box.to(INES.email)) == (0, [])
    assert "no source knows the rain" in reason_sentence(held.reason, held.rung)

    rain(rig, 0.0, UNKNOWN)
    report = rig.night(RISE + timedelta(days=1))
    rig.send()
    risen = rig.row("Long Acre")

    assert (risen.rung, risen.reason, report.notes) == (1, "stress_in_critical_window_14_days", 1)
    assert (rig.notes()[-1].from_rung, rig.notes()[-1].to_rung) == (None, 1)
    assert "Drawing down" in rig.subjects(INES.email)[-1]


def test_rain_that_comes_to_light_takes_the_rise_back_for_good(rig):
    rain(rig, np.nan, UNKNOWN)
    rig.night(QUIET)
    rig.night(RISE)
    rain(rig, 60.0, UNKNOWN, UNKNOWN + timedelta(days=1), UNKNOWN + timedelta(days=2))
    report = rig.night(RISE + timedelta(days=1))

    row = rig.row("Long Acre")
    assert (row.rung, row.raw_rung, row.reason, report.notes) == (0, 0, "ample", 0)


def test_a_day_whose_rain_was_forecast_holds_nothing_back(rig):
    rain(rig, np.nan, UNKNOWN)
    cell = rig.service.parts.feeds["nasa_power"].snap(*SOUTH)
    issued = datetime(YEAR, 6, 25, 9, tzinfo=UTC)
    days = np.zeros((1, 1, 7))
    told = Forecast("nws", *cell.centre, issued, issued, issued.date(), ("rain_mm",), days,
                    np.zeros((1, 7), np.uint8))  # fmt: skip
    rig.service.parts.forecasts.keep(cell.key, told)
    rig.night(QUIET)
    report = rig.night(RISE)

    assert (rig.row("Long Acre").rung, report.notes) == (1, 1)
    signs = rig.notes()[-1].evidence["weather_origin"]["days"]["rain_mm"]["how"]
    assert signs.count("6") == 1  # and the note's evidence says which day it was


def test_a_rung_that_was_told_stays_while_rain_is_not_known(rig):
    rig.night(QUIET)
    rig.night(RISE)
    later = RISE + timedelta(days=1)
    rain(rig, np.nan, later - timedelta(days=3))
    report = rig.night(later)

    row = rig.row("Long Acre")
    assert (row.rung, report.notes) == (1, 0)


def test_three_days_of_unknown_rain_are_no_answer_and_no_alarm_about_old_weather(rig):
    rain(rig, np.nan, *(UNKNOWN - timedelta(days=back) for back in (0, 2, 4)))
    rig.night(QUIET)
    report = rig.night(RISE)

    row = rig.row("Long Acre")
    assert (row.status, row.rung, row.reason) == ("unknown", None, "weather_patchy")
    assert report.failures == ("Long Acre: rain of 3 of the last 14 days is not known",)


def gauge(rig, name, amount, *days):
    """Somebody reads a gauge there."""
    with rig.service.engine.begin() as conn:
        season_id = find_field(conn, name).season_id
        for day in days:
            told = ObservationRecord("rain", day, amount, "Maren Holt", NOON, form_id=f"g{day}")
            add_observation(conn, season_id, told)


def test_a_gauge_that_was_dry_on_that_day_lets_its_own_field_rise_and_no_other(rig):
    rig.enrol(a_field("Far Corner"))
    rain(rig, np.nan, UNKNOWN)
    gauge(rig, "Long Acre", 0.0, UNKNOWN)
    rig.night(QUIET)
    rig.night(RISE)

    gauged, other = rig.row("Long Acre"), rig.row("Far Corner")
    assert (gauged.rung, gauged.reason) == (1, "stress_in_critical_window_14_days")
    assert (other.rung, other.reason) == (0, "rain_not_known")
    assert rig.notes()[-1].evidence["rain_assumed_days"] == 0


def test_days_that_the_gauge_tells_are_not_missing_for_its_field(rig):
    rig.enrol(a_field("Far Corner"))
    days = [UNKNOWN - timedelta(days=back) for back in (0, 2, 4)]
    rain(rig, np.nan, *days)
    gauge(rig, "Long Acre", 0.0, days[0])
    rig.night(QUIET)
    report = rig.night(RISE)

    assert rig.row("Long Acre").status == "watched"
    assert rig.row("Far Corner").status == "unknown"
    assert report.failures == ("Far Corner: rain of 3 of the last 14 days is not known",)
