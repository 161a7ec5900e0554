"""From a table of nights to the numbers of the report: one dictionary, plain values only."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
from numpy.typing import NDArray

from calibration.coming_true import EVENTS, HORIZONS, TWINS
from calibration.runs import Table
from calibration.scores import (
    Share,
    brier,
    climatology,
    decompose,
    histogram,
    one_a_season,
    ranked,
    reliability,
    share,
    skill,
    skill_error,
)

WATERS = tuple(f"water{days}_{twin}" for twin in TWINS for days in HORIZONS)
DRAW_SEED = 80
"""Of the one night a season."""


def summary(table: Table) -> dict:
    """Return every number of the report.

    Parameters
    ----------
    table
        From :func:`calibration.runs.run`.
    """
    return {
        "seasons": len(np.unique(table["season"])),
        "nights": len(table["season"]),
        "world": _world(table),
        "chances": {name: chance(table, name) for name in EVENTS},
        "rungs": rungs(table),
        "days_ahead": days_ahead(table),
        "water": {name: covered(table, name, np.ones(len(table["season"]), bool))
                  for name in WATERS},
    }  # fmt: skip


def chance(table: Table, name: str) -> dict:
    """Return the scores of one chance; onset is judged while it is still open.

    Parameters
    ----------
    table
        Nights.
    name
        Of ``EVENTS``.
    """
    twin = "free" if name.endswith("free") else "held"
    kept = table[f"open:{twin}"] if name.startswith("onset") else np.ones(len(table["week"]), bool)
    part = {column: values[kept] for column, values in table.items()}
    said, seen, season = part[f"p:{name}"], part[f"o:{name}"], part["season"]
    before = part[f"rung_before_{twin}"]
    others = {
        "climatology": climatology(seen, season, part["climate"], part["week"]),
        "climatology_by_wall": climatology(
            seen, season, part["climate"], part["week"], part["wall"]
        ),
        "rung_persists": (before >= _rung_that_says(name)).astype(float),
        "rung_persists_as_chance": climatology(seen, season, before),
    }
    mine = brier(said, seen)
    return {
        "nights": len(said),
        "seasons": len(np.unique(season)),
        "seen": float(seen.mean()),
        "said": float(said.mean()),
        "brier": mine,
        "parts": asdict(decompose(said, seen)),
        "skill": {
            other: {
                "skill": skill(mine, brier(chances, seen)),
                "error": skill_error(said, chances, seen, season),
            }
            for other, chances in others.items()
        },
        "reliability": [asdict(one) for one in reliability(said, seen, season)],
    }


def _rung_that_says(name: str) -> int:
    """Rung from which 'it stays as last night' says yes to an event."""
    if name.startswith("rung"):
        return int(name[4])
    return 2 if name.startswith(("stress7", "onset7")) else 1


def rungs(table: Table) -> dict:
    """Return how good the five chances of the worst rung of two weeks were, as one score."""
    mine = np.stack([table[f"rungs{k}"] for k in range(5)], axis=1)
    came, season = table["rung_true"], table["season"]
    stays = np.eye(5)[table["rung_before_held"]]
    base = np.stack(
        [climatology(came == k, season, table["climate"], table["week"]) for k in range(5)], axis=1
    )
    after = np.stack(
        [climatology(came == k, season, table["rung_before_held"]) for k in range(5)], axis=1
    )
    score = ranked(mine, came)
    return {
        "ranked_score": score,
        "skill": {
            "climatology": skill(score, ranked(base, came)),
            "rung_persists": skill(score, ranked(stays, came)),
            "rung_persists_as_chance": skill(score, ranked(after, came)),
        },
        "said": mine.mean(axis=0).tolist(),
        "seen": (np.bincount(came, minlength=5) / len(came)).tolist(),
    }


def days_ahead(table: Table) -> dict:
    """Return how often the range of days ahead held the truth, and for which fields."""
    stated = table["ahead_stated"]
    short = ~np.isnan(table["ahead:true"])
    found = {
        "all": covered(table, "ahead", stated),
        "silent_though_short": float(table["ahead_silent_wrong"][short].mean()),
        "free_would_not_said": float(table["free_would_not"][stated].mean()),
        "free_would_not_seen": float(np.isinf(table["ahead:true"][stated]).mean()),
    }
    found["by_wall"] = {
        str(k): covered(table, "ahead", stated & (table["wall"] == k)) for k in range(4)
    }
    found["by_dig"] = {
        "counted": covered(table, "ahead", stated & table["counted"]),
        "wall only": covered(table, "ahead", stated & ~table["counted"]),
    }
    finite = stated & np.isfinite(table["ahead:high"])
    found["range_with_an_end"] = covered(table, "ahead", finite)
    walls = stated & (table["wall"] > 0)
    found["classes_1_to_3"] = covered(table, "ahead", walls)
    return found


def covered(table: Table, name: str, kept: NDArray[np.bool_]) -> dict:
    """Return how often a range of 80 % held the truth, its ends included or ties shared.

    A truth that equals many members (0 mm left, free roots that never run short) lies on the
    range's end: counted as inside it makes 80 % look like more. With ties shared by chance the
    share of a calibrated range is 80 %.

    Parameters
    ----------
    table
        Nights.
    name
        Of the quantity.
    kept
        Which nights.
    """
    kept = kept & ~np.isnan(table[f"{name}:true"])
    true, place = table[f"{name}:true"], table[f"{name}:place"]
    low, high = table[f"{name}:low"], table[f"{name}:high"]
    inside = (low <= true) & (true <= high)
    whole = (np.round(low) <= np.round(true)) & (np.round(true) <= np.round(high))
    fair = table[f"{name}:fair"]
    season = table["season"]
    once = [
        one_a_season(kept, season, np.random.default_rng([DRAW_SEED, k])) for k in range(ONCE_DRAWS)
    ]
    return {
        "all_nights": _plain(share(inside[kept], season[kept])),
        "all_nights_whole_units": _plain(share(whole[kept], season[kept])),
        "all_nights_ties_shared": _plain(share(fair[kept], season[kept])),
        "one_night_a_season": _once(inside, once, season),
        "one_night_ties_shared": _once(fair, once, season),
        "under": float((true < low)[kept].mean()) if kept.any() else None,
        "over": float((true > high)[kept].mean()) if kept.any() else None,
        "places": histogram(place[kept]).tolist(),
        "places_once": histogram(place[once[0]]).tolist(),
    }


ONCE_DRAWS = 50
"""Random nights are drawn so often and averaged; each draw has one night a season."""


def _once(hit: NDArray[np.bool_], draws: list[NDArray[np.bool_]], season: NDArray) -> dict:
    """Mean over draws of one night a season; the error is that of one draw."""
    shares = [share(hit[picked], season[picked]) for picked in draws]
    mean = float(np.mean([one.share for one in shares]))
    return _plain(replace(shares[0], share=mean))


def _plain(one: Share) -> dict:
    """As plain values, None where there were no cases."""
    return {k: None if isinstance(v, float) and np.isnan(v) else v for k, v in asdict(one).items()}


def _world(table: Table) -> dict:
    """How often it came true in each climate: what the invented world is like."""
    found = {}
    for climate in dict.fromkeys(table["climate"].tolist()):
        here = table["climate"] == climate
        first = here & (table["week"] == 0)
        found[climate] = {
            "seasons": int(first.sum()),
            "held_short": float(table["o:onset_layer_held"][first].mean()),
            "free_short": float(table["o:onset_layer_free"][first].mean()),
        }
    return found
