"""What a note rests on, kept with it: enough to compute it again, to the digit.

No address and no name is in it: people are numbers, in the order in which they spoke.
"""

from __future__ import annotations

import json
import platform
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from typing import TYPE_CHECKING, cast

import numpy as np

from rootbound_rules.season.cache import rules_fingerprint
from rootbound_service.nights.compute import seed_of
from rootbound_service.nights.further import further
from rootbound_service.nights.kept import cut_of, days_from, past_fingerprint
from rootbound_service.nights.plain import plain
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import NO_SOURCE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.risk.ladder import Decision
    from rootbound_service.nights.parts import CellNight, Computed
    from rootbound_service.records import FieldRecord, RiskRecord
    from rootbound_service.weather.series import PlaceDays

FORM = 2
"""Of the evidence; form 1 had no past years and cannot be computed again from itself."""

DAILY = ("days", "held_onset_by", "free_onset_by", "held_water", "free_water")
"""Of the prospects: some 20 kB of figures that the rest of the evidence gives again."""


def evidence_of(
    computed: Computed,
    row: RiskRecord,
    decision: Decision | None,
    before: RiskRecord | None,
    more: Mapping[str, object] | None = None,
) -> dict[str, object]:
    """Collect the inputs and results behind a note.

    Parameters
    ----------
    computed
        The field with its season, cell and outlook.
    row
        The figures of the night.
    decision
        Of the ladder, None where the field was not on it.
    before
        The night before, None on a first night: what the ladder remembered.
    more
        Further results worth keeping, beside rain to hold and what reports of leaves moved.

    Returns
    -------
    dict
        What JSON holds: all that was known of the field and the sky that night, the past
        years by fingerprint, what the ladder remembered, and every figure that came of it.
    """
    found: dict[str, object] = {
        "form": FORM,
        "rules": rules_fingerprint(),
        "made_with": made_with(),
        "night": row.night.isoformat(),
        "status": computed.status,
        "field_id": computed.field.id,
        "seed": seed_of(computed.field),
        "before": plain(before) if before else None,
        "row": plain(row),
        "said": said_of(computed.field, row.night),
    }
    if computed.season is not None:
        found["season"] = plain(computed.season)
    if computed.outlook is not None and computed.cell is not None:
        found |= _sky(computed.cell, computed.outlook.plan.first, computed.field.crop)
        found["known_through"] = computed.outlook.known_through.isoformat()
        found["years"] = list(computed.outlook.years)
    if computed.assessment is not None:
        found["assessment"] = assessed(computed.assessment)
    if decision is not None:
        found["decision"] = plain(decision)
    found["irrigated"] = computed.field.irrigated
    own = further(computed.outlook, computed.belief, row, irrigated=computed.field.irrigated)
    found["more"] = own | cast("dict[str, object]", plain(more or {}))
    return found


@cache
def made_with() -> dict[str, str]:
    """Versions of what computed it, for information: the digits rest on the rules alone."""
    packages = {name: version(name) for name in ("rootbound", "numba", "numpy", "scipy")}
    return packages | {"python": platform.python_version(), "machine": platform.machine()}


def said_of(field: FieldRecord, night: date) -> dict[str, object]:
    """Digs and observations that counted, with their numbers and times; people as numbers.

    Parameters
    ----------
    field
        The field as it was stored that night.
    night
        The night: what is of a later day did not count yet.
    """
    digs = [dig for dig in field.digs if dig.dug_on <= night]
    told = [one for one in field.observations if one.day <= night]
    people: dict[str, int] = {}
    number = {name: people.setdefault(name.casefold(), len(people) + 1) for name in _people(field)}
    return {
        "digs": [
            plain({"id": one.id, "dug_on": one.dug_on, "by": number.get(one.by),
                   "recorded_at": one.recorded_at})
            for one in digs
        ],
        "observations": [
            plain({"id": one.id, "kind": one.kind, "day": one.day, "value": one.value,
                   "by": number[one.by], "recorded_at": one.recorded_at})
            for one in told
        ],
    }  # fmt: skip


def assessed(assessment: Assessment) -> dict[str, object]:
    """Every figure of an assessment; what has a figure a day to black layer by fingerprint.

    Parameters
    ----------
    assessment
        Of a field and a night.
    """
    told = cast("dict[str, object]", plain(assessment))
    ahead = cast("dict[str, object]", told.get("prospects") or {})
    daily = {key: ahead.pop(key) for key in DAILY if key in ahead}
    if daily:
        ahead["daily_fingerprint"] = sha256(json.dumps(daily).encode()).hexdigest()[:32]
    return told


def origin_of(days: PlaceDays, first: date) -> dict[str, object]:
    """Where each of the season's values comes from: a sign a day for how, one for the source.

    Parameters
    ----------
    days
        The place's days.
    first
        First day told of.
    """
    begin = (first - days.weather.start).days
    how = days.composed.how[:, days.index, begin:]
    source = days.composed.source[:, days.index, begin:]
    sign = {one: str(one) if one < NO_SOURCE else "-" for one in np.unique(source).tolist()}
    signs = {
        name: {
            "how": "".join(map(str, how[row].tolist())),
            "source": "".join(map(sign.__getitem__, source[row].tolist())),
        }
        for row, name in enumerate(QUANTITY_NAMES)
    }
    return {"sources": list(days.composed.names), "days": signs}


def _sky(cell: CellNight, first: date, crop: str) -> dict[str, object]:
    """The cell and its days: this season's in full, the past by fingerprint, the coming ones."""
    kept: Mapping[str, object] | None = getattr(cell, "kept", None)
    if kept is not None:  # a note explained again stands on what it was kept with
        return dict(kept)
    cut = cut_of(cell.weather, first)
    found: dict[str, object] = {
        "first_day": first.isoformat(),
        "cell": cell.key,
        "cell_lat": cell.days.place.cell.lat,
        "cell_elevation_m": cell.elevation_m,
        "rain_assumed_days": cell.patched.rain_assumed,
        "weather_from": cut.isoformat(),
        "weather": days_from(cell.weather, cut),
        "weather_origin": origin_of(cell.days, cut),
        "past_from": cell.weather.start.isoformat(),
        "past_fingerprint": past_fingerprint(cell.weather, cut),
    }
    coming = cell.coming_of(crop)
    if coming is not None and cell.coming is not None:
        found["coming"] = plain(coming)
        source = {"source": cell.coming.source, "issued": cell.coming.issued}
        found["forecast"] = plain(source | {"through": cell.coming.through})
    return found


def _people(field: FieldRecord) -> list[str]:
    """Who dug and saw, in the order in which it was stored; nameless digs are nobody's."""
    return [one.by for one in field.digs if one.by] + [one.by for one in field.observations]
