"""Today: the fields by urgency, as a list and on a map."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, Field

from rootbound_rules.crop.words import CROPS
from rootbound_service.notes.speech import say
from rootbound_service.store.runs import last_run
from rootbound_service.store.standings import Standing, Wanted, counted, growers_in, standings
from rootbound_service.web.access.reader import Reader, Signed
from rootbound_service.web.pages.frame import kept_page, today_of
from rootbound_service.web.pages.maps import field_map
from rootbound_service.web.pages.today_rows import lines_of
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from rootbound_service.store.runs import RunRecord
    from rootbound_service.web.parts import Desk

PAGE = 40
"""Rows of one page: it loads at once on a phone, and nobody reads further."""
STATUSES = {
    "unrated": "not dug yet",
    "unknown": "no answer",
    "waiting": "not up yet",
    "finished": "finished",
}

routes = APIRouter()


@routes.get("/")
def home() -> Response:
    """Go to the list."""
    return RedirectResponse("/today", 303)


class Asked(BaseModel):
    """What part of the list is asked for."""

    grower: str = Field("", max_length=18)
    crop: str = Field("", max_length=20)
    rung: str = Field("", max_length=20)
    q: str = Field("", max_length=80)
    start: int = Field(0, ge=0, le=10_000_000)

    @property
    def filters(self) -> dict[str, str]:
        """All but where it starts."""
        return {"grower": self.grower, "crop": self.crop, "rung": self.rung, "q": self.q}


@routes.get("/today")
def today(request: Request, desk: Served, who: Signed, part: Annotated[Asked, Query()]) -> Response:
    """Show the list."""
    wanted = _wanted(who.wanted(), part)
    day = today_of(who.person, desk.service.clock.now())
    with desk.reading() as conn:
        counts = counted(conn, replace(wanted, rungs=(), status=""))
        stands = standings(conn, wanted, limit=PAGE, offset=part.start)
        night = last_run(conn, finished_only=True)

    def make() -> tuple[str, Mapping[str, object]]:
        return "today", _shown(desk, who, part, wanted, day, (counts, stands, night))

    rests_on = ("today", tuple(part.filters.values()), part.start, day, night)
    return kept_page(request, who, (*rests_on, tuple(counts.items()), tuple(stands)), make)


def _shown(
    desk: Desk,
    who: Reader,
    part: Asked,
    wanted: Wanted,
    day: date,
    found: tuple[Mapping[tuple[str, int | None], int], Sequence[Standing], RunRecord | None],
) -> Mapping[str, object]:
    """What the page shows."""
    (counts, stands, night), asked, start = found, part.filters, part.start
    ids, stale = [one.field_id for one in stands], desk.service.settings.weather_stale_days
    with desk.reading() as conn:
        lines = lines_of(conn, who, ids, day, stale)
        growers = growers_in(conn, who.account_id) if who.grower_id is None else ()
    matching = _matching(counts, wanted)
    return {
        "part": "today",
        "lines": lines,
        "map": field_map(lines),
        "asked": asked,
        "growers": growers,
        "crops": CROPS,
        "chips": _chips(counts, asked),
        "every": sum(counts.values()),
        "matching": matching,
        "summary": _summary(counts),
        "night": say.day(night.night, who.person.units) if night else "",
        "earlier": _more(asked, start - PAGE) if start else "",
        "later": _more(asked, start + PAGE) if start + PAGE < matching else "",
        "filtered": any(asked.values()),
        "first": start + 1,
    }


def _wanted(all_of: Wanted, part: Asked) -> Wanted:
    """What is asked for, within what the reader may see; what makes no sense is left out."""
    found = replace(all_of, text=part.q, crop=part.crop if part.crop in CROPS else "")
    if all_of.grower_id is None and part.grower.isdecimal() and part.grower.isascii():
        found = replace(found, grower_id=int(part.grower))
    if part.rung in STATUSES:
        return replace(found, status=part.rung)
    numbers = tuple(sorted({int(one) for one in part.rung.split("-") if one in {*"01234"}}))
    return replace(found, rungs=numbers)


def _matching(counts: Mapping[tuple[str, int | None], int], wanted: Wanted) -> int:
    if wanted.status:
        return sum(many for (status, _), many in counts.items() if status == wanted.status)
    if wanted.rungs:
        return sum(counts.get(("watched", one), 0) for one in wanted.rungs)
    return sum(counts.values())


def _chips(
    counts: Mapping[tuple[str, int | None], int], asked: Mapping[str, str]
) -> list[tuple[str, str, int, str, bool]]:
    """Filters by rung with how many there are: class, word, count, address, whether it is on."""
    found: list[tuple[str, str, int, str, bool]] = []
    for rung in (4, 3, 2, 1, 0):
        many, on = counts.get(("watched", rung), 0), asked["rung"] == str(rung)
        if many or on:
            found.append((f"r{rung}", say.rung_label(rung), many, _more(asked, 0, str(rung)), on))
    for status, word in STATUSES.items():
        many = sum(n for (one, _), n in counts.items() if one == status)
        on = asked["rung"] == status
        if many or on:
            found.append(("none", word, many, _more(asked, 0, status), on))
    return found


def _more(asked: Mapping[str, str], start: int, rung: str | None = None) -> str:
    """The address of another part of the list; asked for what is on, it is off again."""
    values = dict(asked)
    if rung is not None:
        values["rung"] = "" if values["rung"] == rung else rung
    if start > 0:
        values["start"] = str(start)
    kept = {name: value for name, value in values.items() if value}
    return "/today" + (f"?{urlencode(kept)}" if kept else "")


def _summary(counts: Mapping[tuple[str, int | None], int]) -> str:
    """How many need somebody, in one sentence."""
    every = sum(counts.values())
    tight = sum(counts.get(("watched", one), 0) for one in (2, 3, 4))
    worst = next((one for one in (4, 3, 2) if counts.get(("watched", one))), None)
    if not every:
        return ""
    if worst is None:
        return f"None of {say.count(every, 'field')} is tight or worse."
    are = "is" if tight == 1 else "are"
    highest = f"the highest rung is {say.rung_label(worst)}"
    return f"{tight} of {say.count(every, 'field')} {are} tight or worse; {highest}."
