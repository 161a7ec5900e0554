"""What was played as tables: a row a night, and a row a season and twin."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from math import isnan
from typing import TYPE_CHECKING, TextIO

from rootbound_service.replay.judge import RUNGS, judge
from rootbound_service.replay.values import TWINS

if TYPE_CHECKING:
    from rootbound_service.replay.judge import Judged
    from rootbound_service.replay.values import Night, Played

Cell = str | int | float | None
NIGHT_COLUMNS = (
    "field", "wall_class", "night", "stage", "rated", "critical", "members", "reach",
    *(f"{twin}_{name}" for twin in TWINS for name in (
        "rung", "raw_rung", "chance_14", "chance_7", "water_mm", "note", "reason",
    )),
    "days_ahead", "days_ahead_median", "days_ahead_low", "days_ahead_high",
)  # fmt: skip
SEASON_COLUMNS = (
    "field", "year", "wall_class", "twin", "rain_may_aug_mm", "onset",
    *(f"first_rung_{rung}" for rung in RUNGS), *(f"lead_rung_{rung}_d" for rung in RUNGS),
    "rises", "notes", "short_nights", "worst_rung", "stress_days", "weighted_stress_pct",
    "stress_by_stage",
)  # fmt: skip


def write_nights(seasons: Iterable[Played], file: TextIO) -> None:
    """Write a row for every night of every season.

    Parameters
    ----------
    seasons
        As played.
    file
        Open for text, without newline translation.
    """
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(NIGHT_COLUMNS)
    for one in seasons:
        writer.writerows(_night(one, night) for night in one.nights)


def write_seasons(seasons: Iterable[Played], file: TextIO) -> None:
    """Write a row for both twins of every season.

    Parameters
    ----------
    seasons
        As played.
    file
        Open for text, without newline translation.
    """
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(SEASON_COLUMNS)
    for one in seasons:
        for twin in TWINS:
            writer.writerow(_season(one, judge(one, twin)))


def _night(played: Played, night: Night) -> list[Cell]:
    """One night's row."""
    head: list[Cell] = [
        played.field, played.wall_class, night.night.isoformat(), night.stage, int(night.rated),
        int(night.critical), night.members, round(night.reach, 3),
    ]  # fmt: skip
    ahead = (night.ahead_median, night.ahead_low, night.ahead_high)
    twins = (cell for twin in TWINS for cell in _said(night, twin))
    return [*head, *twins, night.ahead_kind, *(_rounded(days, 1) for days in ahead)]


def _said(night: Night, twin: str) -> Iterator[Cell]:
    """What one twin's columns hold."""
    said = night.free if twin == "free" else night.held
    yield from (said.rung, said.raw_rung, round(said.chance_14, 3), round(said.chance_7, 3))
    yield from (round(said.water_mm, 1), said.note, said.reason)


def _season(played: Played, judged: Judged) -> list[Cell]:
    """One twin's row of a season."""
    rain = _known(played.rain_mm, 1)
    bands = played.came(judged.twin).by_band
    return [
        played.field, played.year, played.wall_class, judged.twin, rain, _day(judged.onset),
        *(_day(night) for night in judged.first), *judged.lead, judged.rises, judged.notes,
        judged.short_nights, judged.worst, round(judged.stress, 2), _known(judged.weighted, 1),
        " ".join(f"{band}:{days:.2f}" for band, days in bands.items()),
    ]  # fmt: skip


def _day(day: object) -> str | None:
    """A date, or nothing."""
    return None if day is None else str(day)


def _known(value: float, digits: int) -> float | None:
    """A number kept short, or nothing where it is none."""
    return None if isnan(value) else round(value, digits)


def _rounded(value: float | None, digits: int) -> float | None:
    """A number kept short, or nothing."""
    return None if value is None else round(value, digits)
