"""The page of one field: how it stands and why, its season, what was told, seen and done."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.observations import observation_records, withdrawal
from rootbound_service.intake.observations_keep import keep_typed
from rootbound_service.notes.en.dig_words import DIG_CAUTIONS
from rootbound_service.notes.en.particulars import PAN_WORDS, WALL_WORDS
from rootbound_service.notes.en.seen_words import CARE
from rootbound_service.notes.units import unit_name
from rootbound_service.records import Acknowledgement, Silence
from rootbound_service.store.acknowledgements import acknowledge
from rootbound_service.store.audits import log
from rootbound_service.store.observations import add_observation
from rootbound_service.store.photos import photos_of_season
from rootbound_service.store.runs import last_run
from rootbound_service.store.silences import MOST_DAYS, put_silence, silenced_fields
from rootbound_service.store.soil import soil_values
from rootbound_service.store.standings import standing_of
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import NotThere, Reader, Recorder, Signed
from rootbound_service.web.draw.hover import hover_data
from rootbound_service.web.draw.season import NARROW, season_svg
from rootbound_service.web.dressing.look import look
from rootbound_service.web.kept import FORM_ID
from rootbound_service.web.pages.field_view import (
    FieldPage,
    field_page,
    note_words,
    recorded_rows,
)
from rootbound_service.web.pages.frame import day_at, kept_page, own_field, shown, today_of
from rootbound_service.web.pages.soil_rows import soil_rows
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.errors import Problem
    from rootbound_service.records import Units
    from rootbound_service.web.parts import Desk

CHOICES = (3, 7, 14, MOST_DAYS)

routes = APIRouter()


@routes.get("/fields/{field_id}")
def one_field(
    request: Request, desk: Served, who: Signed, field_id: int, said: str = ""
) -> Response:
    """Show a field."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        stands = standing_of(conn, who.wanted(), field_id)
        if stands is None:
            raise NotThere("field")
        night = last_run(conn, finished_only=True)
        silent = silenced_fields(conn, who.person.id, today_of(who.person, now)).get(field_id)

    def make() -> tuple[str, Mapping[str, object]]:
        return "field", _told(desk, who, field_id, said=said)

    rests_on = (
        "field",
        stands,
        night,
        silent,
        SAID.get(said),
        _half_hour(now),
        today_of(who.person, now),
    )
    return kept_page(request, who, rests_on, make)


@routes.post("/fields/{field_id}/observe")
def observe(request: Request, desk: Served, who: Recorder, field_id: int, form: Form) -> Response:
    """Record what somebody measured, saw or did."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            one = own_field(conn, who, field_id)
            values = _values(form, who.person.units) | {"by": who.person.name}
            values.setdefault("date", day_at(one, now).isoformat())
            records = observation_records(values, one, now, label=str)
            keep_typed(conn, one.season_id, records)
            kinds = sorted(record.kind for record in records)
            log(conn, who.actor, now, "observation.add", field_id, kinds=kinds)
    except RefusedInput as refused:
        told = _told(desk, who, field_id, problems=refused.problems, typed=form.flat())
        told["form_id"] = form.get("form_id") or str(uuid4())
        return shown(request, who, "field", 422, **told)
    return RedirectResponse(f"/fields/{field_id}?said=recorded#seen", 303)


@routes.post("/fields/{field_id}/withdraw")
def withdraw(desk: Served, who: Recorder, field_id: int, form: Form) -> Response:
    """Take an observation back; it stays in the list."""
    now = desk.service.clock.now()
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        try:
            row = withdrawal({"withdraw": form.get("id"), "by": who.person.name}, one, now)
            add_observation(conn, one.season_id, row)
        except RefusedInput:
            raise NotThere("observation") from None
        log(conn, who.actor, now, "observation.withdraw", field_id, id=row.withdraws)
    return RedirectResponse(f"/fields/{field_id}?said=withdrawn#seen", 303)


@routes.post("/fields/{field_id}/silence")
def silence(desk: Served, who: Signed, field_id: int, form: Form) -> Response:
    """Hear nothing of a field for a while, or hear of it again."""
    now, days = desk.service.clock.now(), form.number("days", MOST_DAYS)
    if days is None:
        raise NotThere("days")
    with desk.writing() as conn:
        own_field(conn, who, field_id)
        until = today_of(who.person, now) + timedelta(days=days - 1)
        put_silence(conn, Silence(who.person.id, field_id, until, now, "page"))
        log(conn, who.actor, now, "field.silence", field_id, until=until.isoformat())
    return RedirectResponse(f"/fields/{field_id}?said=silence", 303)


@routes.post("/fields/{field_id}/seen")
def seen(desk: Served, who: Signed, field_id: int, form: Form) -> Response:
    """Say that what the field came to was seen."""
    del form  # read to see that it comes from our own page
    now = desk.service.clock.now()
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        acknowledge(conn, [Acknowledgement(who.person.id, one.season_id, now, "page")])
        log(conn, who.actor, now, "note.seen", field_id)
    return RedirectResponse(f"/fields/{field_id}?said=seen", 303)


TITLES = {
    "date": "Day",
    "rain": "Rain in the gauge",
    "morning": "Read in the morning",
    "irrigation": "Irrigation",
    "rolled": "Leaves at noon",
    "harvested": "Harvested",
    "harvest_yield": "Yield",
    "note": "Note",
}
"""Inputs of the form for what was seen, by their names."""
SAID = {
    "recorded": "Recorded. It counts from tonight on.",
    "withdrawn": "Taken back. It stays in the list and counts no more from tonight on.",
    "silence": "Noted.",
    "seen": "Noted: you have seen it.",
    "enrolled": "Enrolled. From tonight on it is followed.",
    "changed": "Changed. It counts from tonight on.",
}


def _values(form: Sent, units: Units) -> dict[str, object]:
    """What the form tells; a bare depth is in the unit that stands beside it on the page."""
    values: dict[str, object] = dict(form.flat())
    for name in ("rain", "irrigation"):
        given = str(values.get(name, ""))
        if given and given[-1].isdigit():
            values[name] = f"{given} {unit_name(units)}"
    return values


def _wrong(problems: tuple[Problem, ...]) -> dict[str, Problem]:
    """What is wrong by the input it is about, in the words that stand beside the input."""
    found: dict[str, Problem] = {}
    for one in problems:
        name = one.where if one.where in TITLES else "rain"
        found.setdefault(name, replace(one, where=TITLES[name]))
    return found


def _half_hour(now: datetime) -> datetime:
    """The half hour it is: no field's own day ends within one."""
    return now.replace(minute=now.minute // 30 * 30, second=0, microsecond=0)


def _told(
    desk: Desk,
    who: Reader,
    field_id: int,
    *,
    said: str = "",
    problems: tuple[Problem, ...] = (),
    typed: Mapping[str, str] | None = None,
) -> dict[str, object]:
    """What the page shows."""
    now, units = desk.service.clock.now(), who.person.units
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
    seen, today = look(desk, one), day_at(one, now)
    stale = desk.service.settings.weather_stale_days
    with desk.reading() as conn:
        page = field_page(conn, one, seen, today, stale, units)
        photos = photos_of_season(conn, one.season_id)
        soil = soil_rows(one, soil_values(conn, field_id))
        silent = silenced_fields(conn, who.person.id, today_of(who.person, now)).get(field_id)
    return {
        "part": "today",
        "page": page,
        "one": one,
        "view": page.view,
        "less": seen.said,
        "passing": seen.passing,
        "notes": [(note, note_words(note)) for note in page.notes],
        "seen": recorded_rows(page, units, one.time_zone),
        "photos": photos,
        "soil": soil,
        "silent": silent,
        "choices": CHOICES,
        "today": today,
        "said": SAID.get(said, ""),
        "wrong": _wrong(problems),
        "typed": defaultdict(str, typed or {}),
        "form_id": FORM_ID,
        "care": CARE,
        "dig_care": DIG_CAUTIONS,
        "wall_words": WALL_WORDS,
        "pan_words": PAN_WORDS,
        **_drawn(page, who),
    }


def _drawn(page: FieldPage, who: Reader) -> dict[str, Any]:
    """The picture for a desk and for a phone, and the numbers behind it."""
    if page.picture is None:
        return {"wide": "", "narrow": "", "hover": ""}
    units = who.person.units
    # "<" would end the block that holds it
    hover = json.dumps(hover_data(page.picture, units)).replace("<", "\\u003c")
    return {
        "wide": season_svg(page.picture, units),
        "narrow": season_svg(page.picture, units, NARROW),
        "hover": hover,
    }
