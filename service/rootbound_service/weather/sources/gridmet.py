"""gridMET over OPeNDAP: 4 km cells of the contiguous United States, every day since 1979.

Public domain; please cite Abatzoglou (2012), doi:10.1002/joc.3413. The service packs its numbers,
each variable in its own way, so that is read first.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING
from urllib.parse import quote

import numpy as np

from rootbound_service.public.http import Busy, Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES, Ask, Block, settled_by_age
from rootbound_service.weather.sources.gridmet_ascii import Numbers, read_ascii
from rootbound_service.weather.sources.gridmet_das import Packing, read_das, read_dds
from rootbound_service.weather.sources.gridmet_names import (
    FIRST_DAY,
    GRID,
    HABITS,
    VARIABLES,
    Box,
    Variable,
    day_index,
    groups,
    rows_and_columns,
)
from rootbound_service.weather.sources.gridmet_reply import text_of
from rootbound_service.weather.sources.gridmet_units import to_ours

if TYPE_CHECKING:
    from rootbound_service.public.http import Caller, Pace

SHORT_DAYS = 120
"""Up to so many days neighbouring cells share a request; more are asked for cell by cell."""
LONG_YEARS = 5


class GridMet:
    """gridMET's daily values over OPeNDAP.

    Parameters
    ----------
    caller
        Carries the requests.
    url
        The THREDDS server, up to and without ``/dodsC``.
    pace
        How hard the service may be asked; None: as the caller's patience says.
    """

    name = GRID.source
    title = "gridMET"
    grid = GRID
    quantities = QUANTITY_NAMES
    earliest = FIRST_DAY
    habits = HABITS

    def __init__(self, caller: Caller, url: str, *, pace: Pace | None = None) -> None:
        self._caller = caller
        self._pace = pace
        self._url = url.rstrip("/") + "/dodsC/"
        self._described: dict[Variable, tuple[Packing, date, str]] = {}
        self._lengths: dict[Variable, tuple[date, int]] = {}

    def split(self, ask: Ask) -> Iterator[Ask]:
        """Cut what is wanted into requests: a tile's few days, or a cell's few years.

        Parameters
        ----------
        ask
            What is wanted.
        """
        if ask.days <= SHORT_DAYS:
            for members in groups(ask.cells):
                yield Ask(members, ask.start, ask.end, ask.asked_on)
            return
        for cell in ask.cells:
            start = ask.start
            while start <= ask.end:
                end = min(date(start.year + LONG_YEARS - 1, 12, 31), ask.end)
                yield Ask((cell,), start, end, ask.asked_on)
                start = end + timedelta(days=1)

    def fetch(self, ask: Ask) -> Block:
        """Ask for one variable after the other.

        Parameters
        ----------
        ask
            Neighbouring cells, as :meth:`split` gives them.

        Returns
        -------
        Block
            The days in our names and units; those the service has not yet are NaN.

        Raises
        ------
        Unavailable
            If one variable gave no usable answer.
        """
        who = _who(ask)
        theirs: dict[Variable, Numbers] = {}
        raw: list[str] = []
        for variable in VARIABLES:
            theirs[variable] = self._twice(variable, ask, raw, who)
        if not raw:
            raise Unavailable(who, f"has no day from {ask.start} on yet", retry_later=True)
        whole = "\n".join(raw).encode()
        return Block(
            source=GRID.source,
            cells=ask.cells,
            start=ask.start,
            quantities=QUANTITY_NAMES,
            values=to_ours(theirs, who),
            status=settled_by_age(ask, HABITS, QUANTITY_NAMES),
            origins=tuple(variable.aggregation for variable in VARIABLES),
            raw=whole,
            fingerprint=hashlib.sha256(whole).hexdigest(),
            suffix="ascii",
        )

    def _twice(self, variable: Variable, ask: Ask, raw: list[str], who: str) -> Numbers:
        """Ask once more after a torn answer: it would cost the variables that came before."""
        try:
            return self._values(variable, ask, raw, who)
        except Busy:  # asked again already, with the waits that a busy service wants
            raise
        except Unavailable as error:
            if not error.retry_later:
                raise
            return self._values(variable, ask, raw, who)

    def _values(self, variable: Variable, ask: Ask, raw: list[str], who: str) -> Numbers:
        """Values of one variable by cell and day, in its own unit."""
        packing, epoch, described = self._describe(variable, who)
        found = np.full((len(ask.cells), ask.days), np.nan)
        last = min(day_index(ask.end), self._length(variable, ask, who) - 1)
        box = Box(range(day_index(ask.start), last + 1), *rows_and_columns(ask.cells))
        if len(box.days):
            text = self._ask(variable, ".ascii", who, box)
            values = read_ascii(text, variable, box, packing, epoch, who)
            rows = [cell.row - box.rows[0] for cell in ask.cells]
            columns = [cell.column - box.columns[0] for cell in ask.cells]
            found[:, : len(box.days)] = values[:, rows, columns].T
            raw += [described, text]  # the packed numbers mean nothing without their packing
        return found

    def _describe(self, variable: Variable, who: str) -> tuple[Packing, date, str]:
        """Packing and first day of the axis, and the text they come from; asked for once."""
        if variable not in self._described:
            text = self._ask(variable, ".das", who)
            self._described[variable] = (*read_das(text, variable, who), text)
        return self._described[variable]

    def _length(self, variable: Variable, ask: Ask, who: str) -> int:
        """How many days the service has; asked for anew on each day that is asked on."""
        asked_on, length = self._lengths.get(variable, (date.min, 0))
        if day_index(ask.end) >= length and asked_on != ask.asked_on:
            length = read_dds(self._ask(variable, ".dds", who), who)
            self._lengths[variable] = ask.asked_on, length
        return length

    def _ask(self, variable: Variable, kind: str, who: str, box: Box | None = None) -> str:
        """Make one request."""
        wanted = quote(variable.inside + box.constraint, safe=":") if box else ""
        url = f"{self._url}{variable.aggregation}{kind}" + (f"?{wanted}" if wanted else "")
        try:
            return text_of(self._caller.get(url, None, who, pace=self._pace), who)
        except Unavailable:
            self._lengths.pop(variable, None)  # it may lie about a server that was set up anew
            raise


def _who(ask: Ask) -> str:
    """Name the service and the cells, for the sentence of an error."""
    first = ask.cells[0].key
    if len(ask.cells) == 1:
        return f"gridMET, cell {first}"
    return f"gridMET, {len(ask.cells)} cells from {first}"
