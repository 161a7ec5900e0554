"""The uncertain numbers of one member of the outlook."""

from __future__ import annotations

from dataclasses import dataclass

from rootbound_rules.crop.table import crop_table
from rootbound_rules.crop.wall import drying_exponent
from rootbound_rules.season.values import Soil
from rootbound_rules.tables import load_table


@dataclass(frozen=True, slots=True)
class Draw:
    """The uncertain numbers of one member; :func:`central_draw` has the tables' own."""

    available: float
    """Available water. [mm m-1]"""
    diffusivity: float
    halving: float
    slot: float
    widening: float
    late_rate: float
    kcb_mid: float
    drying: float


def central_draw(soil: Soil, crop: str = "maize") -> Draw:
    """Return the numbers of the tables themselves, as a single trace uses them.

    Parameters
    ----------
    soil, crop
        Of the field.
    """
    wall = load_table("wall")
    return Draw(
        available=1000.0 * (soil.field_capacity - soil.wilting_point),
        diffusivity=soil.diffusivity_cm2_d,
        halving=wall.number("wall.halving_mpa"),
        slot=wall.number("wall.slot_cm"),
        widening=wall.number("wall.widening"),
        late_rate=wall.number("wall.late_rate"),
        kcb_mid=crop_table(crop).number("kcb.mid"),
        drying=wall.number("wall.drying_share") * steepest_drying(soil),
    )


def steepest_drying(soil: Soil) -> float:
    """Return the exponent of strength on drying by the steepest of the published laws. [-]"""
    carbon = load_table("wall").number("wall.carbon_share") * soil.organic_matter_pct
    return drying_exponent(soil.clay_pct, carbon)
