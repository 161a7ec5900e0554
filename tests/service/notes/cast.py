"""Invented people and fields of Alder County, used by every test of notes and by the eye."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from rootbound_service.notes.facts import DaysAhead, FieldFacts, SeasonSeries
from rootbound_service.records import Person

NIGHT = date(2025, 7, 16)
NOW = datetime(2025, 7, 17, 9, 30, tzinfo=UTC)
PLANTED = date(2025, 5, 4)

MAREN = Person("Maren Holt", "maren@holt.example", "grower", "us", "America/Chicago", 1)
TOBIAS = Person("Tobias Reyl", "tobias@reyl.example", "grower", "metric", "America/Chicago", 2)
INES = Person("Ines Varga", "ines@varga.example", "adviser", "us", "America/Chicago", 3)


def season(held_mm: float, free_mm: float, seed: int = 1) -> SeasonSeries:
    """Invent a season that ends with the given water in reach: two buckets under one rain."""
    rng = np.random.default_rng(seed)
    days = (NIGHT - PLANTED).days + 1
    rain = np.where(rng.random(days) < 0.24, rng.gamma(1.3, 9.0, days), 0.0)
    rain[-12:] *= 0.15
    rain[-3] += max(free_mm - 34.0, 0.0)
    ahead = tuple(NIGHT + timedelta(days=n + 1) for n in range(60))
    n = np.arange(1, 61)
    use = 3.0 + 0.02 * n
    return SeasonSeries(
        dates=tuple(PLANTED + timedelta(days=n) for n in range(days)),
        rain_mm=rain,
        held_water_mm=_bucket(rain, max(held_mm * 1.1, 34.0), held_mm),
        free_water_mm=_bucket(rain, 95.0, free_mm),
        ahead=ahead,
        held_low_mm=np.maximum(held_mm - 5.4 * n, 0.0),
        held_mid_mm=np.maximum(held_mm - use * n * 0.8, 1.0 + 0.08 * n),
        held_high_mm=held_mm + (40.0 - held_mm) * (1 - np.exp(-n / 7.0)),
        free_mid_mm=np.maximum(free_mm - use * n * 0.7, 4.0 + 0.1 * n),
    )


def _bucket(rain: np.ndarray, size_mm: float, end_mm: float) -> np.ndarray:
    """Water of one twin; its use is scaled until the season ends at ``end_mm``."""
    ramp = np.linspace(0, 1, len(rain))
    low, high = 0.05, 4.0
    for _ in range(40):
        scale = (low + high) / 2
        level, path = 16.0, np.zeros(len(rain))
        for today, fell in enumerate(rain):
            room = 18 + (size_mm - 18) * ramp[today]
            grown = 0.012 * (size_mm - 18)
            level = min(level + fell + grown - scale * (1.0 + 5.2 * ramp[today] ** 1.6), room)
            path[today] = level = max(level, 0.0)
        low, high = (scale, high) if level > end_mm else (low, scale)
    path[-1] = end_mm
    return path


def field(name: str = "Long Acre", **changes: Any) -> FieldFacts:
    """A field at rung 2 whose roots are the reason; any fact can be changed."""
    facts = FieldFacts(
        field_id=11,
        field_name=name,
        grower_name=MAREN.name,
        night=NIGHT,
        crop="maize",
        stage="V15",
        planted=PLANTED,
        gdd_f_total=1184.0,
        days_to_silk=8,
        status="watched",
        rung=2,
        previous_rung=1,
        free_rung=0,
        reason="stress_likely_7_days",
        wall_class=2,
        dug_on=date(2025, 6, 3),
        plants_dug=10,
        reach=0.58,
        water_in_reach_mm=10.2,
        free_water_mm=41.0,
        days_ahead=DaysAhead("days", 6.2, 4.0, 9.3),
        chance_7=0.634,
        chance_14=0.8,
        stress_past_7=0.2,
        stress_season=0.4,
        weather_source="NASA POWER",
        weather_through=date(2025, 7, 14),
        series=season(10.2, 41.0),
        critical_window=True,
    )
    return replace(facts, **changes)


def unrated(name: str = "Gravel Piece", **changes: Any) -> FieldFacts:
    """A field nobody has dug in: computed as free roots, never fine."""
    bare: dict[str, Any] = {
        "status": "unrated", "rung": 1, "previous_rung": None, "free_rung": 1,
        "wall_class": None, "dug_on": None, "plants_dug": 0, "reach": None,
        "water_in_reach_mm": 29.0, "free_water_mm": 29.0, "days_ahead": DaysAhead("none"),
        "series": season(29.0, 29.0, 5), "reason": "stress_likely_14_days",
    }  # fmt: skip
    return field(name, **(bare | changes))


def unknown(name: str = "Chapel Field", **changes: Any) -> FieldFacts:
    """A field whose weather is too old for any answer."""
    bare: dict[str, Any] = {
        "status": "unknown", "rung": None, "free_rung": None, "water_in_reach_mm": None,
        "free_water_mm": None, "days_ahead": DaysAhead("none"), "chance_7": None,
        "chance_14": None, "weather_through": date(2025, 7, 2), "series": None,
        "reason": "weather_too_old",
    }  # fmt: skip
    return field(name, **(bare | changes))


def alder_county() -> tuple[FieldFacts, ...]:
    """Twelve fields of two growers, every state among them."""
    tobias = TOBIAS.name
    return (
        field("Long Acre", field_id=11),
        field(
            "Mill Bottom", field_id=12, grower_name=tobias, rung=3, previous_rung=1, wall_class=3,
            stage="V16", days_to_silk=5, water_in_reach_mm=2.1, free_water_mm=33.0, reach=0.36,
            reason="short_past_3_days", chance_7=0.9, chance_14=0.97,
            days_ahead=DaysAhead("free_would_not"), series=season(2.1, 33.0, 2),
        ),
        field(
            "Heron Flats", field_id=13, rung=1, previous_rung=1, free_rung=1, wall_class=0,
            water_in_reach_mm=24.0, free_water_mm=24.5, reach=0.97, chance_7=0.27, chance_14=0.57,
            reason="stress_likely_14_days", days_ahead=DaysAhead("days", 0.2, 0.0, 1.0),
            series=season(24.0, 24.5, 3),
        ),
        field(
            "Orchard Forty", field_id=14, grower_name=tobias, rung=0, previous_rung=2, wall_class=1,
            water_in_reach_mm=47.0, free_water_mm=58.0, reach=0.88, chance_7=0.0, chance_14=0.1,
            reason="fell_after_wetting", days_ahead=DaysAhead("neither"),
            series=season(47.0, 58.0, 4),
        ),
        unrated("Gravel Piece", field_id=15),
        unrated("Brick Kiln", field_id=16, grower_name=tobias, rung=0, free_rung=0,
                series=season(44.0, 44.0, 8), free_water_mm=44.0, water_in_reach_mm=44.0),
        unknown("Chapel Field", field_id=17, grower_name=tobias),
        field(
            "North Sixty", field_id=18, rung=4, previous_rung=3, free_rung=1, wall_class=3,
            stage="R1", days_to_silk=-1, water_in_reach_mm=0.0, free_water_mm=21.0, reach=0.31,
            reason="failing_past_7_days", chance_7=1.0, chance_14=1.0,
            days_ahead=DaysAhead("days", 13.0, 9.0, 19.0), series=season(0.0, 21.0, 9),
        ),
        field("Willow Bend", field_id=19, grower_name=tobias, rung=0, previous_rung=0, wall_class=0,
              water_in_reach_mm=52.0, free_water_mm=52.0, chance_7=0.0, chance_14=0.07, reach=1.0,
              reason="ample", days_ahead=DaysAhead("neither"), series=season(52.0, 52.0, 10)),
        field("Quarry Top", field_id=20, rung=1, previous_rung=0, water_in_reach_mm=19.0,
              free_water_mm=44.0, chance_7=0.3, chance_14=0.6, reason="stress_likely_14_days",
              days_ahead=DaysAhead("days", 9.0, 5.0, 14.0), series=season(19.0, 44.0, 11)),
        field("Little Marsh", field_id=21, grower_name=tobias, rung=0, previous_rung=None,
              wall_class=1, water_in_reach_mm=38.0, free_water_mm=49.0, chance_7=0.0, chance_14=0.2,
              reason="ample", days_ahead=DaysAhead("neither"), series=season(38.0, 49.0, 12)),
        field("Late Strip", field_id=22, status="waiting", rung=None, previous_rung=None,
              stage="planted", days_to_silk=None, water_in_reach_mm=None, free_water_mm=None,
              free_rung=None, wall_class=None, dug_on=None, chance_7=None, chance_14=None,
              days_ahead=DaysAhead("none"), series=None, critical_window=False),
    )  # fmt: skip
