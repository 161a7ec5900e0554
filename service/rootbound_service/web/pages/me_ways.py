"""What one hears oneself, by each way; a number of one's own is added with one's own consent."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.desk.ways import put_way
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import ConsentEvent
from rootbound_service.store.audits import log
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.schema import contact
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Signed
from rootbound_service.web.pages.me_page import AGREED, me_page
from rootbound_service.web.pages.people_may import MOST_WAYS, one_way
from rootbound_service.web.pages.people_page import Again
from rootbound_service.web.pages.ways_form import wishes_in
from rootbound_service.web.parts import Served

routes = APIRouter()


@routes.post("/me/ways")
def add(request: Request, desk: Served, who: Signed, form: Form) -> Response:
    """Add a phone of one's own."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            _check(form, len(contacts_of(conn, contact.c.person_id == who.person.id)))
            consent = ConsentEvent(0, "given", now, "page", AGREED)
            given = {"text": form.get("address")} | wishes_in(form, "text")
            put = put_way(conn, who.person, given, None, consent, now)
            log(conn, who.actor, now, "way.add", person=who.person.id, way=put.way.id)
    except RefusedInput as refused:
        again = Again("add-", refused.problems, form.flat())
        return me_page(request, desk, who, again=again)
    return RedirectResponse("/me?said=added", 303)


@routes.post("/me/ways/{contact_id}")
def change(request: Request, desk: Served, who: Signed, contact_id: int, form: Form) -> Response:
    """Change what one hears by a way."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            way = one_way(conn, who.person, contact_id)
            given = {way.channel: way.address} | wishes_in(form, way.channel)
            put_way(conn, who.person, given, None, None, now)
            log(conn, who.actor, now, "way.change", person=who.person.id, way=way.id)
    except RefusedInput as refused:
        return me_page(request, desk, who, again=Again(f"way-{contact_id}-", refused.problems))
    return RedirectResponse("/me?said=changed", 303)


def _check(form: Sent, many: int) -> None:
    """Refuse what need not even be read as a number."""
    problems: list[Problem] = []
    if not form.get("address"):
        problems.append(Problem("address", "is missing", "give a number that takes texts"))
    elif many >= MOST_WAYS:
        wanted = f"{MOST_WAYS} are kept; change one of them"
        problems.append(Problem("address", "there are enough ways", wanted))
    if form.get("agreed") != "yes":
        problems.append(Problem("agreed", "is not ticked", "texts go only where somebody agrees"))
    if problems:
        raise RefusedInput(tuple(problems))
