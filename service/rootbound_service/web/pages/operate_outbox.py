"""The outbox for whoever runs the service: what waits or was given up, sent again or dropped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy import select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.claiming import drop_pending, retry_now
from rootbound_service.store.outbox import STATUSES, counts
from rootbound_service.store.schema import outbox
from rootbound_service.store.unreached import one_message
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import NotThere, Operator
from rootbound_service.web.guard import MOST_NUMBER
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.pages.people_wrong import by_input
from rootbound_service.web.pages.when import moment
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.web.access.reader import Keeper
    from rootbound_service.web.parts import Desk

USUAL = ("pending", "sending", "dead", "unknown")
"""What is shown first: whatever somebody may still have to do with."""
WORDS = {
    "pending": "waits",
    "sending": "is being sent",
    "sent": "was taken by the other side",
    "dead": "was given up",
    "expired": "was too old to send",
    "unknown": "was cut off: it may have arrived",
    "suppressed": "was stopped by its reader",
    "folded": "was told in another message",
    "dropped": "was given up by hand",
}
OPEN = ("pending", "dead", "unknown", "expired", "dropped")
"""What can still be sent again."""
SHOWN = 100
MOST_HOURS = 168
WHY_LENGTH = 200
COLUMNS = (
    "id", "kind", "channel", "status", "created_at", "available_at", "attempts", "last_code",
    "last_error",
)  # fmt: skip
"""No subject: it would name a field. No address and no text either."""

routes = APIRouter()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be done, to which messages."""

    numbers: tuple[int, ...]
    deed: str
    hours: int
    why: str


@routes.get("/operate/outbox")
def listed(
    request: Request,
    desk: Served,
    who: Operator,
    status: Annotated[str, Query(max_length=20)] = "",
    before: Annotated[int | None, Query(ge=1, le=MOST_NUMBER)] = None,
) -> Response:
    """List messages by what became of them, the latest first."""
    return _page(request, desk, who, status, before=before)


@routes.post("/operate/outbox")
def act(request: Request, desk: Served, who: Operator, form: Form) -> Response:
    """Send messages again, or give them up: all that were chosen or none."""
    now = desk.service.clock.now()
    try:
        asked = _asked(form)
        with desk.writing() as conn:
            _do(conn, asked, now)
            actor = Actor(None, who.person.id, "page")
            log(conn, actor, now, f"outbox.{asked.deed}", messages=list(asked.numbers))
    except RefusedInput as refused:
        return _page(request, desk, who, form.get("status"), refused.problems, form)
    if form.get("from") == "message":
        return RedirectResponse(f"/operate/outbox/{asked.numbers[0]}", 303)
    back = form.get("status") if form.get("status") in STATUSES else ""
    return RedirectResponse(f"/operate/outbox?status={back}&said={asked.deed}", 303)


@routes.get("/operate/outbox/{number}")
def message(request: Request, desk: Served, who: Operator, number: int) -> Response:
    """Show one message and every try to send it; neither whom it goes to nor what it tells."""
    with desk.reading() as conn:
        try:
            one, attempts = one_message(conn, number)
        except RefusedInput:
            raise NotThere("message") from None
    return shown(
        request,
        who,
        "operate_message",
        part="operate",
        place="outbox",
        one=one,
        attempts=attempts,
        words=WORDS,
        open=OPEN,
        clock=partial(moment, who.person),
    )


def _asked(form: Sent) -> Asked:
    """Read what is to be done."""
    problems: list[Problem] = []
    given = [one for one in form.every("message") if one.isascii() and one.isdecimal()]
    numbers = sorted({int(one) for one in given if len(one) <= len(str(MOST_NUMBER))})[:SHOWN]
    deed, hours = form.get("do"), form.number("hours", MOST_HOURS)
    why = form.get("why")
    if not numbers or numbers[-1] > MOST_NUMBER:
        problems.append(Problem("message", "none is chosen", "choose one at least"))
    if deed == "retry" and not hours:
        problems.append(Problem("hours", "is no number of hours", f"give 1 to {MOST_HOURS}"))
    elif deed == "drop" and not 1 <= len(why) <= WHY_LENGTH:
        wanted = f"say why, in {WHY_LENGTH} signs at most; name nobody"
        problems.append(Problem("why", "is missing or too long", wanted))
    elif deed not in {"retry", "drop"}:
        raise NotThere("deed")
    if problems:
        raise RefusedInput(tuple(problems))
    return Asked(tuple(numbers), deed, hours or 0, why)


def _do(conn: Connection, asked: Asked, now: datetime) -> None:
    """Do it, to all or to none."""
    if asked.deed == "retry":
        until = now + timedelta(hours=asked.hours)
        done = retry_now(conn, asked.numbers, now, until)
        wanted = "choose only what was given up, cut off, dropped or too old, or waits"
    else:
        done = drop_pending(conn, asked.numbers, asked.why)
        wanted = "choose only what waits, was given up, cut off or too old"
    if done != len(asked.numbers):
        rows = conn.execute(
            select(outbox.c.id, outbox.c.status).where(outbox.c.id.in_(asked.numbers))
        )
        told = ", ".join(f"{row.id} {WORDS[row.status]}" for row in rows) or "there is no such one"
        raise RefusedInput((Problem("message", f"nothing was changed: {told}", wanted),))


def _page(
    request: Request,
    desk: Desk,
    who: Keeper,
    status: str,
    problems: tuple[Problem, ...] = (),
    form: Sent | None = None,
    before: int | None = None,
) -> Response:
    asked = [status] if status in STATUSES else list(USUAL)
    query = select(*(outbox.c[name] for name in COLUMNS)).where(outbox.c.status.in_(asked))
    if before is not None:
        query = query.where(outbox.c.id < before)
    with desk.reading() as conn:
        found = conn.execute(query.order_by(outbox.c.id.desc()).limit(SHOWN)).all()
        messages = counts(conn)
    return shown(
        request,
        who,
        "operate_outbox",
        422 if problems else 200,
        part="operate",
        place="outbox",
        listed=found,
        messages=messages,
        only=status if status in STATUSES else "",
        statuses=STATUSES,
        words=WORDS,
        open=OPEN,
        wrong=by_input(problems),
        typed=form.flat() if form else {},
        ticked=form.every("message") if form else (),
        onward=found[-1].id if len(found) == SHOWN else None,
        said=request.query_params.get("said", ""),
        clock=partial(moment, who.person),
    )
