"""What a note rests on, kept with it: enough to compute it again."""

from __future__ import annotations

from dataclasses import asdict
from hashlib import sha256
from typing import TYPE_CHECKING, cast

import numpy as np

from rootbound_rules.season.cache import rules_fingerprint
from rootbound_rules.season.values import OPTIONAL_SERIES, REQUIRED_SERIES
from rootbound_service.nights.compute import seed_of
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import NO_SOURCE

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.risk.ladder import Decision
    from rootbound_rules.season.values import DailyWeather, Series
    from rootbound_service.nights.parts import Computed
    from rootbound_service.records import RiskRecord
    from rootbound_service.weather.series import PlaceDays


def evidence_of(
    computed: Computed, row: RiskRecord, decision: Decision | None, before: RiskRecord | None
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

    Returns
    -------
    dict
        Plain values: the season as entered, this season's weather as it was known, a
        fingerprint of the past years and of the rules, the seed, the ladder's memory and
        the decision.
    """
    found: dict[str, object] = {
        "rules": rules_fingerprint(),
        "night": row.night.isoformat(),
        "status": computed.status,
        "seed": seed_of(computed.field),
        "before": _memory(before),
    }
    if computed.season is not None:
        found["season"] = _plain(asdict(computed.season))
    if computed.outlook is not None and computed.cell is not None:
        plan = computed.outlook.plan
        found |= {
            "first_day": plan.first.isoformat(),
            "known_through": computed.outlook.known_through.isoformat(),
            "years": list(computed.outlook.years),
            "cell": computed.cell.key,
            "cell_elevation_m": computed.cell.elevation_m,
            "weather": season_days(computed.cell.weather, plan.first),
            "weather_origin": origin_of(computed.cell.days, plan.first),
            "weather_fingerprint": weather_fingerprint(computed.cell.weather),
        }
    if computed.assessment is not None:
        found["assessment"] = _plain(asdict(computed.assessment))
    if decision is not None:
        found["decision"] = _plain(asdict(decision))
    return found


def season_days(weather: DailyWeather, first: date) -> dict[str, list[float | None]]:
    """Days of the season so far of each series, a gap as None."""
    begin = (first - weather.start).days
    days: dict[str, list[float | None]] = {}
    for name in REQUIRED_SERIES + OPTIONAL_SERIES:
        series = getattr(weather, name)
        if series is not None:
            part = series[begin:]
            days[name] = [None if np.isnan(x) else round(float(x), 4) for x in part]
    return days


def origin_of(days: PlaceDays, first: date) -> dict[str, object]:
    """Where each of the season's values comes from: a sign a day for how, one for the source.

    Parameters
    ----------
    days
        The place's days.
    first
        First day of the season.
    """
    begin = (first - days.weather.start).days
    how = days.composed.how[:, days.index, begin:]
    source = days.composed.source[:, days.index, begin:]
    signs = {
        name: {
            "how": "".join(map(str, how[row])),
            "source": "".join(str(one) if one < NO_SOURCE else "-" for one in source[row]),
        }
        for row, name in enumerate(QUANTITY_NAMES)
    }
    return {"sources": list(days.composed.names), "days": signs}


def weather_fingerprint(weather: DailyWeather) -> str:
    """Fingerprint of every day of a cell, past years included."""
    digest = sha256(weather.start.isoformat().encode())
    for name in REQUIRED_SERIES + OPTIONAL_SERIES:
        series = getattr(weather, name)
        if series is not None:
            digest.update(name.encode() + np.round(cast("Series", series), 4).tobytes())
    return digest.hexdigest()[:32]


def _memory(before: RiskRecord | None) -> dict[str, object] | None:
    """The night before, as far as the ladder looks at it."""
    if before is None:
        return None
    return {
        "night": before.night.isoformat(),
        "status": before.status,
        "rung": before.rung,
        "nights_below": before.nights_below,
        "said_rung": before.said_rung,
        "nights_under_said": before.nights_under_said,
    }


def _plain(value: object) -> object:
    """Turn dates, enums and tuples into what JSON holds."""
    if isinstance(value, dict):
        pairs = cast("dict[object, object]", value)
        return {str(key): _plain(item) for key, item in pairs.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in cast("list[object]", value)]
    if isinstance(value, (bool, int, float, str)) or value is None:
        return value
    return str(value)
