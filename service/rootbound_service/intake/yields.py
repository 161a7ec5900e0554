"""A yield as people say it: bushels an acre, or tonnes a hectare."""

from __future__ import annotations

import re

from rootbound_rules.crop.yields import t_per_ha_of_bushels
from rootbound_service.intake.cells import read_number
from rootbound_service.intake.limits import Limit
from rootbound_service.intake.wrong import shown, wrong

MOST_T_HA = 45.0
"""Above any field's yield on record, so that only a slip is refused. Our choice. [t/ha]"""
AMOUNT = re.compile(r"(?P<number>[^a-z/]*)(?P<unit>[a-z]*(?:\s*/\s*[a-z]+)?)\.?", re.IGNORECASE)
WANTED = "write the yield as 180 bu/ac or 11.3 t/ha"


def read_yield(value: object, crop: str, units: str) -> float:
    """Read a yield.

    Parameters
    ----------
    value
        A number in the person's unit, or text with its own: ``180 bu/ac``, ``11.3 t/ha``.
    crop
        Whose bushel it is.
    units
        The person's, ``us`` or ``metric``: what a bare number is in.

    Returns
    -------
    float
        The yield. [t/ha]

    Raises
    ------
    PydanticCustomError
        Naming what was given and what would be right.
    """
    text = str(value).strip()
    found = AMOUNT.fullmatch(text)
    unit = re.sub(r"\s", "", found["unit"]).lower() if found else "?"
    unit = unit or ("bu/ac" if units == "us" else "t/ha")
    if found is None or unit not in {"bu/ac", "bu/acre", "t/ha"}:
        raise wrong(f"{shown(text)} is not a yield", WANTED)
    factor = 1.0 if unit == "t/ha" else t_per_ha_of_bushels(crop)
    within = Limit("yield", 0.0, MOST_T_HA / factor, unit, said=WANTED)
    return read_number(found["number"].strip(), within) * factor
