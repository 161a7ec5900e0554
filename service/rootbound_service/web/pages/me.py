"""One's own page: how one reads, where one is signed in, what one is silent about."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.cells import read_text
from rootbound_service.intake.limits import NAME_LENGTH
from rootbound_service.intake.readers import read_reader
from rootbound_service.notes.speech import languages
from rootbound_service.store.audits import log
from rootbound_service.store.feed_keys import end_feed_keys, make_feed_key
from rootbound_service.store.people import change_person
from rootbound_service.store.web_sessions import end_sessions, open_sessions
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import NotThere, Signed
from rootbound_service.web.pages.me_page import me_page
from rootbound_service.web.pages.people_page import Again
from rootbound_service.web.parts import Served

SAID = {
    "changed": "Changed. Letters from now on follow it.",
    "ended": "Signed out there.",
    "added": "Added. A first text is on its way; it says how to stop.",
    "feeds": "No feed address of yours works any more.",
}
routes = APIRouter()


@routes.get("/me")
def me(request: Request, desk: Served, who: Signed, said: str = "") -> Response:
    """Show it."""
    return me_page(request, desk, who, said=SAID.get(said, ""))


@routes.post("/me")
def change(request: Request, desk: Served, who: Signed, form: Form) -> Response:
    """Change one's name and how one reads."""
    try:
        wishes = _read(form)
    except RefusedInput as refused:
        again = Again("m-", refused.problems, form.flat())
        return me_page(request, desk, who, again=again)
    if wishes:
        with desk.writing() as conn:
            change_person(conn, who.person.id, wishes)
            log(conn, who.actor, desk.service.clock.now(), "person.change", wishes=sorted(wishes))
    return RedirectResponse("/me?said=changed", 303)


@routes.post("/me/sessions/{session_id}/end")
def end(desk: Served, who: Signed, session_id: int, form: Form) -> Response:
    """Sign out somewhere else."""
    del form  # read to see that it comes from our own page
    now = desk.service.clock.now()
    with desk.writing() as conn:
        if session_id not in {one.id for one in open_sessions(conn, who.person.id, now)}:
            raise NotThere("session")
        end_sessions(conn, who.person.id, now, session_id)
        log(conn, who.actor, now, "session.end")
    return RedirectResponse("/me?said=ended", 303)


@routes.post("/me/feed")
def feed(request: Request, desk: Served, who: Signed, form: Form) -> Response:
    """Make an address for one's feeds, shown once, or end all of them."""
    now = desk.service.clock.now()
    with desk.writing() as conn:
        end_feed_keys(conn, who.person.id, now)
        key = make_feed_key(conn, who.person.id, now) if form.get("make") else ""
        log(conn, who.actor, now, "feed.make" if key else "feed.end")
    if not key:
        return RedirectResponse("/me?said=feeds", 303)
    base = desk.service.settings.base_url or str(request.base_url).rstrip("/")
    return me_page(request, desk, who, made=f"{base}/f/{key}")


def _read(form: Sent) -> dict[str, str]:
    """What is to change; what is not on the form stays."""
    problems: list[Problem] = []
    wishes: dict[str, str] = {}
    given = {name: form.get(name) for name in ("units", "time_zone", "language") if form.get(name)}
    try:
        wishes = read_reader(given, languages())
    except RefusedInput as refused:
        problems += refused.problems
    if "name" in form.values:
        try:
            wishes["name"] = read_text(form.get("name"), "a name", NAME_LENGTH)
        except PydanticCustomError as error:
            what, _, wanted = error.message().partition("; ")
            problems.append(Problem("name", what, wanted))
        if not wishes.get("name") and not problems:
            problems.append(Problem("name", "is missing", "give the name that others know"))
    if problems:
        raise RefusedInput(tuple(problems))
    return wishes
