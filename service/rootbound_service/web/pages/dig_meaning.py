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
    from rootbound_service.records import DigRecord, FieldRecord
    from rootbound_service.wiring import Parts

NOT_PLANTED = "The field is not planted yet, so no season can be computed."
NO_WEATHER = "The weather of its place is not stored yet."
OVER = "Its season is over: no figure of today rests on the dig any more."

routes = APIRouter()


@dataclass(frozen=True, slots=True)
class Meaning:
    """A field without a dig and with it, as of today."""

    before: FieldFacts | None
    after: FieldFacts | None
    why_not: str = ""
    """Why nothing can be said."""


@routes.get("/fields/{field_id}/dig/{dig_id}")
def means(request: Request, desk: Served, who: Signed, field_id: int, dig_id: int) -> Response:
    """Show what a card means."""
    today = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
        photos = [at for at in photos_of_season(conn, one.season_id) if at.dig_id == dig_id]
    found = next((dig for dig in one.digs if dig.id == dig_id), None)
    if found is None:
        raise NotThere("dig")
    meaning = meaning_of(desk.service.parts, one, found, day_at(one, today))
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
        after=field_view(after, units, 0) if after else None,
        before=field_view(before, units, 0) if before else None,
        plants=say.plants_line(after) if after else "",
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
    after = _facts(parts, gathered, replace(whole, digs=up_to))
    before = _facts(parts, gathered, replace(whole, digs=earlier))
    if after is not None and after.status == "finished":
        return Meaning(before, after, OVER)
    if after is None or after.rung is None:
        return Meaning(before, after, NO_WEATHER)
    return Meaning(before, after)


def _facts(parts: Parts, gathered: Gathered, one: FieldRecord) -> FieldFacts | None:
    # without the ladder's memory: the question is what the roots mean, not what was told
    asked = replace(gathered, fields=(one,), memory={})
    (decided,) = decide_all(asked, parts.settings.weather_stale_days)
    return facts_of(decided, None) if decided.computed.outlook is not None else None
