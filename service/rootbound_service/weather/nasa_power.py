"""NASA POWER, daily point: the request. Its names and units end at this edge.

Asked in the acknowledgement's own words: these data were obtained from the NASA Langley
Research Center POWER Project funded through the NASA Earth Science Directorate Applied
Science Program.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.weather.power_answer import read_answer
from rootbound_service.weather.power_names import PARAMETERS

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Answer
    from rootbound_service.weather.http import Caller

PATH = "/api/temporal/daily/point"


class NasaPower:
    """NASA POWER's daily values of one point.

    Parameters
    ----------
    caller
        Carries the requests.
    url
        Where the service is, without a path.
    user
        Plain letters and digits; the service refuses reserved names.
    """

    earliest = date(1981, 1, 1)

    def __init__(self, caller: Caller, url: str, user: str = "rootbound") -> None:
        self._caller = caller
        self._url = url.rstrip("/") + PATH
        self._user = user

    def fetch(self, cell: Cell, start: date, end: date) -> Answer:
        """Ask once for every quantity of one cell, local solar days.

        Parameters
        ----------
        cell
            The cell.
        start, end
            First and last day.

        Returns
        -------
        Answer
            The days in our names and units; what is not known yet is NaN.

        Raises
        ------
        WeatherUnavailable
            If no usable answer came.
        """
        who = f"NASA POWER, cell {cell.key}"
        lat, lon = cell.asked
        query = {
            "parameters": ",".join(PARAMETERS),
            "community": "AG",
            "longitude": f"{lon:.4f}",
            "latitude": f"{lat:.4f}",
            "start": f"{start:%Y%m%d}",
            "end": f"{end:%Y%m%d}",
            "format": "JSON",
            "time-standard": "LST",
            "user": self._user,
        }
        return read_answer(self._caller.get(self._url, query, who), who, start, end)
