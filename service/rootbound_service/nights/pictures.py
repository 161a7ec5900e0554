"""A season day by day, packed small for the pages: made anew each night from the outlook.

Water, rain and stress so far rest on the weather as it is known now, not as it was on each night.
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.nights.series import series_of
from rootbound_service.notes.facts import SeasonSeries

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from numpy.typing import NDArray

    from rootbound_rules.season.outlook import Outlook

PAST = ("rain_mm", "held_water_mm", "free_water_mm", "reach")
AHEAD = ("held_low_mm", "held_mid_mm", "held_high_mm", "free_mid_mm", "reach_ahead")
STRESS = ("held_stress", "free_stress")
STEPS = {"reach": 1e-3, "reach_ahead": 1e-3, "held_stress": 1e-3, "free_stress": 1e-3}
STEP_MM = 0.05
"""Half of what is shown. [mm]"""


@dataclass(frozen=True, slots=True, eq=False)
class SeasonPicture:
    """What is drawn of a season."""

    series: SeasonSeries
    held_stress: NDArray[np.float64]
    """Stress-day equivalents of each of ``series.dates``, median of the members. [d]"""
    free_stress: NDArray[np.float64]
    stages: tuple[tuple[str, date], ...]
    """First day of each stage in half of the outlook, past and to come."""


def packed_picture(outlook: Outlook, night: date) -> bytes | None:
    """Pack a season's days.

    Parameters
    ----------
    outlook
        Both twins over all members.
    night
        The night.

    Returns
    -------
    bytes or None
        About a kilobyte; None while no day since planting is known.
    """
    series = series_of(outlook, night)
    if series is None:
        return None
    first = outlook.day(series.dates[0])
    days = slice(first, first + len(series.dates))
    stress = {
        "held_stress": np.median(outlook.held_stress[days], axis=1),
        "free_stress": np.median(outlook.free_stress[days], axis=1),
    }
    past = {name: getattr(series, name) for name in PAST}
    ahead = {name: getattr(series, name) for name in AHEAD}
    head = {
        "first": series.dates[0].isoformat(),
        "past": len(series.dates),
        "ahead": len(series.ahead),
        "stages": [[name, day.isoformat()] for name, day in stages_of(outlook)],
    }
    body = b"".join(
        _whole(name, np.asarray(one, np.float64)) for name, one in (past | stress | ahead).items()
    )
    return _closed(head, body)


def unpacked_picture(packed: bytes) -> SeasonPicture:
    """Unpack what :func:`packed_picture` made.

    Parameters
    ----------
    packed
        As stored.
    """
    head, body = _opened(packed)
    first, past, ahead = date.fromisoformat(head["first"]), head["past"], head["ahead"]
    numbers = np.frombuffer(body, "<i2").astype(np.float64)
    arrays: dict[str, NDArray[np.float64]] = {}
    begin = 0
    for name in (*PAST, *STRESS, *AHEAD):
        end = begin + (ahead if name in AHEAD else past)
        arrays[name] = numbers[begin:end] * STEPS.get(name, STEP_MM)
        begin = end
    held, free = (arrays.pop(name) for name in STRESS)
    series = SeasonSeries(
        dates=tuple(first + timedelta(days=i) for i in range(past)),
        ahead=tuple(first + timedelta(days=past + i) for i in range(ahead)),
        **arrays,
    )
    stages = tuple((name, date.fromisoformat(day)) for name, day in head["stages"])
    return SeasonPicture(series, held, free, stages)


def with_card(packed: bytes, night: date, moment: datetime, detail: Mapping[str, object]) -> bytes:
    """Add what a field's card tells, where the row of the night does not keep it.

    Parameters
    ----------
    packed
        From :func:`packed_picture`.
    night, moment
        Of the row, and when that night was run: run again, it may find otherwise.
    detail
        What the usual night's row would keep in its ``detail``.
    """
    head, body = _opened(packed)
    head["card"] = {"of": _of(night, moment), "detail": dict(detail)}
    return _closed(head, body)


def card_of(packed: bytes, night: date, moment: datetime) -> dict[str, object] | None:
    """Give what :func:`with_card` added.

    Parameters
    ----------
    packed
        As stored.
    night, moment
        Of the row that it is wanted for, and when that night was run.

    Returns
    -------
    dict or None
        None where nothing was added, or for another night or run.
    """
    head, _ = _opened(packed)
    card: Mapping[str, Any] = head.get("card") or {}
    return card["detail"] if card.get("of") == _of(night, moment) else None


def _closed(head: Mapping[str, Any], body: bytes) -> bytes:
    return zlib.compress(json.dumps(head).encode() + b"\n" + body, 6)


def _opened(packed: bytes) -> tuple[dict[str, Any], bytes]:
    line, _, body = zlib.decompress(packed).partition(b"\n")
    return json.loads(line), body


def _of(night: date, moment: datetime) -> list[str]:
    return [night.isoformat(), moment.isoformat()]


def stages_of(outlook: Outlook) -> list[tuple[str, date]]:
    """Give the first day of each stage in half of the outlook, every second leaf, by trade name.

    Parameters
    ----------
    outlook
        Both twins over all members.
    """
    table, middle = outlook.plan.stages, np.median(outlook.gdd_f, axis=1)
    odd = {table.words.at_collar(leaf) for leaf in range(1, int(table.collar_last) + 1, 2)}
    found: list[tuple[str, date]] = []
    for name, heat in table.begins()[1:]:
        place = int(np.searchsorted(middle, heat))
        if name not in odd and place < len(middle):
            found.append((name, outlook.date(place)))
    return found


def _whole(name: str, values: NDArray[np.float64]) -> bytes:
    steps = np.nan_to_num(values) / STEPS.get(name, STEP_MM)
    return np.clip(np.rint(steps), -32768, 32767).astype("<i2").tobytes()
