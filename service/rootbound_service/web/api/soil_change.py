"""A field's soil changed over the API, checked as a form is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.forms import SoilForm
from rootbound_service.intake.labels import plain
from rootbound_service.intake.wrong import problems_of
from rootbound_service.store.soil import change_by_hand

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.web.api.shapes import SoilChange


def change_soil(conn: Connection, field_id: int, sent: SoilChange, now: datetime) -> None:
    """Enter what is given by hand and withdraw what is null.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        A field that the caller may change.
    sent
        What was sent; what it does not name stays.
    now
        The time.

    Raises
    ------
    RefusedInput
        With every value that is wrong, or was not entered by hand and so cannot be withdrawn.
    """
    named = sent.model_dump(exclude_unset=True)
    cleared = [name for name, value in named.items() if value is None]
    try:
        form = SoilForm.model_validate({n: v for n, v in named.items() if v is not None})
    except ValidationError as error:
        found = problems_of(error, SoilForm, plain)
        raise RefusedInput(tuple(_inside(one) for one in found)) from None
    given = form.model_dump(exclude_unset=True)
    if not named:
        raise RefusedInput((Problem("soil", "names no value", "name one at least"),))
    try:
        change_by_hand(conn, field_id, given, cleared, now)
    except RefusedInput as refused:
        raise RefusedInput(tuple(_inside(one) for one in refused.problems)) from None


def _inside(one: Problem) -> Problem:
    return Problem(f"soil.{one.where}", one.what, one.wanted)
