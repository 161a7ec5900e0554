"""The nights of one invented season as the service would live them, and what came true.

On each night the service's own outlook is asked with what was known by then: past years,
the season's days up to yesterday, the dig. Nights are a week apart, from six collars to dent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from calibration.coming_true import HORIZONS, TWINS, Twins, days_ahead, events, worst_rung
from calibration.truth import FieldTruth
from rootbound_rules.crop.table import stages_of
from rootbound_rules.risk import stress
from rootbound_rules.risk.assess import Assessment, assess, readings_on
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.season.outlook import Outlook, look_out
from rootbound_rules.tables import load_table

Row = dict[str, float | int | bool | str]
FIRST_COLLAR = 6.0
NIGHTS_APART = 7
LAST_NIGHT = 165
"""After planting: the outlook ends 200 days after it, and four weeks are asked. [d]"""
OPEN_SHARE = 0.5
"""A night is open for onset while fewer members than this have it behind them."""


@dataclass(frozen=True)
class Asked:
    """How the service is asked; the defaults are how it lives."""

    dig: str = "as dug"
    """Or ``wall only`` (counts unknown), or ``ignored`` (roots taken for free): a lie."""


def season_rows(truth: FieldTruth, asked: Asked = Asked()) -> list[Row]:
    """Every night's chances and ranges of one season beside what came true.

    Parameters
    ----------
    truth
        The season.
    asked
        How the service is asked.
    """
    season = _as_known(truth, asked)
    stages = stages_of(season)
    came = Twins(
        truth.held.stress[:, None], truth.free.stress[:, None], truth.gdd_f[:, None], stages
    )
    rng = np.random.default_rng([truth.seed, 1])
    rows: list[Row] = []
    for week, t in enumerate(_nights(truth, stages.r5)):
        today = truth.first + timedelta(days=t)
        before, now = (
            look_out(season, truth.demand, today - timedelta(days=ago), truth.seed)
            for ago in (2, 1)
        )
        row: Row = {
            "season": truth.number,
            "climate": truth.climate,
            "soil": truth.soil,
            "wall": truth.wall_class,
            "counted": truth.counted,
            "share": truth.true_share,
            "week": week,
            "collars": float(truth.collars[t - 1]),
        }
        last_night = readings_on(before, today - timedelta(days=1))
        row |= {
            f"rung_before_{twin}": raw_rung(reading)[0]
            for twin, reading in zip(TWINS, last_night, strict=True)
        }
        read = assess(now, today)
        row |= _chances(now, read, came, t)
        row |= _water(now, read, truth, t, rng)
        rows.append(row | _ahead(now, read, came, rng))
    return rows


def _as_known(truth: FieldTruth, asked: Asked):
    """The season as the service knows it."""
    if asked.dig == "as dug":
        return truth.season
    if asked.dig == "ignored":
        return replace(truth.season, digs=())
    dig = replace(truth.season.digs[0], crossing=None, held=None)
    return replace(truth.season, digs=(dig,))


def _nights(truth: FieldTruth, r5: float) -> range:
    """Nights a week apart, after the dig is known, from six collars to dent."""
    grown = int(np.argmax(truth.collars >= FIRST_COLLAR)) + 1
    dug = truth.day(truth.season.digs[0].dug_on) + 1
    dent = int(np.count_nonzero(truth.gdd_f < r5))
    last = truth.day(truth.season.planted) + LAST_NIGHT
    return range(max(grown, dug), min(dent, last) + 1, NIGHTS_APART)


def said(read: Assessment) -> dict[str, float]:
    """Chance of each of ``EVENTS`` as the service states it.

    Parameters
    ----------
    read
        The night's assessment.
    """
    coming = read.prospects
    found: dict[str, float] = {}
    for twin in TWINS:
        reading = getattr(read, twin)
        by_day = getattr(coming, f"{twin}_onset_by")
        found[f"stress7_{twin}"] = reading.chance_7
        found[f"stress14_{twin}"] = reading.chance_14
        for days in HORIZONS:
            found[f"onset{days}_{twin}"] = float(by_day[days - 1])
        found[f"onset_layer_{twin}"] = getattr(coming, f"{twin}_chance")
    for k in range(1, 5):
        found[f"rung{k}_or_worse"] = sum(coming.held_rungs[k:])
    return found


def _chances(outlook: Outlook, read: Assessment, came: Twins, t: int) -> Row:
    """Chances and what came true; whether onset was still open."""
    row: Row = {f"p:{name}": chance for name, chance in said(read).items()}
    row |= {f"o:{name}": bool(true[0]) for name, true in events(came, t).items()}
    mark = load_table("ladder").number("onset_days")
    for twin in TWINS:
        behind = (stress.onset(getattr(outlook, f"{twin}_stress"), mark) <= t).mean()
        row[f"open:{twin}"] = bool(behind < OPEN_SHARE)
    row |= {f"rungs{k}": share for k, share in enumerate(read.prospects.held_rungs)}
    row["rung_true"] = int(worst_rung(came, t)[0])
    return row


def _water(outlook: Outlook, read: Assessment, truth: FieldTruth, t: int, rng: Generator) -> Row:
    """Water in reach so many days ahead: the range as stated, the members, and the truth."""
    row: Row = {}
    for twin in TWINS:
        for days in HORIZONS:
            ends = getattr(read.prospects, f"{twin}_water")[:, days]
            members = getattr(outlook, f"{twin}_water")[t + days].astype(np.float64)
            true = float(getattr(truth, twin).water[t + days])
            row |= _judged(f"water{days}_{twin}", ends, members, true, rng)
    return row


def _ahead(outlook: Outlook, read: Assessment, came: Twins, rng: Generator) -> Row:
    """Days ahead as the service states them, the members behind, and the truth."""
    mark = load_table("ladder").number("onset_days")
    held, free = (stress.onset(cube, mark) for cube in (outlook.held_stress, outlook.free_stress))
    stated, true = read.ahead, float(days_ahead(came)[0])
    short = np.isfinite(held)
    members = free[short] - held[short]
    given = stated.kind != "neither"
    row: Row = {
        "free_would_not": float(np.isinf(members).mean()) if len(members) else 0.0,
        "ahead_stated": given and not np.isnan(true),
        "ahead_silent_wrong": not given and not np.isnan(true),
    }
    ends = (stated.low, stated.median, stated.high) if given else (np.nan, np.nan, np.nan)
    low, middle, high = (np.inf if end is None else end for end in ends)
    return row | _judged("ahead", (low, middle, high), members, true, rng)


def _judged(
    name: str,
    ends: Sequence[float],
    members: NDArray[np.float64],
    true: float,
    rng: Generator,
) -> Row:
    """A range of 80 %, the truth, its place among the members, and whether it lies inside.

    A truth that equals members (0 mm left, free roots that never run short) may lie on an end:
    its place among its equals is drawn, and it is inside where that place is.
    """
    low, middle, high = (float(end) for end in ends)
    under, ties = int((members < true).sum()), int((members == true).sum())
    place = (under + rng.random() * (ties + 1)) / (len(members) + 1)
    return {
        f"{name}:low": low,
        f"{name}:mid": middle,
        f"{name}:high": high,
        f"{name}:true": true,
        f"{name}:place": float(place),
        f"{name}:fair": 0.1 < place <= 0.9 if ties else low <= true <= high,
    }
