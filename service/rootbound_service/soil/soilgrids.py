"""SoilGrids of ISRIC: soil properties of the whole world on a grid of 250 m, CC BY 4.0."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.tables import load_table
from rootbound_service.public.http import Pace, Unavailable
from rootbound_service.soil.profile import Profile
from rootbound_service.soil.soilgrids_answer import properties, read_layers

if TYPE_CHECKING:
    from rootbound_service.public.http import Caller
    from rootbound_service.soil.profile import Layer

PATH = "/soilgrids/v2.0/properties/query"
DEPTHS = ("0-5cm", "5-15cm", "15-30cm", "30-60cm", "60-100cm", "100-200cm")
PACE = Pace(min_interval_s=12.0)
"""The service asks for five calls a minute at the most. [s]"""
ASIDE_DEG = 0.0025
NEIGHBOURS = ((0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
"""Steps north and east: where the place itself is masked, the cell beside it may not be."""
MOST_LAT = 84.0
LEAST_LAT = -60.0


class SoilGrids:
    """SoilGrids 2.0.

    Parameters
    ----------
    caller
        Carries the requests.
    base_url
        Where the service is, without a path.
    """

    name = "soilgrids"
    title = "SoilGrids"

    def __init__(self, caller: Caller, base_url: str = "https://rest.isric.org") -> None:
        self._caller = caller
        self._url = base_url.rstrip("/") + PATH
        carbon_share = load_table("wall").number("wall.carbon_share")
        self._wanted = properties(1.0 / carbon_share)

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the service may know the place. [deg]"""
        return LEAST_LAT <= lat <= MOST_LAT and abs(lon) <= 180.0  # noqa: PLR2004 - the world

    def fetch(self, lat: float, lon: float) -> Profile:
        """Ask for the soil of a place, and of the cells beside it where it is masked.

        Parameters
        ----------
        lat, lon
            The place. [deg]

        Returns
        -------
        Profile
            Of the place or the nearest cell with values, which a remark then says.

        Raises
        ------
        Unavailable
            If the place and the cells beside it are masked, or nothing usable came.
        """
        who = f"{self.title}, lat {lat:.4f}, lon {lon:.4f}"
        for north, east in NEIGHBOURS:
            at = lat + north * ASIDE_DEG, lon + east * ASIDE_DEG
            layers, raw = self._ask(*at, who)
            if layers:
                aside = north or east
                note = f"the place itself has no value, lat {at[0]:.4f}, lon {at[1]:.4f} has"
                return Profile(
                    source=self.name,
                    name="grid cell of 250 m",
                    share_pct=None,
                    layers=layers,
                    remarks=(note,) if aside else (),
                    raw=raw,
                )
        what = "has no soil here nor in the cells beside it: water, town or bare rock"
        raise Unavailable(who, what, retry_later=False)

    def _ask(self, lat: float, lon: float, who: str) -> tuple[tuple[Layer, ...], bytes]:
        """Make one request."""
        query = [("lon", f"{lon:.6f}"), ("lat", f"{lat:.6f}")]
        query += [("property", name) for name in self._wanted]
        query += [("depth", depth) for depth in DEPTHS]
        query.append(("value", "mean"))
        reply = self._caller.get(self._url, query, who, accept="application/json", pace=PACE)
        return read_layers(reply, who, self._wanted, (lat, lon)), reply.content
