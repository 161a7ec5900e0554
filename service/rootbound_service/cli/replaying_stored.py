"""A replay of the service's own store: which seasons, played by its own nights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord, Units
    from rootbound_service.replay.report.facts import About
    from rootbound_service.replay.values import Played
    from rootbound_service.wiring import Parts


def play_store(
    parts: Parts,
    names: Sequence[str],
    years: Sequence[int] | None,
    today: date,
    units: Units,
) -> tuple[tuple[Played, ...], About]:
    """Play stored seasons, a bar beside them on a terminal.

    Parameters
    ----------
    parts
        The wired service.
    names
        Names or numbers of fields; empty: all of them.
    years
        Of planting; None: each field's latest season.
    today
        The last night that has come.
    units
        Of water in the report.
    """
    from rootbound_service.cli.replaying_out import bar
    from rootbound_service.replay.report.facts import About
    from rootbound_service.replay.stored import play_stored, span, stored_fields

    groups = [stored_fields(parts, names, year, today) for year in years or (None,)]
    played: list[Played] = []
    remarks: list[str] = []
    spans = [span(group, today) for group in groups]
    nights = sum(max((last - first).days + 1, 0) for first, last in spans)
    with bar(nights, "Nights") as tick:
        for group in groups:
            for one, unknown in play_stored(parts, group, today, tick):
                played.append(one)
                remarks += _remarks(one, unknown)
    names_of = _told_apart([record for group in groups for record in group])
    named = (replace(one, field=name) for one, name in zip(played, names_of, strict=True))
    place = played[0].season
    return tuple(named), About(
        weather=None, place=place, remarks=tuple(remarks), units=units, forecast=True, stored=True
    )


def _remarks(played: Played, unknown: int) -> list[str]:
    """What to know of a season that is not over, or was not always seen."""
    name, found = f"{played.field} {played.year}", list[str]()
    if unknown:
        found.append(f"{name}: nothing could be said on {unknown} nights")
    end = max(played.stages, default=played.season.planted)
    if played.stages.get(end) != "R6":
        found.append(f"{name}: weather is stored through {end}, what came later is not known")
    return found


def _told_apart(records: Sequence[FieldRecord]) -> list[str]:
    """Names of fields; two of one name carry their numbers."""
    ids: dict[str, set[int]] = {}
    for one in records:
        ids.setdefault(one.name, set()).add(one.id)
    return [f"{one.name} #{one.id}" if len(ids[one.name]) > 1 else one.name for one in records]
