"""Figures of how belief moved: before and after the reports, with their middle 80 %."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.dig import crossed_share
from rootbound_rules.season.members import draw_members
from rootbound_rules.season.weighing import weighted_quantiles
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.values import FieldSeason
    from rootbound_rules.season.weighing import Numbers

Three = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Moved:
    """One quantity before and after the reports: 10, 50 and 90 % of the draws."""

    name: str
    """``water`` and ``stress`` of the crop as it stands, else the uncertain parameter."""
    words: str
    unit: str
    before: Three
    after: Three

    @property
    def narrower(self) -> float:
        """Share by which the middle 80 % shrank; negative where it grew. [-]"""
        was, now = self.before[2] - self.before[0], self.after[2] - self.after[0]
        return 1.0 - now / was if was > 0.0 else 0.0

    def told(self) -> dict[str, object]:
        """The figures as JSON holds them."""
        return {
            "name": self.name,
            "words": self.words,
            "unit": self.unit,
            "before": list(self.before),
            "after": list(self.after),
        }


WORDS = {
    "water": ("water in reach on the last known day", "mm"),
    "stress": ("stress of the last 7 known days", "stress-day equivalents"),
    "available": ("available water of the soil", "mm/m"),
    "diffusivity": ("how fast water moves sideways", "cm2/d"),
    "halving": ("resistance that halves root growth", "MPa"),
    "slot": ("half-width of the held slab at emergence", "cm"),
    "widening": ("widening of the slab with depth", "-"),
    "late_rate": ("late crossing of trapped roots", "1/d"),
    "drying": ("exponent of soil strength on drying", "-"),
    "kcb_mid": ("crop coefficient in mid season", "-"),
    "crossed": ("share of the roots that cross, by the last count", "-"),
}


def moved_of(
    season: FieldSeason,
    points: NDArray[np.float64],
    weights: Numbers,
    water: Numbers,
    stress: Numbers,
) -> tuple[Moved, ...]:
    """Return every quantity before and after the draws were weighed.

    Parameters
    ----------
    season
        The field.
    points
        Positions of the draws, shape (draws, 9).
    weights
        Of each draw; they sum to 1.
    water, stress
        Of each draw: water in reach on the last known day [mm], stress of the last 7. [d]
    """
    draws = draw_members(season.soil, points, season.crop)
    values: dict[str, Numbers] = {"water": water, "stress": stress}
    for name in (
        "available",
        "diffusivity",
        "halving",
        "slot",
        "widening",
        "late_rate",
        "kcb_mid",
        "drying",
    ):
        values[name] = np.array([getattr(draw, name) for draw in draws], np.float64)
    crossed = _crossed(season, points[:, 6])
    if crossed is not None:
        values["crossed"] = crossed
    even = np.full(len(points), 1.0 / len(points))
    return tuple(
        Moved(name, *WORDS[name], weighted_quantiles(one, even), weighted_quantiles(one, weights))
        for name, one in values.items()
    )


def _crossed(season: FieldSeason, quantiles: Numbers) -> Numbers | None:
    """Share crossed in each draw by the last dig that counted roots, if one did."""
    counted = [dig for dig in season.digs if (dig.crossing or 0) + (dig.held or 0) > 0]
    if not counted:
        return None
    last = max(counted, key=lambda dig: dig.dug_on)
    prior = load_table("wall").number("dig.prior")
    crossing, held = last.crossing or 0, last.held or 0
    return np.array([crossed_share(crossing, held, float(q), prior) for q in quantiles])
