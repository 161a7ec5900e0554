"""A season that is over, as values: what was told, what came, and what many seasons say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rootbound_rules.risk.action_rows import Action
    from rootbound_service.records import DigRecord, NoteRecord, ObservationRecord

Part = Literal["before_silk", "around_silk", "after_silk"]
Came = Literal["came", "rain_came", "not_came", "not_known"]
"""What a warning came to; ``not_came`` is a false alarm."""
LeadKind = Literal["warned", "late", "never"]
MoistureWord = Literal["dry", "moist", "wet"]


@dataclass(frozen=True, slots=True)
class Days:
    """Stress of each day, both twins; a day that is not in a mapping is not known. [d]"""

    held: Mapping[date, float]
    free: Mapping[date, float]


@dataclass(frozen=True, slots=True)
class SeasonPast:
    """One field-season with everything its end is judged by."""

    season_id: int
    field_name: str
    grower: str
    crop: str
    planted: date
    days: Days
    notes: tuple[NoteRecord, ...] = ()
    seen: tuple[ObservationRecord, ...] = ()
    """Those that stand."""
    digs: tuple[DigRecord, ...] = ()
    rain_mm: Mapping[date, float] = field(default_factory=dict[date, float])
    """Final weather; a gauge on the field goes before it. [mm]"""
    silk: date | None = None
    black_layer: date | None = None
    yield_t_ha: float | None = None
    """As entered; never judged. [t/ha]"""
    irrigated: bool = False
    rung_last: int | None = None
    """Of the last night's row. [0-4]"""


@dataclass(frozen=True, slots=True)
class PartStress:
    """Stress of one part of the season; ``unknown`` days are in no sum. [d]"""

    part: Part
    held: float
    free: float
    unknown: int

    @property
    def roots(self) -> float:
        """What free roots would have been spared. [d]"""
        return max(self.held - self.free, 0.0)


@dataclass(frozen=True, slots=True)
class WarningPast:
    """One warning from its first note until it was taken back or the season ended."""

    night: date
    last: date
    """Night of its last rise."""
    rung: int
    """The highest told. [0-4]"""
    stress: float | None
    """Stress of the held roots from the first note to the end of its window. [d]"""
    water_mm: float | None
    """Rain and watering in the same days; None: not known. [mm]"""
    came: Came


@dataclass(frozen=True, slots=True)
class Spell:
    """Stressed days of the held roots, with breaks shorter than a week, that passed the mark."""

    first: date
    passed: date
    """Day on which its sum passed the mark."""
    last: date
    stress: float
    warned: bool


@dataclass(frozen=True, slots=True)
class Lead:
    """From the first note of the warning that stood to the first day of real stress. [d]"""

    kind: LeadKind
    days: int | None = None
    """Negative: the note came after; None: there was none."""


@dataclass(frozen=True, slots=True)
class LeafLook:
    """A look at the leaves beside what was computed for that day."""

    day: date
    rolled: bool
    stress: float | None
    agrees: bool | None
    """None: the day was not computed."""


@dataclass(frozen=True, slots=True)
class SeasonEnd:
    """What was warned and what happened on one field."""

    past: SeasonPast
    first_stress: date | None
    """Day on which the held roots' sum passed the mark."""
    first_free: date | None
    parts: tuple[PartStress, ...]
    """Empty where the day of silk is not known."""
    held: float
    free: float
    unknown: int
    """Days from planting to the end without a figure."""
    lead_tight: Lead | None
    """None: no real stress came, so that nothing could be led."""
    lead_short: Lead | None
    warnings: tuple[WarningPast, ...]
    spells: tuple[Spell, ...]
    leaves: tuple[LeafLook, ...]
    harvested: date | None
    wall_class: int | None
    """Of the last dig. [0-3]"""
    moisture: MoistureWord | None
    """Soil when first dug; the card does not know the day of planting."""
    actions: tuple[Action, ...]
    """For the next planting, where a row of the rules fits."""

    @property
    def hits(self) -> int:
        """Spells of stress that were warned of."""
        return sum(one.warned for one in self.spells)

    @property
    def misses(self) -> int:
        """Spells of stress that were not."""
        return len(self.spells) - self.hits

    def warnings_that(self, came: Came) -> int:
        """How many warnings came to this."""
        return sum(one.came == came for one in self.warnings)

    @property
    def spared(self) -> bool:
        """Whether free roots would not have run short where the held ones did."""
        return self.first_stress is not None and self.first_free is None


@dataclass(frozen=True, slots=True)
class LeadRange:
    """Days of warning over the seasons that had some."""

    n: int
    middle: float
    low: int
    high: int
    few: bool = False
    """Too few to say anything."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts over field-seasons; ``few`` says that they are too few to say anything."""

    name: str
    seasons: int
    stressed: int
    hits: int
    misses: int
    false_alarms: int
    rain_came: int
    not_known: int
    lead: LeadRange | None
    few: bool


@dataclass(frozen=True, slots=True)
class Owed:
    """Stress owed to the roots over the seasons of one kind. [d]"""

    name: str
    n: int
    stressed: int
    middle: float
    low: float
    high: float
    few: bool


@dataclass(frozen=True, slots=True)
class Lessons:
    """What a year says for the next planting."""

    by_wall: tuple[Owed, ...]
    by_moisture: tuple[Owed, ...]
    spared: tuple[str, ...]
    """Fields whose held roots ran short where free roots would not have."""
    actions: tuple[Action, ...]


@dataclass(frozen=True, slots=True)
class YearEnd:
    """What many field-seasons of one year come to."""

    every: Tally
    by_wall: tuple[Tally, ...]
    by_grower: tuple[Tally, ...]
    leaves_agree: int
    leaves_rolled_unseen: int
    """Rolled leaves on days without stress by the model."""
    leaves_flat_unseen: int
    """Flat leaves on days with stress by the model."""
    lessons: Lessons
