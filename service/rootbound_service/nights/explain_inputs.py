"""From evidence back to the values that were computed with: no network, no weather store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.values import Dig, FieldSeason, Soil
from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.nights.evidence import FORM
from rootbound_service.nights.kept import joined, past_fingerprint
from rootbound_service.nights.kept_pack import unpack_past
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.plain import number
from rootbound_service.records import ObservationRecord, RiskRecord

if TYPE_CHECKING:
    from rootbound_rules.season.values import DailyWeather
    from rootbound_service.nights.observed import Observed

Evidence = Mapping[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class Inputs:
    """Everything a note was computed from."""

    night: date
    status: str
    season: FieldSeason
    weather: DailyWeather
    """Every day of the cell, past years included."""
    cell_lat: float
    cell_elevation_m: float
    known_through: date
    seed: int
    years: list[int]
    coming: ComingDays | None
    observed: Observed
    rain_assumed_days: int
    field_id: int
    season_id: int
    irrigated: bool
    observations: tuple[ObservationRecord, ...]
    before: RiskRecord | None
    """The night before: what the ladder remembered."""


def inputs_of(evidence: Evidence, packed: bytes | None) -> Inputs:
    """Rebuild what a note was computed from.

    Parameters
    ----------
    evidence
        Of the note.
    packed
        The past years kept under the evidence's ``past_fingerprint``, None where there are none.

    Raises
    ------
    RefusedInput
        If the note is of an earlier version, was not computed at all, or its past years are
        missing or not the ones it names.
    """
    check_form(evidence)
    if "weather" not in evidence:
        what = "nothing was computed that night, so there is nothing to compute again"
        raise _refused(what, "its evidence says why: rootbound explain shows it")
    try:
        return _inputs(evidence, packed)
    except (KeyError, TypeError, ValueError) as error:
        what = f"the evidence is incomplete or was changed ({type(error).__name__}: {error})"
        raise _refused(what, "restore the note from a backup") from None


def check_form(evidence: Evidence) -> None:
    """Refuse evidence that an earlier or later version wrote.

    Parameters
    ----------
    evidence
        Of a note.

    Raises
    ------
    RefusedInput
        If it cannot be computed again by this version.
    """
    form = evidence.get("form", 1)
    if form == FORM:
        return
    if form == 1:
        what = "the note is of an earlier version, which did not keep the past years of weather"
        wanted = "its inputs and figures are there (--json), but it cannot be computed again"
    else:
        what = f"the note's evidence has form {form}; this version reads form {FORM}"
        wanted = "use the version that wrote it or a later one"
    raise _refused(what, wanted)


def row_from(told: Mapping[str, Any]) -> RiskRecord:
    """Read a night's row back.

    Parameters
    ----------
    told
        As evidence holds it; a column that this version does not know is left out.
    """
    names = {one.name for one in fields(RiskRecord)}
    values = {key: value for key, value in told.items() if key in names}
    for key in ("night", "weather_through", "changed_on"):
        values[key] = _day(values.get(key))
    for key in ("days_ahead_median", "days_ahead_low", "days_ahead_high"):
        values[key] = None if values[key] is None else number(values[key])
    return RiskRecord(**values)


def _inputs(evidence: Evidence, packed: bytes | None) -> Inputs:
    """Rebuild from evidence of this version."""
    night = date.fromisoformat(evidence["night"])
    before = evidence["before"]
    told = tuple(_told(one) for one in evidence["said"]["observations"])
    return Inputs(
        night=night,
        status=evidence["status"],
        season=_season(evidence["season"]),
        weather=_weather(evidence, packed),
        cell_lat=evidence["cell_lat"],
        cell_elevation_m=evidence["cell_elevation_m"],
        known_through=date.fromisoformat(evidence["known_through"]),
        seed=evidence["seed"],
        years=list(evidence["years"]),
        coming=_coming(evidence.get("coming")),
        observed=observed_of(told, night),
        observations=told,
        field_id=evidence["field_id"],
        season_id=evidence["row"]["season_id"],
        irrigated=evidence["irrigated"],
        rain_assumed_days=evidence["rain_assumed_days"],
        before=None if before is None else row_from(before),
    )


def _weather(evidence: Evidence, packed: bytes | None) -> DailyWeather:
    """Every day of the cell; the past must be the very one that the evidence names."""
    cut, named = date.fromisoformat(evidence["weather_from"]), evidence["past_fingerprint"]
    if cut <= date.fromisoformat(evidence["past_from"]):
        return joined(None, cut, evidence["weather"])
    if packed is None:
        what = f"the past years of weather it rests on are not kept ({named})"
        raise _refused(what, "restore the table kept_weather from a backup")
    try:
        past = unpack_past(packed)
        whole = joined(past, cut, evidence["weather"])
    except ServiceError as error:
        raise _refused(str(error), "restore the table kept_weather from a backup") from None
    if past_fingerprint(past, cut) != named:
        what = f"the kept past years are not those it was computed from ({named})"
        raise _refused(what, "restore the table kept_weather from a backup")
    return whole


def _season(told: Mapping[str, Any]) -> FieldSeason:
    """The season as it was entered and dug."""
    digs = tuple(_dig(one) for one in told["digs"])
    own: dict[str, Any] = {
        "soil": Soil(**told["soil"]),
        "digs": digs,
        "planted": _day(told["planted"]),
    }
    values: dict[str, Any] = {**told, **own}
    return FieldSeason(**values)


def _dig(told: Mapping[str, Any]) -> Dig:
    """What one visit found."""
    values: dict[str, Any] = {**told, "dug_on": date.fromisoformat(told["dug_on"])}
    return Dig(**values)


def _coming(told: Mapping[str, Any] | None) -> ComingDays | None:
    """The forecast days used."""
    if told is None:
        return None
    values: dict[str, Any] = {
        key: np.array(value, np.float64) if isinstance(value, list) else value
        for key, value in told.items()
    }
    values["start"] = date.fromisoformat(told["start"])
    return ComingDays(**values)


def _told(one: Mapping[str, Any]) -> ObservationRecord:
    """One observation; its person is a number."""
    return ObservationRecord(
        kind=one["kind"],
        day=date.fromisoformat(one["day"]),
        value=one["value"],
        by=str(one["by"]),
        recorded_at=datetime.fromisoformat(one["recorded_at"]),
        id=one["id"],
    )


def _day(value: str | None) -> date | None:
    return None if value is None else date.fromisoformat(value)


def _refused(what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem("evidence", what, wanted),))
