"""NASA POWER: days of the whole world's cells, one cell a request or a box of them.

Daily values of MERRA-2 and CERES, free to use; these data were obtained from the NASA Langley
Research Center POWER Project funded through the NASA Earth Science Directorate Applied
Science Program.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_service.weather.day import Ask, Habits
from rootbound_service.weather.sources.power_answer import read_point
from rootbound_service.weather.sources.power_names import GRID, OURS, PARAMETERS
from rootbound_service.weather.sources.power_region import Box, asked_at, fetch_region, tiles

if TYPE_CHECKING:
    from rootbound_service.public.http import Caller, Pace, Reply
    from rootbound_service.weather.day import Block

POINT = "/api/temporal/daily/point"
REGION = "/api/temporal/daily/regional"
MANY = 12
"""A box takes a request for each of six parameters: worth it from twice as many cells."""
SHORT_DAYS = 60


class NasaPower:
    """NASA POWER's daily values.

    Parameters
    ----------
    caller
        Carries the requests.
    url
        Where the service is, without a path.
    user
        Plain letters and digits; the service refuses reserved names.
    many
        From so many cells in one 10-degree box on, a box is asked for; None: never.
    pace
        How hard the service may be asked; None: as the caller's patience says.
    """

    name = GRID.source
    title = "NASA POWER"
    grid = GRID
    quantities = OURS
    earliest = date(1981, 1, 1)
    habits = Habits(lag=3, recent=45, settled=150)

    def __init__(
        self,
        caller: Caller,
        url: str,
        user: str = "rootbound",
        *,
        many: int | None = MANY,
        pace: Pace | None = None,
    ) -> None:
        self._caller = caller
        self._pace = pace
        self._url = url.rstrip("/")
        self._user = user
        self._many = many

    def split(self, ask: Ask) -> Iterator[Ask]:
        """Cut what is wanted into requests: boxes of many cells' few days, else cell by cell.

        Settled days are asked for by themselves: the answer names the data sets of all its
        days together.

        Parameters
        ----------
        ask
            What is wanted.
        """
        old_until = ask.asked_on - timedelta(days=self.habits.settled + 1)
        spans = [(ask.start, ask.end)]
        if ask.start <= old_until < ask.end:
            spans = [(ask.start, old_until), (old_until + timedelta(days=1), ask.end)]
        for start, end in spans:
            yield from self._by_place(Ask(ask.cells, start, end, ask.asked_on))

    def fetch(self, ask: Ask) -> Block:
        """Ask for every quantity of local solar days: a point's, or those of a box.

        Parameters
        ----------
        ask
            One cell, or cells of one box as :meth:`split` gives them.

        Returns
        -------
        Block
            The days in our names and units; what is not known yet is NaN.

        Raises
        ------
        Unavailable
            If no usable answer came.
        """
        first = ask.cells[0]
        if len(ask.cells) > 1:
            who = f"NASA POWER, {len(ask.cells)} cells from {first.key}"
            return fetch_region(
                lambda theirs, box: self._region(theirs, box, ask, who), ask, self.habits, who
            )
        who = f"NASA POWER, cell {first.key}"
        lat, lon = asked_at(first)
        where = {"longitude": f"{lon:.4f}", "latitude": f"{lat:.4f}"}
        query = self._query(",".join(PARAMETERS), where, ask)
        reply = self._caller.get(self._url + POINT, query, who, pace=self._pace)
        return read_point(reply, ask, self.habits, who)

    def _by_place(self, ask: Ask) -> Iterator[Ask]:
        """Cut by place."""
        for members in tiles(ask.cells):
            many = self._many is not None and len(members) >= max(self._many, 2)
            if many and ask.days <= SHORT_DAYS:
                yield Ask(members, ask.start, ask.end, ask.asked_on)
            else:
                yield from (Ask((cell,), ask.start, ask.end, ask.asked_on) for cell in members)

    def _region(self, theirs: str, box: Box, ask: Ask, who: str) -> Reply:
        """Ask for one parameter in a box."""
        where = {
            "longitude-min": f"{box.west:.4f}",
            "longitude-max": f"{box.east:.4f}",
            "latitude-min": f"{box.south:.4f}",
            "latitude-max": f"{box.north:.4f}",
        }
        query = self._query(theirs, where, ask)
        return self._caller.get(self._url + REGION, query, who, pace=self._pace)

    def _query(self, parameters: str, where: dict[str, str], ask: Ask) -> dict[str, str]:
        """Build what both kinds of request have in common."""
        return {
            "parameters": parameters,
            "community": "AG",
            **where,
            "start": f"{ask.start:%Y%m%d}",
            "end": f"{ask.end:%Y%m%d}",
            "format": "JSON",
            "time-standard": "LST",
            "user": self._user,
        }
