"""The USDA soil survey through Soil Data Access: map units, components and horizons by place."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from rootbound_service.public.http import Pace, Unavailable
from rootbound_service.soil.profile import Profile
from rootbound_service.soil.survey_answer import Component, main_component, restriction_cm
from rootbound_service.soil.survey_query import (
    HORIZON_COLUMNS,
    HORIZONS,
    RESTRICTION_COLUMNS,
    RESTRICTIONS,
    WATER_TABLE,
    WATER_TABLE_COLUMNS,
    body,
)
from rootbound_service.soil.survey_table import key_of, read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.public.http import Caller
    from rootbound_service.soil.survey_table import Column, Row

PATH = "/tabular/post.rest"
PACE = Pace(min_interval_s=1.0)
SURVEYED = (
    (24.0, 50.0, -125.5, -66.0),
    (51.0, 72.0, -180.0, -129.0),
    (18.0, 23.0, -161.0, -154.0),
    (17.0, 19.0, -68.0, -64.0),
)
"""The 48 states, Alaska, Hawaii, Puerto Rico: south, north, west, east, with a margin. [deg]"""


class Survey:
    """Soil Data Access of the US Department of Agriculture.

    Parameters
    ----------
    caller
        Carries the requests.
    base_url
        Where the service is, without a path.
    """

    name = "survey"
    title = "USDA soil survey"

    def __init__(
        self, caller: Caller, base_url: str = "https://sdmdataaccess.sc.egov.usda.gov"
    ) -> None:
        self._caller = caller
        self._url = base_url.rstrip("/") + PATH

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the survey may know the place. [deg]"""
        return any(
            south <= lat <= north and west <= lon <= east for south, north, west, east in SURVEYED
        )

    def fetch(self, lat: float, lon: float) -> Profile:
        """Ask for the soil of a place.

        Parameters
        ----------
        lat, lon
            The place. [deg]

        Returns
        -------
        Profile
            The largest component of its map unit. Water table and layers that stop roots
            are asked for by themselves: without them the layers still count.

        Raises
        ------
        Unavailable
            If no soil is mapped there, or nothing usable came.
        """
        who = f"{self.title}, lat {lat:.4f}, lon {lon:.4f}"
        raw: dict[str, object] = {}
        query = HORIZONS.format(lat=f"{lat:.6f}", lon=f"{lon:.6f}")
        rows = self._rows("horizons", query, HORIZON_COLUMNS, who, raw)
        soil, remarks = main_component(rows, who)
        table, no_table = self._water_table(soil, who, raw)
        stop, no_stop = self._restriction(soil, who, raw)
        return Profile(
            source=self.name,
            name=f"{soil.name} in {soil.unit}",
            share_pct=soil.share_pct,
            layers=soil.layers,
            water_table_cm=table,
            restriction_cm=min(
                (one for one in (stop, soil.rock_cm) if one is not None), default=None
            ),
            drainage=soil.drainage,
            remarks=(*remarks, *no_table, *no_stop),
            raw=json.dumps(raw).encode(),
        )

    def _rows(
        self,
        what: str,
        query: str,
        columns: Mapping[str, Column],
        who: str,
        raw: dict[str, object],
    ) -> list[Row]:
        """Ask one question and keep the answer as it came."""
        reply = self._caller.post(
            self._url, body(query), who, content_type="application/json", pace=PACE
        )
        rows = read_table(reply, who, columns)
        raw[what] = json.loads(reply.content)
        return rows

    def _water_table(
        self, soil: Component, who: str, raw: dict[str, object]
    ) -> tuple[float | None, tuple[str, ...]]:
        """Shallowest water table in spring. [cm]"""
        try:
            query = WATER_TABLE.format(mukey=key_of(soil.mukey, "mukey", who))
            rows = self._rows("water_table", query, WATER_TABLE_COLUMNS, who, raw)
        except Unavailable as error:
            return None, (f"its water table could not be had: {error.what}",)
        depths = [row["wtdepaprjunmin"] for row in rows]
        return min((float(one) for one in depths if one is not None), default=None), ()

    def _restriction(
        self, soil: Component, who: str, raw: dict[str, object]
    ) -> tuple[float | None, tuple[str, ...]]:
        """Depth of the first layer that stops roots. [cm]"""
        try:
            query = RESTRICTIONS.format(cokey=key_of(soil.cokey, "cokey", who))
            rows = self._rows("restrictions", query, RESTRICTION_COLUMNS, who, raw)
        except Unavailable as error:
            return None, (f"layers that stop roots could not be had: {error.what}",)
        return restriction_cm(rows), ()
