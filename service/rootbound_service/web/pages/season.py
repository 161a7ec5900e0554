"""The season's end: what was warned, what happened, and what to take into the next planting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy import select

from rootbound_service.nights.season_end_year import year_end
from rootbound_service.notes.en import season_words as said
from rootbound_service.notes.units import localise
from rootbound_service.store.schema import field
from rootbound_service.store.seasons_past import years_past
from rootbound_service.web.access.reader import NotThere, Signed
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.season_past import ends_of
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.nights.season_end_shapes import SeasonEnd
    from rootbound_service.records import Units

MOST = 400
"""Fields judged on one page; more take longer than anybody waits. Our choice."""
FIRST_YEAR, LAST_YEAR = 1900, 2200

routes = APIRouter()


@routes.get("/season")
def newest(desk: Served, who: Signed) -> Response:
    """Go to the latest year."""
    with desk.reading() as conn:
        years = years_past(conn, conn.scalars(select(field.c.id).where(*who.own())).all())
    year = years[0] if years else today_of(who.person, desk.service.clock.now()).year
    return RedirectResponse(f"/season/{year}", 303)


@routes.get("/season/{year}")
def season(request: Request, desk: Served, who: Signed, year: int) -> Response:
    """Show a year."""
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise NotThere("year")
    units = who.person.units
    with desk.reading() as conn:
        every = conn.scalars(select(field.c.id).where(*who.own()).order_by(field.c.id)).all()
        years = years_past(conn, every)
        ends = ends_of(conn, year, every[:MOST])
    whole = year_end(ends)
    lessons = whole.lessons
    return shown(
        request,
        who,
        "season",
        part="season",
        year=year,
        years=years,
        more=max(len(every) - MOST, 0),
        said=said,
        whole=whole,
        growers=len(whole.by_grower) > 1,
        rows=[_row(one, units) for one in ends],
        leaves=said.leaves_text(whole),
        spared=said.spared_text(lessons.spared),
        owed=[(said.wall_name(one.name), said.owed_text(one)) for one in lessons.by_wall],
        moisture=[(one.name, said.owed_text(one)) for one in lessons.by_moisture],
        actions=[
            (localise(one.text, units), localise(one.why, units), localise(one.caution, units))
            for one in lessons.actions
        ],
    )


def _row(one: SeasonEnd, units: Units) -> dict[str, object]:
    """One field in words."""
    past = one.past
    return {
        "name": past.field_name,
        "grower": past.grower,
        "line": said.season_line(one, units),
        "warnings": [said.warning_text(it, units) for it in one.warnings],
        "parts": [(said.PARTS[it.part], it.held, it.free, it.roots) for it in one.parts],
        "leaves": [said.leaf_text(it, units) for it in one.leaves],
        "yield": said.yield_text(past.yield_t_ha, past.crop, units),
    }
