"""The questions put to the USDA soil survey, in its own SQL, and what their columns hold."""

from __future__ import annotations

import json

from rootbound_service.soil.survey_table import Column

HORIZONS = (
    "SELECT mu.mukey, mu.musym, mu.muname, co.cokey, co.compname, co.comppct_r, "
    "co.majcompflag, co.drainagecl, co.hydgrp, ch.chkey, ch.hzname, ch.hzdept_r, ch.hzdepb_r, "
    "ch.sandtotal_r, ch.silttotal_r, ch.claytotal_r, ch.om_r, ch.dbthirdbar_r, ch.ksat_r, "
    "ch.awc_r, ch.wthirdbar_r, ch.wfifteenbar_r, tx.texcl "
    "FROM SDA_Get_Mukey_from_intersection_with_WktWgs84('point({lon} {lat})') AS k "
    "INNER JOIN mapunit AS mu ON mu.mukey = k.mukey "
    "INNER JOIN component AS co ON co.mukey = mu.mukey "
    "LEFT JOIN chorizon AS ch ON ch.cokey = co.cokey "
    "LEFT JOIN chtexturegrp AS tg ON tg.chkey = ch.chkey AND tg.rvindicator = 'Yes' "
    "LEFT JOIN chtexture AS tx ON tx.chtgkey = tg.chtgkey "
    "ORDER BY co.comppct_r DESC, co.cokey, ch.hzdept_r"
)
WATER_TABLE = "SELECT mukey, wtdepaprjunmin FROM muaggatt WHERE mukey = {mukey}"
"""Table and column from memory: shallowest water table of the map unit, April to June. [cm]"""
RESTRICTIONS = "SELECT cokey, reskind, resdept_r FROM corestrictions WHERE cokey = {cokey}"
"""Table and columns from memory: layers that hold roots or water. [cm]"""

DEEPEST_CM = 1000.0
HORIZON_COLUMNS = {
    "mukey": Column(text=True),
    "muname": Column(text=True),
    "cokey": Column(text=True),
    "compname": Column(text=True),
    "comppct_r": Column(0.0, 100.0),
    "majcompflag": Column(text=True),
    "drainagecl": Column(text=True),
    "chkey": Column(text=True),
    "hzname": Column(text=True),
    "hzdept_r": Column(0.0, DEEPEST_CM),
    "hzdepb_r": Column(0.0, DEEPEST_CM),
    "sandtotal_r": Column(0.0, 100.0),
    "silttotal_r": Column(0.0, 100.0),
    "claytotal_r": Column(0.0, 100.0),
    "om_r": Column(0.0, 100.0),
    "dbthirdbar_r": Column(0.0, 3.0),
    "awc_r": Column(0.0, 1.0),
    "wthirdbar_r": Column(0.0, 100.0),
    "wfifteenbar_r": Column(0.0, 100.0),
    "texcl": Column(text=True),
}
WATER_TABLE_COLUMNS = {"wtdepaprjunmin": Column(0.0, DEEPEST_CM)}
RESTRICTION_COLUMNS = {"reskind": Column(text=True), "resdept_r": Column(0.0, DEEPEST_CM)}


def body(query: str) -> bytes:
    """Write a question as the service takes it.

    Parameters
    ----------
    query
        One SQL statement.
    """
    return json.dumps({"format": "JSON+COLUMNNAME+METADATA", "query": query}).encode()
