"""With gauge, water, leaves and a forecast in it, a note still computes again to the digit."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
import pytest

from rootbound_service.nights.explain_again import compute_again
from rootbound_service.nights.explain_note import explain
from rootbound_service.records import ObservationRecord
from rootbound_service.store.fields import find_field
from rootbound_service.store.kept_weather import load
from rootbound_service.store.observations import add_observation
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.day import Forecast
from rootbound_service.weather.places import place_of
from service.nights.rig import DRY, YEAR, Rig, a_field, a_rig

FIRST, LAST, MEMBERS = date(YEAR, 6, 29), date(YEAR, 7, 6), 5
SEEN = (
    ("rain", date(YEAR, 6, 20), 2.5),
    ("irrigation", date(YEAR, 6, 22), 8.0),
    ("rolled", date(YEAR, 6, 27), 1.0),
    ("rolled", date(YEAR, 6, 28), 0.0),
)


def a_forecast(place, night: date) -> Forecast:
    """A dry spell as five members see it; every one has its own figures."""
    chance = np.random.default_rng(night.toordinal())
    usual = {"tmax_c": 33.0, "tmin_c": 19.0, "rain_mm": 0.0, "solar_mj": 23.0,
             "dewpoint_c": 16.0, "wind_m_s": 2.4}  # fmt: skip
    issued = datetime.combine(night - timedelta(days=4), time(6), UTC)
    values = np.array([chance.normal(usual[name], 0.7, (MEMBERS, 12)) for name in usual])
    made = np.zeros((len(usual), 12), np.uint8)
    start = issued.date()
    values[list(usual).index("rain_mm")] = chance.gamma(0.1, 4.0, (MEMBERS, 12))
    assert set(usual) <= set(QUANTITY_NAMES)
    return Forecast(
        "open_meteo", *place.cell.centre, issued, issued, start, tuple(usual), values, made
    )


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("whole"), DRY) as made:
        made.enrol(a_field("Long Acre", irrigated=True))
        with made.service.engine.begin() as conn:
            season_id = find_field(conn, "Long Acre").season_id
            for kind, day, value in SEEN:
                at = datetime.combine(day, time(17), UTC)
                add_observation(conn, season_id, ObservationRecord(kind, day, value, "Maren", at))
        made.bring(FIRST)
        for step in range((LAST - FIRST).days + 1):
            night = FIRST + timedelta(days=step)
            keep_forecast(made, night)
            made.night(night)
        yield made


def keep_forecast(rig: Rig, night: date) -> None:
    """An issue of the last real days, and a fresh one: together they bridge to tonight."""
    parts = rig.service.parts
    field = a_field("Long Acre")
    place = place_of(field.lat, field.lon, parts.order, parts.feeds)
    made = a_forecast(place, night)
    parts.forecasts.keep(place.key, made)
    later, start = made.issued + timedelta(days=3, hours=22), made.start + timedelta(days=3)
    parts.forecasts.keep(place.key, replace(made, issued=later, start=start))


def test_every_note_is_the_same_to_the_digit_with_all_there_is_to_know(rig):
    notes = rig.notes()
    assert notes
    for note in notes:
        evidence = note.evidence
        assert len(evidence["coming"]["rain_mm"]) >= MEMBERS
        assert [one["kind"] for one in evidence["said"]["observations"]] == [one[0] for one in SEEN]
        assert {"hold", "water_to_hold", "belief"} <= set(evidence["more"])
        with rig.service.engine.connect() as conn:
            packed = load(conn, evidence["past_fingerprint"])

        again = compute_again(evidence, packed)
        titles = [step.title for step in explain(note, packed).steps]

        assert again.differences == ()
        assert {"Rain to hold", "Water to hold", "What reports of leaves moved"} <= set(titles)
