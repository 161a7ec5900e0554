"""What people saw and did, over the API."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from sqlalchemy import Connection, select

from rootbound_service.intake.observations import observation_records, withdrawal
from rootbound_service.intake.observations_keep import keep_typed
from rootbound_service.store.audits import log
from rootbound_service.store.observations import add_observation, every_observation
from rootbound_service.store.schema import observation, season
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Observes, Reads
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.paging import Paged, link_next, paged
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.api.record_shapes import (
    ObservationIn,
    ObservationOut,
    ObservationPage,
    ObservationsOut,
    WithdrawIn,
)
from rootbound_service.web.pages.frame import own_field
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord, ObservationRecord
    from rootbound_service.web.access.reader import Reader

routes = APIRouter(tags=["observations"])


@routes.get("/fields/{field_id}/observations", responses=responses(404))
def observations(
    request: Request,
    out: Response,
    desk: Served,
    caller: Reads,
    field_id: Id,
    asked: Annotated[Paged, Query()],
) -> ObservationPage:
    """List everything recorded this season, withdrawn ones among it."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        found = every_observation(conn, one.season_id)
    some, onward = paged(found, asked, lambda it: it.id)
    link_next(request, out, onward)
    return ObservationPage(observations=[observation_out(it) for it in some], next=onward)


@routes.post(
    "/fields/{field_id}/observations",
    status_code=201,
    response_model=ObservationsOut,
    responses=responses(404, *SENDING),
)
def observe(
    desk: Served, caller: Observes, field_id: Id, sent: ObservationIn, key: Key = None
) -> Response:
    """Record what somebody measured, saw or did: one row for each thing told."""
    who, now = caller.reader, desk.service.clock.now()
    told = sent.model_dump(mode="json")

    def act(conn: Connection) -> ObservationsOut:
        one = own_field(conn, who, field_id)
        records = observation_records(_values(sent, who.person.name), one, now, _label)
        stored = keep_typed(conn, one.season_id, records)
        kinds = sorted(record.kind for record in records)
        log(conn, who.actor, now, "observation.add", field_id, kinds=kinds)
        return ObservationsOut(observations=[observation_out(it) for it in stored])

    return once(desk, caller, key, (f"POST /fields/{field_id}/observations", told), act)


@routes.post(
    "/observations/{observation_id}/withdraw",
    status_code=201,
    response_model=ObservationOut,
    responses=responses(404, *SENDING),
)
def withdraw(
    desk: Served, caller: Observes, observation_id: Id, sent: WithdrawIn, key: Key = None
) -> Response:
    """Take an observation back: it stays in the list, and a row says that it counts no more."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> ObservationOut:
        one = _field_of(conn, who, observation_id)
        said = {"withdraw": observation_id, "by": who.person.name, "note": sent.note}
        stored = add_observation(conn, one.season_id, withdrawal(said, one, now))
        log(conn, who.actor, now, "observation.withdraw", one.id, id=observation_id)
        return observation_out(stored)

    path = f"POST /observations/{observation_id}/withdraw"
    return once(desk, caller, key, (path, sent.model_dump(mode="json")), act)


def observation_out(one: ObservationRecord) -> ObservationOut:
    """Give an observation."""
    values: dict[str, Any] = asdict(one) | {"date": one.day}
    return ObservationOut(**{name: values[name] for name in ObservationOut.model_fields})


def _field_of(conn: Connection, who: Reader, observation_id: int) -> FieldRecord:
    """The field that an observation of this season is of."""
    query = select(season.c.id, season.c.field_id).join(
        observation, observation.c.season_id == season.c.id
    )
    row = conn.execute(query.where(observation.c.id == observation_id)).one_or_none()
    if row is None:
        raise NotThere("observation")
    try:
        one = own_field(conn, who, row.field_id)
    except NotThere:
        raise NotThere("observation") from None
    if one.season_id != row.id:  # an earlier season's is settled
        raise NotThere("observation of this season")
    return one


NAMES = {"rain": "rain_mm", "irrigation": "irrigation_mm", "withdraw": "observation_id"}


def _label(name: str) -> str:
    return NAMES.get(name, name)


def _values(sent: ObservationIn, by: str) -> dict[str, Any]:
    """What was sent, as a form gives it; depths with their unit, so that no wish changes them."""
    values: dict[str, Any] = {"date": sent.date, "by": by, "note": sent.note}
    for name, mm in (("rain", sent.rain_mm), ("irrigation", sent.irrigation_mm)):
        if mm is not None:
            values[name] = f"{mm:f} mm"
    if sent.rolled is not None:
        values["rolled"] = "yes" if sent.rolled else "no"
    for name, told in (("harvested", sent.harvested), ("morning", sent.morning)):
        if told:
            values[name] = "yes"
    return {name: value for name, value in values.items() if value != ""}
