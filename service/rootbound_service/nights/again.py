"""One stored night of one field computed again, for what its row does not keep.

A night of very many fields keeps of a quiet one only what the next night follows from. What its
card tells besides, and its season's days, come out of the stored weather by the functions of
the usual night, as far as it is still known what that night knew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from rootbound_service.clock import SetClock
from rootbound_service.nights.gather import fewest_years, ready_cells
from rootbound_service.nights.one import decide_one
from rootbound_service.nights.pictures import with_card
from rootbound_service.nights.whole_code import read_whole_code
from rootbound_service.store.risk import changed
from rootbound_service.weather.grid_then import feeds_then
from rootbound_service.weather.normals_shelf import NormalsShelf
from rootbound_service.weather.places import place_of

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord, RiskRecord
    from rootbound_service.wiring import Parts

Kind = Literal["same", "moved", "other", "no_weather"]
"""The same figures but for rounding; others on the same rung; another rung; no weather stored."""


@dataclass(frozen=True, slots=True)
class StoredNight:
    """A field's night on the ladder as it is stored, with what was known of the field then."""

    field: FieldRecord
    row: RiskRecord
    before: RiskRecord | None
    """The row before it."""
    moment: datetime
    """When the night was run."""


@dataclass(frozen=True, slots=True, eq=False)
class Again:
    """What a night comes to now."""

    kind: Kind
    packed: bytes | None = None
    """The season's days with what the card tells; None on another rung and without weather."""


def night_again(parts: Parts, stored: StoredNight) -> Again:
    """Compute a stored night again.

    Parameters
    ----------
    parts
        The wired service, of which weather, forecasts and settings are used; no source is asked.
    stored
        The night.

    Returns
    -------
    Again
        From the weather as it stands; if figures have moved since, from the weather without
        what was learned after the day of the night, where that brings the night's own back.
    """
    read_whole_code()
    now = _again(parts, stored)
    if now.kind == "same":
        return now
    then = _again(_parts_then(parts, stored.moment), stored)
    return then if then.kind == "same" else now


def _parts_then(parts: Parts, moment: datetime) -> Parts:
    """The parts with the weather as it was known at the end of a moment's day."""
    return replace(
        parts,
        feeds=feeds_then(parts.feeds, moment.date()),
        normals=NormalsShelf(parts.settings.history_years),
    )


def _again(parts: Parts, stored: StoredNight) -> Again:
    """The night by one state of the weather."""
    row, one, night = stored.row, stored.field, stored.row.night
    then = replace(parts, clock=SetClock(stored.moment))  # no forecast of a later moment counts
    place = place_of(one.lat, one.lon, then.order, then.feeds)
    if place is None:
        return Again("no_weather")
    cell = ready_cells(then, [place], {place.key: {one.crop}}, night, {}).get(place.key)
    if cell is None:
        return Again("no_weather")
    stale = then.settings.weather_stale_days
    done = decide_one(one, cell, stored.before, night, stale, None, fewest_years(then))
    now = done.risk
    same_rung = (now.status, now.rung, now.free_rung) == (row.status, row.rung, row.free_rung)
    if not same_rung or done.picture is None:
        return Again("other")
    kind: Kind = "moved" if changed(row, now) else "same"
    return Again(kind, with_card(done.picture, night, stored.moment, now.detail))
