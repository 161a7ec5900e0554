"""Invented fields and nights for the feeds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from rootbound_service.feeds.cap_chain import Link, chain_of
from rootbound_service.feeds.issuer import Issuer
from rootbound_service.feeds.stand import Night, Stand
from rootbound_service.records import DigRecord, FieldRecord, Person, RiskRecord, SoilRecord
from rootbound_service.store.feed_nights import ToldEarlier

FIRST = date(2026, 7, 10)
MAREN = Person("Maren Holt", "maren@alder.example", "grower", "us", "America/Chicago", 4)
ISSUER = Issuer("watch@rootbound.example", 4, contact="help@rootbound.example")
DAYS = {"V2": "2026-05-20", "V6": "2026-06-08", "V8": "2026-06-15", "silk": "2026-07-20"}


def a_field(name: str = "Long Acre", number: int = 7, **changes) -> FieldRecord:
    usual = {
        "lat": 41.62, "lon": -94.92, "elevation_m": 340.0, "row_spacing_cm": 76.2,
        "time_zone": "America/Chicago", "grower": MAREN, "adviser": None,
        "soil": SoilRecord(texture="loam"), "crop": "maize", "planted": date(2026, 4, 28),
        "black_layer_gdd_f": 2700.0, "seed_depth_cm": 5.0, "id": number, "season_id": 100 + number,
        "digs": (DigRecord(date(2026, 5, 28), 2, 5),),
    }  # fmt: skip
    return FieldRecord(name=name, **(usual | changes))


def a_row(night: date, rung: int | None, status: str = "watched", **changes) -> RiskRecord:
    usual = {
        "season_id": 107, "night": night, "status": status, "rung": rung, "raw_rung": rung,
        "free_rung": 0, "nights_below": 0, "said_rung": rung, "nights_under_said": 0,
        "reason": "ample", "stage": "V12", "gdd_f_total": 1400.0, "water_in_reach_mm": 9.7,
        "free_water_mm": 41.2, "days_ahead_kind": "days", "days_ahead_median": 6.0,
        "days_ahead_low": 4.0, "days_ahead_high": 9.0, "chance_7": 0.62, "chance_14": 0.8,
        "stress_past_7": 0.0, "stress_season": 0.2, "reach": 0.58,
        "weather_through": night - timedelta(days=2), "detail": {"ahead": {"days": DAYS}},
    }  # fmt: skip
    return RiskRecord(**(usual | changes))


def night_at(step: int) -> tuple[date, datetime]:
    """A night and the moment at which its run was done."""
    night = FIRST + timedelta(days=step)
    return night, datetime(night.year, night.month, night.day, 9, 31, 5, 250_000, tzinfo=UTC)


def nights(rungs: Sequence[int | str | None]) -> tuple[Night, ...]:
    """One night after another: a rung, a status, or None for a night that was not run."""
    found = []
    for step, rung in enumerate(rungs):
        if rung is None:
            continue
        night, at = night_at(step)
        row = a_row(night, None, rung) if isinstance(rung, str) else a_row(night, rung)
        found.append(Night(night, at, row))
    return tuple(found)


def told(step: int, rung: int, status: str = "watched") -> ToldEarlier:
    """What letters said an hour before the last run of a night was done."""
    night, at = night_at(step)
    return ToldEarlier(107, night, at - timedelta(hours=1), rung, status)


def a_stand(*rungs: int | str | None, told: Sequence[ToldEarlier] = (), **changes) -> Stand:
    return Stand(a_field(**changes), nights(rungs), tuple(told))


def chain(*rungs: int | str | None, told: Sequence[ToldEarlier] = ()) -> list[Link]:
    return list(chain_of(a_stand(*rungs, told=told)))
