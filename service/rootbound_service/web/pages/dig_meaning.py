"""What a dig means, worked out at once from the stored weather; nothing of it is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response

from rootbound_service.nightly import decide_all
from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import gather
from rootbound_service.notes.en.particulars import PAN_WORDS, WALL_WORDS
from rootbound_service.notes.speech import say
from rootbound_service.notes.units import length
from rootbound_service.notes.views import field_view
from rootbound_service.store.photos import photos_of_season
from rootbound_service.store.schema import field
from rootbound_service.web.access.reader import NotThere, Signed
from rootbound_service.web.draw.wall import wall_svg
from rootbound_service.web.pages.frame import day_at, own_field, shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.nights.parts import Gathered
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import DigRecord, FieldRecord, Units
    from rootbound_service.wiring import Parts

NOT_PLANTED = "The field is not planted yet, so no season can be computed."
NO_WEATHER = "The weather of its place is not stored yet."
OVER = "Its season is over: no figure of today rests on the dig any more."

routes = APIRouter()


@dataclass(frozen=True, slots=True)
class Meant:
    """A field with some of its digs, as of today."""

    tonight: FieldFacts
    """As a night run now would show it: the ladder moves slowly on purpose."""
    as_read: FieldFacts
    """With the rung that the figures alone ask for."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """A field without a dig and with it."""

    before: Meant | None
    after: Meant | None
    why_not: str = ""
    """Why nothing can be said."""


@routes.get("/fields/{field_id}/dig/{dig_id}")
def means(request: Request, desk: Served, who: Signed, field_id: int, dig_id: int) -> Response:
    """Show what a card means."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
        photos = [at for at in photos_of_season(conn, one.season_id) if at.dig_id == dig_id]
    found = next((dig for dig in one.digs if dig.id == dig_id), None)
    if found is None:
        raise NotThere("dig")
    meaning = meaning_of(desk.service.parts, one, found, day_at(one, now))
    units, after, before = who.person.units, meaning.after, meaning.before
    depth = found.pan_depth_cm
    return shown(
        request,
        who,
        "dig_means",
        part="dig-list",
        one=one,
        dig=found,
        photos=photos,
        meaning=meaning,
        before=_chip(before.as_read if before else None),
        read=_chip(after.as_read if after else None),
        tonight=_chip(after.tonight if after else None),
        after=field_view(after.tonight, units, 0) if after else None,
        behind=_behind(after.tonight, units) if after else (),
        plants=say.plants_line(after.tonight) if after else "",
        wall_words=WALL_WORDS,
        pan_words=PAN_WORDS,
        pan_depth=length(depth, units) if depth is not None else "",
        wall=wall_svg(found.wall_class),
    )


def meaning_of(parts: Parts, one: FieldRecord, card: DigRecord, today: date) -> Meaning:
    """Compute a field as if the night were now, with and without one dig.

    Parameters
    ----------
    parts
        The wired service; only stored weather is used.
    one
        The field.
    card
        The dig.
    today
        The day at the field.

    Returns
    -------
    Meaning
        With the digs up to this one, and with those before it.
    """
    gathered = gather(parts, today, pull=False, which=(field.c.id == one.id,))
    if not gathered.fields:
        return Meaning(None, None, NOT_PLANTED)
    (whole,) = gathered.fields
    up_to = tuple(d for d in whole.digs if (d.dug_on, d.id) <= (card.dug_on, card.id))
    earlier = tuple(dig for dig in up_to if dig.id != card.id)
    after = _meant(parts, gathered, replace(whole, digs=up_to))
    before = _meant(parts, gathered, replace(whole, digs=earlier))
    if after is not None and after.tonight.status == "finished":
        return Meaning(before, after, OVER)
    if after is None or after.tonight.rung is None:
        return Meaning(before, after, NO_WEATHER)
    return Meaning(before, after)


def _meant(parts: Parts, gathered: Gathered, one: FieldRecord) -> Meant | None:
    asked = replace(gathered, fields=(one,))
    (decided,) = decide_all(asked, parts.settings.weather_stale_days)
    if decided.computed.outlook is None:
        return None
    tonight = facts_of(decided, None)
    return Meant(tonight, replace(tonight, rung=decided.risk.raw_rung))


def _behind(facts: FieldFacts, units: Units) -> tuple[tuple[str, str], ...]:
    """Days ahead with their range, reach, and how far the field has grown."""
    rows = (
        ("ahead", say.ahead_line(facts.days_ahead)),
        ("roots", say.roots_line(facts, units)),
        ("stage", say.stage_line(facts)),
    )
    return tuple((say.LABELS[name], text) for name, text in rows if text)


def _chip(facts: FieldFacts | None) -> tuple[str, str]:
    """Class and words of a rung's chip."""
    if facts is None:
        return "none", "not known"
    rated = facts.status == "watched" and facts.rung is not None
    return f"r{facts.rung}" if rated else "none", say.status_label(facts)
