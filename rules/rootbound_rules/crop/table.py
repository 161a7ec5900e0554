"""The crops we have tables for, and the stages of one field's own season."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date

from rootbound_rules.crop.stages import collars, emergence_gdd, gdd_at_collar, late_planting_r6
from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import FieldSeason
from rootbound_rules.tables import Table, load_table

CROPS = ("maize",)


def crop_names() -> tuple[str, ...]:
    """Return the crops that have a table."""
    return CROPS


def crop_table(name: str) -> Table:
    """Return the table of a crop.

    Raises
    ------
    RulesError
        If there is none, naming those there are.
    """
    if name not in CROPS:
        raise RulesError(f"no table for crop {name!r}; there are: {', '.join(CROPS)}")
    return load_table(name)


@dataclass(frozen=True, slots=True)
class Stages:
    """Heat units since planting at which the stages of one season begin. [degF d]"""

    emergence: float
    collar_early: float
    collar_late: float
    collar_turn: float
    collar_last: float
    tassel: float
    silk: float
    r2: float
    r3: float
    r4: float
    r5: float
    black_layer: float

    def collars(self, gdd: float) -> float:
        """Collars that show at a sum of heat units. [-]"""
        return collars(
            gdd,
            self.emergence,
            self.collar_early,
            self.collar_late,
            self.collar_turn,
            self.collar_last,
        )

    def at_collar(self, collar: float) -> float:
        """Heat units at which a collar shows. [degF d]"""
        return gdd_at_collar(
            collar, self.emergence, self.collar_early, self.collar_late, self.collar_turn
        )

    def name(self, gdd: float) -> str:
        """Trade name of the stage at a sum of heat units: planted, VE, V6, VT, R1 ... R6."""
        if gdd < self.emergence:
            return "planted"
        if gdd < self.tassel:
            shown = int(self.collars(gdd))
            return f"V{shown}" if shown else "VE"
        limits = (self.silk, self.r2, self.r3, self.r4, self.r5, self.black_layer)
        return ("VT", "R1", "R2", "R3", "R4", "R5", "R6")[bisect_right(limits, gdd)]


def stages_of(season: FieldSeason) -> Stages:
    """Return the stages of one field's season from its crop's table and its seed tag.

    Parameters
    ----------
    season
        The field and its crop.
    """
    table = crop_table(season.crop)
    r6 = season.black_layer_gdd_f or table.number("stage.black_layer")
    if season.late_planting_cut:
        late = (season.planted - date(season.planted.year, 5, 1)).days
        r6 = late_planting_r6(r6, late, table.number("stage.late_planting_cut"))
    silk = r6 * table.number("stage.silk_share")
    return Stages(
        emergence=emergence_gdd(
            table.number("emergence.base"),
            season.seed_depth_cm,
            table.number("emergence.per_inch"),
            table.number("emergence.free_depth_in"),
        ),
        collar_early=table.number("collar.early"),
        collar_late=table.number("collar.late"),
        collar_turn=table.number("collar.turn"),
        collar_last=table.number("collar.last"),
        tassel=silk - table.number("stage.tassel_before_silk"),
        silk=silk,
        r2=r6 * table.number("stage.R2_share"),
        r3=r6 * table.number("stage.R3_share"),
        r4=r6 * table.number("stage.R4_share"),
        r5=r6 * table.number("stage.R5_share"),
        black_layer=r6,
    )
