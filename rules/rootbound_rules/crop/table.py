"""The crop's table, and the stages of one field's own season."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date

from rootbound_rules.crop.stages import collars, emergence_gdd, gdd_at_collar, late_planting_r6
from rootbound_rules.crop.words import CROPS, CropWords, crop_words
from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import FieldSeason
from rootbound_rules.tables import Table, load_table


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


def heat_limits(name: str) -> tuple[float, float]:
    """Return base and ceiling of a crop's heat units. [degF]"""
    crop = crop_table(name)
    return crop.number("heat.base_f"), crop.number("heat.ceiling_f")


@dataclass(frozen=True, slots=True)
class Stages:
    """Heat units since planting at which the stages of one season begin. [degF d]

    A collar is whatever the crop is counted by while it grows: a leaf collar of maize and
    sorghum, a node of soybean.
    """

    words: CropWords
    emergence: float
    collar_early: float
    collar_late: float
    collar_turn: float
    collar_last: float
    starts: tuple[float, ...]
    """Of the stages after the vegetative ones, in the order of ``words.keys``."""

    def at(self, key: str) -> float:
        """Heat units at which a stage begins, by its key in the table. [degF d]"""
        return self.starts[self.words.keys.index(key)]

    @property
    def silk(self) -> float:
        """The stage that the critical window lies around: silk, bloom, first pods. [degF d]"""
        return self.at(self.words.critical)

    @property
    def r5(self) -> float:
        """The stage from which the canopy dries and ``failing`` no longer applies. [degF d]"""
        return self.at(self.words.filled)

    @property
    def black_layer(self) -> float:
        """Maturity. [degF d]"""
        return self.starts[-1]

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
        reached = bisect_right(self.starts, gdd)
        return self.words.stages[reached - 1] if reached else self._vegetative(gdd)

    def begins(self) -> tuple[tuple[str, float], ...]:
        """Every stage by its trade name with the heat units at which it begins, in order."""
        leaves = range(int(self.collar_last) + 1)
        vegetative = [(self.words.at_collar(leaf), self.at_collar(leaf)) for leaf in leaves]
        up = [(name, heat) for name, heat in vegetative if heat < self.starts[0]]
        later = zip(self.words.stages, self.starts, strict=True)
        return (("planted", 0.0), *up, *later)

    def _vegetative(self, gdd: float) -> str:
        """Name by the collars that show."""
        return self.words.at_collar(int(self.collars(gdd)))


def stages_of(season: FieldSeason) -> Stages:
    """Return the stages of one field's season from its crop's table and its seed tag.

    Parameters
    ----------
    season
        The field and its crop.
    """
    table, words = crop_table(season.crop), crop_words(season.crop)
    mature = season.black_layer_gdd_f or table.number(f"stage.{words.keys[-1]}")
    if season.late_planting_cut:
        late = (season.planted - date(season.planted.year, 5, 1)).days
        mature = late_planting_r6(mature, late, table.number("stage.late_planting_cut"))
    return Stages(
        words=words,
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
        starts=_starts(table, words.keys, mature),
    )


def _starts(table: Table, keys: tuple[str, ...], mature: float) -> tuple[float, ...]:
    """Heat units at each stage: a share of maturity, or so many before a later stage."""
    starts = {keys[-1]: mature}
    for key in reversed(keys[:-1]):
        share = f"stage.{key}_share"
        if share in table:
            starts[key] = mature * table.number(share)
            continue
        later = next(later for later in starts if f"stage.{key}_before_{later}" in table)
        starts[key] = starts[later] - table.number(f"stage.{key}_before_{later}")
    return tuple(starts[key] for key in keys)
