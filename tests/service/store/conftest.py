"""The cast of the store's tests: one grower, one adviser, one field, in Alder County."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any, Protocol

import pytest
from sqlalchemy import Engine

from rootbound_service.records import (
    FieldRecord,
    OutboxMessage,
    Person,
    RiskRecord,
    SoilRecord,
)
from rootbound_service.store.fields import add_field

GROWER = Person("Ada Quill", "ada@quill.example", "grower", time_zone="America/Chicago")
ADVISER = Person("Ben Marsh", "ben@marsh.example", "adviser", units="metric")


class Make(Protocol):
    """Makes a record that differs from the usual one as told."""

    def __call__(self, **changes: Any) -> Any: ...


@pytest.fixture
def a_field() -> Make:
    """Make a field, not stored yet."""
    usual = FieldRecord(
        name="North Forty",
        lat=41.25,
        lon=-93.5,
        elevation_m=None,
        row_spacing_cm=76.0,
        time_zone="America/Chicago",
        grower=GROWER,
        adviser=ADVISER,
        soil=SoilRecord(texture="silty clay loam", clay_pct=33.0),
        crop="maize",
        planted=date(2026, 4, 28),
        black_layer_gdd_f=2700.0,
        seed_depth_cm=5.0,
    )
    return lambda **changes: replace(usual, **changes)


@pytest.fixture
def season_id(store: Engine, a_field: Make) -> int:
    """Enrol the usual field and give its season's id."""
    with store.begin() as conn:
        return add_field(conn, a_field()).season_id


@pytest.fixture
def a_risk(season_id: int) -> Make:
    """Make what a night found for the usual field."""
    usual = RiskRecord(
        season_id=season_id,
        night=date(2026, 7, 1),
        status="watched",
        rung=1,
        raw_rung=1,
        free_rung=0,
        nights_below=0,
        said_rung=None,
        nights_under_said=0,
        reason="stress_possible_14_days",
        stage="V12",
        gdd_f_total=1201.5,
        water_in_reach_mm=31.2,
        free_water_mm=70.9,
        days_ahead_kind="days",
        days_ahead_median=6.0,
        days_ahead_low=3.0,
        days_ahead_high=11.0,
        chance_7=0.12,
        chance_14=0.44,
        stress_past_7=0.0,
        stress_season=0.25,
        reach=0.41,
        weather_through=date(2026, 6, 30),
    )
    return lambda **changes: replace(usual, **changes)


@pytest.fixture
def a_message() -> Make:
    """Make a message, due at once on the shared clock's morning."""
    morning = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)
    usual = OutboxMessage(
        dedupe_key="note-1",
        kind="note",
        channel="email",
        person_id=None,
        to_address=GROWER.email,
        to_name=GROWER.name,
        subject="North Forty: tight",
        text="text",
        html="<p>text</p>",
        images={"chart": b"\x89PNG\r\n\x1a\n\x00"},
        created_at=morning,
        available_at=morning,
        not_after=None,
    )
    return lambda **changes: replace(usual, **changes)
