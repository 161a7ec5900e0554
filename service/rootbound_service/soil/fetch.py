"""Brings the soil of fields from the services: each place once, one failure stops no other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, cast

from rootbound_service.soil.ask import Asked, ask_soil
from rootbound_service.soil.mix import values_of
from rootbound_service.soil.profile import Layer, Profile
from rootbound_service.store.soil import put_source
from rootbound_service.store.soil_answers import (
    SoilAnswer,
    answer_at,
    keep_answer,
    newest_answers,
    place_key,
)

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Engine

    from rootbound_service.records import FieldRecord, SoilRecord
    from rootbound_service.soil.profile import SoilSource

SourcesAt = Callable[[float, float], Sequence["SoilSource"]]
"""Gives the services for a place, latitude and longitude, in the order of preference."""
REFUSED_FOR = timedelta(days=30)
"""A place nobody maps is asked for again only after this: maps change once a year."""


@dataclass(frozen=True, slots=True)
class SoilResult:
    """What fetching came to for one field."""

    field: FieldRecord
    source: str | None
    """Who had an answer; None where nobody had."""
    soil: SoilRecord
    """What counts for the field now."""
    reasons: tuple[str, ...] = ()
    """Why the others had none; of a field that was not fetched, why not."""
    retry_later: bool = False

    @property
    def sentence(self) -> str:
        """What happened, for a person."""
        if self.source is not None:
            return f"{self.field.name}: soil from {self.soil.origin}"
        return f"{self.field.name}: its soil is not known yet: {'; '.join(self.reasons)}"


def fetch_soils(
    engine: Engine,
    sources: SourcesAt,
    fields: Sequence[FieldRecord],
    now: datetime,
    *,
    again: bool = False,
) -> list[SoilResult]:
    """Fetch the soil of fields that have none, and of those where a stand-in answered.

    A field is asked for at most once in a night, fields some 250 m apart together; a place
    that a preferred service has described already is not asked for again.

    Parameters
    ----------
    engine
        The database.
    sources
        Who may be asked at a place.
    fields
        The fields; those that need nothing are passed over.
    now
        When, aware.
    again
        Ask for all of them now, whatever is known.

    Returns
    -------
    list of SoilResult
        One for each field that was due.
    """
    with engine.execution_options(ro=True).connect() as conn:
        before = newest_answers(conn, (field.id for field in fields))
    due = [field for field in fields if again or _is_due(field, before.get(field.id), now)]
    by_place: dict[str, list[FieldRecord]] = {}
    for field in due:
        by_place.setdefault(place_key(field.lat, field.lon), []).append(field)
    results: list[SoilResult] = []
    for place, group in by_place.items():
        try:
            asked = _found(engine, sources, place, group[0], again=again)
        except Exception as error:  # noqa: BLE001  one place never stops the others
            asked = Asked(None, (), (f"this should not have happened: {error}",), retry_later=True)
        results += [_kept(engine, place, field, asked, now) for field in group]
    return results


def profile_from(answer: SoilAnswer) -> Profile | None:
    """Give the profile that an answer holds, without its raw text.

    Parameters
    ----------
    answer
        As kept.
    """
    if answer.profile is None:
        return None
    parts = dict(answer.profile)
    layers = cast("list[dict[str, float]]", parts.pop("layers"))
    remarks = cast("list[str]", parts.pop("remarks"))
    kept = cast("dict[str, str]", parts)
    return Profile(
        layers=tuple(Layer(**one) for one in layers),  # type: ignore[arg-type]  # as it was kept
        remarks=tuple(remarks),
        **kept,  # type: ignore[arg-type]  # the same
    )


def _is_due(field: FieldRecord, answer: SoilAnswer | None, now: datetime) -> bool:
    """Tell whether a field is to be asked for: nothing known, or only by a stand-in."""
    if answer is None or answer.place != place_key(field.lat, field.lon):
        return not field.soil.is_known
    if answer.asked_at.date() >= now.date():
        return False
    if answer.source is not None and field.soil.is_known:
        return answer.retry_later
    return answer.retry_later or now - answer.asked_at >= REFUSED_FOR


def _found(
    engine: Engine, sources: SourcesAt, place: str, field: FieldRecord, *, again: bool
) -> Asked:
    """What is known of a place already, else what the services say now."""
    wanted = sources(field.lat, field.lon)
    first = next((one for one in wanted if one.covers(field.lat, field.lon)), None)
    if first is not None and not again:
        with engine.execution_options(ro=True).connect() as conn:
            kept = answer_at(conn, place, first.name)
        profile = None if kept is None else profile_from(kept)
        if profile is not None:
            return Asked(profile, values_of(profile, first.title), (), retry_later=False)
    return ask_soil(wanted, field.lat, field.lon)


def _kept(
    engine: Engine, place: str, field: FieldRecord, asked: Asked, now: datetime
) -> SoilResult:
    """Store what came for one field."""
    profile = asked.profile
    source = None if profile is None else profile.source
    answer = SoilAnswer(
        field_id=field.id,
        asked_at=now,
        place=place,
        source=source,
        profile=None if profile is None else _plain(profile),
        reasons=asked.reasons,
        retry_later=asked.retry_later,
        raw=b"" if profile is None else profile.raw,
    )
    soil = field.soil
    try:
        with engine.begin() as conn:
            keep_answer(conn, answer)
            if source is not None:
                soil = put_source(conn, field.id, source, asked.values, now)
    except Exception as error:  # noqa: BLE001  one field never stops the others
        why = f"what came could not be stored: {type(error).__name__}"
        return SoilResult(field, None, field.soil, (*asked.reasons, why), retry_later=True)
    return SoilResult(field, source, soil, asked.reasons, asked.retry_later)


def _plain(profile: Profile) -> dict[str, object]:
    """A profile as JSON can hold it, its raw text left out."""
    parts: dict[str, object] = asdict(profile)
    del parts["raw"]
    return parts
