"""Lists a page at a time: in an order that stands still, with the address of the next page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from fastapi import Request, Response
from pydantic import BaseModel, ConfigDict, Field

from rootbound_service.web.api.base import MOST_ID

MOST = 200
Row = TypeVar("Row")


class Paged(BaseModel):
    """Which page of a list."""

    model_config = ConfigDict(extra="forbid")

    after: int | None = Field(
        None, ge=1, le=MOST_ID, description="What the page before gave as next; none: the first"
    )
    limit: int = Field(50, ge=1, le=MOST, description="How many at most")


def paged(
    rows: Sequence[Row],
    asked: Paged,
    number: Callable[[Row], int],
    *,
    falling: bool = False,
) -> tuple[Sequence[Row], int | None]:
    """Cut a page out of a list.

    Parameters
    ----------
    rows
        All of them.
    asked
        Which page.
    number
        Of a row: what its place is told by.
    falling
        The largest number comes first.

    Returns
    -------
    tuple
        The rows, and what to ask for next; None after the last.
    """
    sign = -1 if falling else 1
    ordered = sorted(rows, key=lambda one: sign * number(one))
    if asked.after is not None:
        last = sign * asked.after
        ordered = [one for one in ordered if sign * number(one) > last]
    part = ordered[: asked.limit]
    return part, number(part[-1]) if len(ordered) > len(part) else None


def link_next(request: Request, out: Response, onward: int | None) -> None:
    """Name the next page in the header as well (RFC 8288).

    Parameters
    ----------
    request
        For this page.
    out
        Its answer.
    onward
        From :func:`paged`; None: there is none.
    """
    if onward is not None:
        url = request.url.include_query_params(after=onward)
        out.headers["Link"] = f'<{url.path}?{url.query}>; rel="next"'
