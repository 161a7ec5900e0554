"""Tokens for programs: made with a purpose and an end, shown once."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.errors import Problem
from rootbound_service.store.api_tokens import SCOPES, end_token, new_token, tokens_of
from rootbound_service.store.audits import log
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Adviser, NotThere
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.pages.people_wrong import by_input
from rootbound_service.web.pages.when import full_day, moment
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.web.access.reader import Reader
    from rootbound_service.web.parts import Desk

DAYS = ("30", "90", "365")
WORDS = {
    "read": "look at everything you see",
    "dig": "record digs and photos",
    "observe": "record rain, leaves, irrigation; silence and seen",
    "enrol": "enrol and change fields",
    "people": "invite people",
}
NAME_LENGTH = 80

routes = APIRouter()


@routes.get("/tokens")
def tokens(request: Request, desk: Served, who: Adviser) -> Response:
    """List them."""
    return _page(request, desk, who, "", ())


@routes.post("/tokens")
def make(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Make one; the answer is the only page that shows it."""
    now, name = desk.service.clock.now(), form.get("name")
    scopes = tuple(one for one in SCOPES if one in form.every("scope"))
    days = form.get("days")
    problems: list[Problem] = []
    if not name or len(name) > NAME_LENGTH:
        wanted = f"say what the token is for, in {NAME_LENGTH} signs at most"
        problems.append(Problem("name", "is missing or too long", wanted))
    if not scopes:
        problems.append(Problem("scope", "nothing is chosen", "choose one at least"))
    if days not in DAYS:
        problems.append(Problem("days", "is missing", f"choose {', '.join(DAYS)}"))
    if problems:
        return _page(request, desk, who, "", tuple(problems), form)
    with desk.writing() as conn:
        key = new_token(conn, who.account_id, who.person.id, name, scopes, now, int(days))
        log(conn, who.actor, now, "token.make", name=name, scopes=" ".join(scopes))
    return _page(request, desk, who, key, ())


@routes.post("/tokens/{token_id}/end")
def end(desk: Served, who: Adviser, token_id: int, form: Form) -> Response:
    """End one at once."""
    del form  # read to see that it comes from our own page
    now = desk.service.clock.now()
    with desk.writing() as conn:
        if not end_token(conn, who.account_id, token_id, now):
            raise NotThere("token")
        log(conn, who.actor, now, "token.end", token=token_id)
    return RedirectResponse("/tokens", 303)


def _page(
    request: Request,
    desk: Desk,
    who: Reader,
    made: str,
    problems: tuple[Problem, ...],
    form: Sent | None = None,
) -> Response:
    with desk.reading() as conn:
        listed = tokens_of(conn, who.account_id, desk.service.clock.now())
    return shown(
        request,
        who,
        "tokens",
        422 if problems else 200,
        part="people",
        tokens=listed,
        made=made,
        wrong=by_input(problems),
        typed=form.flat() if form else {},
        ticked=form.every("scope") if form else ("read",),
        day=partial(full_day, who.person),
        clock=partial(moment, who.person),
        words=WORDS,
        days=DAYS,
    )
