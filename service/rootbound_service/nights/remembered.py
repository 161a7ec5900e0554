"""What a night remembers of the one before: the memory of both twins' ladders, in and out.

The free twin's memory has no columns of its own; it lies in ``RiskRecord.detail``, as do the
last rung of a field that has none tonight and whether good news was taken back. Should a row
be left out because nothing changed beyond rounding, the free twin falls a night later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, cast

from rootbound_rules.risk.ladder import Decision, Memory

if TYPE_CHECKING:
    from rootbound_service.records import RiskRecord

MEMORY = "memory"
"""Name in ``detail``."""
NOTHING = {"free_nights_below": 0, "free_changed_on": None, "took_back": False}
"""Kept of a field that has never moved: what is read where nothing is kept."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """The night before, as far as tonight looks at it."""

    held: Memory | None = None
    """Of the ladder that is shown, None on a first night."""
    free: Memory | None = None
    said_free: bool = False
    took_back: bool = False
    """People were told that roots said to have grown free are held after all."""


def remembered(before: RiskRecord | None) -> Remembered:
    """Read the memory of a row.

    Nights without a rung count for nothing: what was shown before them still stands, and
    successive nights begin anew. A row of an older version has no more of the free twin than
    its rung.

    Parameters
    ----------
    before
        The field's row of the night before, None on its first night.
    """
    if before is None:
        return Remembered()
    kept = _kept(before)
    shown = before.rung if before.rung is not None else _number(kept, "rung")
    held = Memory(
        (before.said_rung or 0) if shown is None else shown,
        before.nights_below,
        before.said_rung,
        before.nights_under_said,
        before.changed_on,
    )
    free_rung = before.free_rung if before.free_rung is not None else _number(kept, "free_rung")
    free = Memory(
        held.rung if free_rung is None else free_rung,
        _number(kept, "free_nights_below") or 0,
        changed_on=_day(kept, "free_changed_on"),
    )
    return Remembered(held, free, before.said_free, bool(kept.get("took_back", False)))


def kept_on_ladder(free: Decision, *, took_back: bool) -> dict[str, object]:
    """Give what to keep in ``detail`` of a night on the ladder.

    Parameters
    ----------
    free
        Of the free twin.
    took_back
        Whether people were told that the roots are held after all.
    """
    return {
        "free_nights_below": free.nights_below,
        "free_changed_on": free.changed_on.isoformat() if free.changed_on else None,
        "took_back": took_back,
    }


def kept_off_ladder(last: Remembered) -> dict[str, object]:
    """Give what to keep of a night without a rung, so that a later one goes on from there.

    Parameters
    ----------
    last
        What was remembered of the night before.
    """
    if last.held is None or last.free is None:
        return {}
    changed = last.free.changed_on
    return {
        "rung": last.held.rung,
        "free_rung": last.free.rung,
        "free_changed_on": changed.isoformat() if changed else None,
        "took_back": last.took_back,
    }


def _kept(before: RiskRecord) -> Mapping[str, object]:
    """The memory in a row's detail; nothing where there is none."""
    kept = before.detail.get(MEMORY)
    return cast("Mapping[str, object]", kept) if isinstance(kept, Mapping) else {}


def _number(kept: Mapping[str, object], name: str) -> int | None:
    value = kept.get(name)
    return value if isinstance(value, int) else None


def _day(kept: Mapping[str, object], name: str) -> date | None:
    value = kept.get(name)
    return date.fromisoformat(value) if isinstance(value, str) else None
