"""Four hundred invented fields of forty growers, and an adviser's week over all of them."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

import numpy as np

from rootbound_rules.season.heat_normal import HeatNormal
from rootbound_service.notes.facts import DaysAhead, FieldFacts
from rootbound_service.notes.week import Outcome, Week
from rootbound_service.store.unreached import Unreached
from service.notes.cast import NIGHT, field, season, unknown, unrated

FIRST = ("Anneke", "Bruno", "Clara", "Dmitri", "Edda", "Farid", "Greta", "Hugo", "Ida", "Jonas")
LAST = ("Abelard", "Brandvold", "Castellane", "Dunmore")
GROWERS = tuple(f"{first} {last}" for last in LAST for first in FIRST)
PLACES = ("Alder", "Brook", "Chalk", "Dry Run", "Elm", "Fox Hollow", "Grange", "Hazel", "Ivy",
          "Juniper", "Kestrel Ridge", "Larch", "Meadow", "North", "Old Orchard", "Pond", "Quarry",
          "River", "South", "Thistle")  # fmt: skip
KINDS = ("Forty", "Bottom", "Piece", "Strip", "Corner")
SHARES = (0.38, 0.24, 0.16, 0.1, 0.04, 0.05, 0.03)
"""Of the rungs 0 to 4, unrated and unknown."""
REASONS = ("ample", "stress_likely_14_days", "stress_likely_7_days", "short_past_3_days",
           "failing_past_7_days")  # fmt: skip


@cache
def four_hundred(count: int = 400) -> tuple[FieldFacts, ...]:
    """So many fields, always the same ones."""
    rng = np.random.default_rng(6)
    return tuple(_one(number, rng) for number in range(1, count + 1))


def _one(number: int, rng: np.random.Generator) -> FieldFacts:
    """A field of a random state, its water in keeping with its rung."""
    name = f"{PLACES[number % 20]} {KINDS[number // 20 % 5]} {number // 100 + 1}"
    where = {
        "field_id": number,
        "grower_name": GROWERS[number % 40],
        "heat_normal": HeatNormal(1090.0, 980.0, 1160.0),
        "gdd_f_total": float(rng.normal(1120.0, 60.0)),
    }
    state = int(rng.choice(7, p=SHARES))
    if state == 5:
        return unrated(name, series=season(29.0, 29.0, number), **where)
    if state == 6:
        return unknown(name, **where)
    held = max(float(48.0 - 12.0 * state + rng.normal(0.0, 2.5)), 0.0)
    free = held + 4.0 + 6.0 * state
    return field(
        name, rung=state, free_rung=max(state - 1, 0), reason=REASONS[state],
        previous_rung=int(np.clip(state + rng.integers(-1, 2), 0, 4)), wall_class=min(state, 3),
        water_in_reach_mm=held, free_water_mm=free, reach=1.0 - 0.16 * state,
        days_ahead=DaysAhead("days", 3.0 * state, 2.0 * state, 4.0 * state),
        chance_7=min(0.27 * state, 1.0), chance_14=min(0.3 * state, 1.0),
        series=season(held, free, number), **where,
    )  # fmt: skip


def a_week(fields: tuple[FieldFacts, ...], page_url: str = "") -> Week:
    """What the week was like over these fields: each kind of news there is."""
    warned = [one for one in fields if one.rung is not None and one.rung > 1]
    stresses = (2.4, 0.0, 0.3, None)
    came = tuple(
        Outcome(one.field_id, NIGHT - timedelta(days=5), one.rung or 0, one.rung, stresses[n % 4],
                12.7 if n % 2 else 0.0)
        for n, one in enumerate(warned[:40])
    )  # fmt: skip
    missed = tuple(
        (one.field_name, Unreached(n, n, NIGHT - timedelta(days=2), one.rung, status, n, "text"))
        for n, (one, status) in enumerate(
            zip(warned, ("expired", "dead", "folded", "dropped"), strict=False)
        )
    )
    silent = {one.field_id: NIGHT + timedelta(days=9) for one in fields[3:6]}
    return Week(outcomes=came, unreached=missed, silent=silent, page_url=page_url)
