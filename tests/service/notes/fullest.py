"""A field of which everything is known and has to be said, under the longest names."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np

from rootbound_rules.crop.words import crop_words
from rootbound_rules.risk.exposure import CAVEAT, NO_NUMBER, Exposure
from rootbound_rules.risk.more_plants import MorePlants
from rootbound_rules.risk.rain_to_hold import HoldDay, ToHold
from rootbound_rules.season.heat_normal import HeatNormal
from rootbound_service.notes.facts import FieldFacts, Forecasted, Reach, SeasonSeries, Spell
from service.notes.cast import NIGHT, field, season

FIELD_NAME = "Wolkersdorf-Niederkirchen estate, the north-western half behind the old railway"
GROWER_NAME = "Bartholomew Featherstonehaugh-Abercrombie and Daughters, Limited Partnership"
DAY = timedelta(days=1)
STAGES = {
    crop: ("planted", crop_words(crop).up, *(crop_words(crop).at_collar(n) for n in (1, 5, 12, 18)),
           *crop_words(crop).stages)
    for crop in ("maize", "soybean", "sorghum")
}  # fmt: skip
"""Stages from planting to the last one; of the collars those around which advice changes."""


def hold(kind: str = "rain") -> ToHold:
    """What rain or water would hold a field, by each day of a week, with ranges."""
    amounts = (10.2, 13.4, 18.8, 25.9, None, None, None)
    days = (
        HoldDay(NIGHT + n * DAY, mm, mm and 0.6 * mm, mm and 2.1 * mm)
        for n, mm in enumerate(amounts, 1)
    )
    return ToHold(kind, tuple(days))  # type: ignore[arg-type]  # kind is one of its words


@cache
def noisy(held_mm: float, free_mm: float, seed: int) -> SeasonSeries:
    """A season whose picture packs badly: every line of it jumps from day to day."""
    plain, rng = season(held_mm, free_mm, seed), np.random.default_rng(seed)
    known, ahead = len(plain.dates), len(plain.ahead)
    return replace(
        plain,
        held_water_mm=plain.held_water_mm + rng.uniform(0.0, 25.0, known),
        free_water_mm=plain.free_water_mm + rng.uniform(0.0, 40.0, known),
        rain_mm=rng.gamma(1.0, 8.0, known),
        reach=rng.uniform(0.2, 0.9, known),
        reach_ahead=rng.uniform(0.2, 0.9, ahead),
        held_mid_mm=rng.uniform(0.0, 30.0, ahead),
    )


def reports() -> dict[str, Any]:
    """What three reports of leaves changed, as a season keeps it."""
    used = [
        {"day": f"2025-07-{n:02d}", "rolled": True, "expected": 0.12, "counts": 1.0}
        for n in (8, 10, 12)
    ]
    why = "it is older than the ten days that count"
    return {
        "effective": 12.0, "draws": 512, "thin": True, "used": used,
        "ignored": [{"day": "2025-06-30", "rolled": False, "why": why}],
        "moved": [
            {"name": "water", "before": [0.0, 12.7, 25.4], "after": [0.0, 2.54, 5.08]},
            {"name": "stress", "before": [0.1, 0.6, 1.4], "after": [0.5, 0.9, 1.5]},
        ],
    }  # fmt: skip


@cache
def _plain() -> FieldFacts:
    """Invent its season once."""
    return field(FIELD_NAME)


def fullest(**changes: Any) -> FieldFacts:
    """A field with every fact; any of them can be changed."""
    facts: dict[str, Any] = {
        "grower_name": GROWER_NAME, "chance_short": 0.97,
        "held_short": Spell(NIGHT + 5 * DAY, NIGHT + 2 * DAY, NIGHT + 14 * DAY),
        "free_short": Spell(NIGHT + 17 * DAY, NIGHT + 10 * DAY, None),
        "rung_chances": (0.05, 0.1, 0.3, 0.35, 0.2), "rain_to_hold": hold(),
        "water_to_hold": hold(), "reach_later": Reach(NIGHT + 21 * DAY, 0.58, 0.71, 0.84),
        "forecast": Forecasted("US National Weather Service", NIGHT, NIGHT + 7 * DAY),
        "more_plants": MorePlants("more", 12, 3, 1), "belief": reports(), "gauge_days": 24,
        "watered_days": 3, "pan_class": 3, "pan_depth_cm": 28.0, "wall_class": 3,
        "exposure": Exposure(11.0, 17.0, 24.0, (), 1.0, f"{CAVEAT} {NO_NUMBER}"),
        "heat_normal": HeatNormal(1090.0, 980.0, 1160.0), "dug_on": date(2025, 6, 23),
        "series": noisy(10.2, 41.0, 3),
    }  # fmt: skip
    return replace(_plain(), **(facts | changes))
