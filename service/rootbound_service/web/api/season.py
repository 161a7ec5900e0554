"""Seasons over the API: the days of one field, and how the warnings of a year came out."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Path
from sqlalchemy import select

from rootbound_service.nights.pictures import unpacked_picture
from rootbound_service.nights.season_end_year import year_end
from rootbound_service.store.schema import field
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Reads
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.end_shapes import EndOut, TallyOut, WarningOut, YearOut
from rootbound_service.web.api.problems import Stop, responses
from rootbound_service.web.api.shapes import SeasonOut
from rootbound_service.web.api.told import season_out
from rootbound_service.web.dressing.look import look
from rootbound_service.web.pages.frame import own_field
from rootbound_service.web.pages.season_past import ends_of
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.nights.season_end_shapes import SeasonEnd, Tally, WarningPast

routes = APIRouter(tags=["seasons"])
RETRY_S = "10"
"""When a season that is being worked out may be asked for again. [s]"""
Year = Annotated[int, Path(ge=1900, le=2200, description="Of planting")]


@routes.get("/fields/{field_id}/season", responses=responses(404, 503))
def season(desk: Served, caller: Reads, field_id: Id) -> SeasonOut:
    """Give the days of both twins, as last computed, and the outlook."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
    seen = look(desk, one)
    if seen.packed is None and seen.passing:
        raise Stop(503, seen.said, {"Retry-After": RETRY_S})
    if seen.packed is None:
        raise NotThere("season computed yet")
    return season_out(unpacked_picture(seen.packed))


@routes.get("/seasons/{year}", responses=responses())
def year(desk: Served, caller: Reads, year: Year) -> YearOut:
    """Judge the seasons of a year: what was warned, and what came."""
    with desk.reading() as conn:
        fields = conn.scalars(select(field.c.id).where(*caller.reader.own())).all()
        ends = ends_of(conn, year, fields)
    return YearOut(year=year, all=_tally(year_end(ends).every), seasons=[_end(one) for one in ends])


def _end(one: SeasonEnd) -> EndOut:
    past, lead = one.past, one.lead_tight
    return EndOut(
        field=past.field_name,
        grower=past.grower,
        crop=past.crop,
        planted=past.planted,
        wall_class=one.wall_class,
        held_stress_days=round(one.held, 3),
        free_stress_days=round(one.free, 3),
        days_unknown=one.unknown,
        first_stress=one.first_stress,
        harvested=one.harvested,
        yield_t_ha=past.yield_t_ha,
        lead=lead.kind if lead else None,
        lead_days=lead.days if lead else None,
        warnings=[_warning(it) for it in one.warnings],
    )


def _warning(one: WarningPast) -> WarningOut:
    return WarningOut(
        night=one.night,
        last=one.last,
        rung=one.rung,
        stress_days=one.stress,
        water_mm=one.water_mm,
        came=one.came,
    )


def _tally(every: Tally) -> TallyOut:
    values = asdict(every)
    return TallyOut(**{name: values[name] for name in TallyOut.model_fields})
