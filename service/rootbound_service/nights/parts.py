"""What a night works with and what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from rootbound_rules.crop.table import heat_limits

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Assessment, Figures
    from rootbound_rules.season.belief import Belief
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.values import DailyWeather, FieldSeason
    from rootbound_service.nights.coming import Coming
    from rootbound_service.nights.observed import Observed
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import FieldRecord, NoteRecord, RiskRecord
    from rootbound_service.weather.series import Gaps, PlaceDays


@dataclass(frozen=True, eq=False)  # without slots: what many fields ask is worked out once
class CellNight:
    """One weather cell as it is known on a night."""

    days: PlaceDays
    demands: dict[tuple[float, float], Demand]
    """The cell's days by base and ceiling of the heat units, for the crops that grow there."""
    coming: Coming | None = None
    """What is expected after the last real day."""
    gauged: frozenset[date] = frozenset()
    """Days whose rain a field's own gauge tells; the cell is then that field's alone."""

    @property
    def key(self) -> str:
        """Key of the cell."""
        return self.days.place.key

    @property
    def elevation_m(self) -> float:
        """Mean elevation. [m]"""
        return self.days.elevation_m

    @property
    def weather(self) -> DailyWeather:
        """Every known day, past years included."""
        return self.days.weather

    @cached_property
    def known_through(self) -> date | None:
        """Last day with both temperatures and rain."""
        return self.days.weather.known_through()

    @cached_property
    def patched(self) -> Gaps:
        """How much of the last two weeks is missing or filled in, the gauge's days left out."""
        return self.days.gaps_beside(self.gauged)

    @property
    def leans(self) -> bool:
        """Whether the last two weeks rest on more than the cell's own source."""
        return self.days.leans

    def demand_of(self, crop: str) -> Demand:
        """The cell's days with the heat units of a crop that grows there."""
        return self.demands[heat_limits(crop)]

    def coming_of(self, crop: str) -> ComingDays | None:
        """What is expected, with the heat units of a crop that grows there."""
        return self.coming.days[heat_limits(crop)] if self.coming else None


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """Everything a night starts from."""

    night: date
    fields: tuple[FieldRecord, ...]
    memory: dict[int, RiskRecord]
    cells: dict[str, CellNight]
    cell_of: dict[int, str]
    """Cell key by field id."""
    troubles: dict[str, str] = field(default_factory=dict)
    """Cell key -> the sentence of why its weather did not come."""
    told: tuple[str, ...] = ()
    """What the sources did tonight: revisions, stand-ins, marks; a sentence each."""
    missed: bool = False
    """Whether a source did not answer for some cell, even if another stood in."""
    fewest_years: int = 1
    """Past years that an outlook needs."""
    mended: bool = False
    """Whether stored weather was spoiled: the operator hears of it though every field is well."""


@dataclass(frozen=True, slots=True, eq=False)
class Computed:
    """One field after computing: where it stands, and the outlook behind it."""

    field: FieldRecord
    status: Status
    season: FieldSeason | None = None
    cell: CellNight | None = None
    assessment: Assessment | None = None
    outlook: Outlook | None = None
    failure: str | None = None
    """A sentence for the operator when the field has no answer."""
    unknown_because: str = "weather_too_old"
    """Why an unknown field is unknown: a named reason."""
    observed: Observed | None = None
    """What people saw and did on the field by the night."""
    belief: Belief | None = None
    """What reports of leaves made of the members; None where nobody reported."""
    quick: Figures | None = None
    """Of a night over very many fields, which keeps no outlook."""

    @property
    def figures(self) -> Figures | None:
        """What the ladder reads and the row tells; None without an outlook."""
        return self.assessment or self.quick


@dataclass(frozen=True, slots=True, eq=False)
class Decided:
    """One field after deciding: its row, and the note if there is one."""

    computed: Computed
    risk: RiskRecord
    note: NoteRecord | None
    said_before: int | None
    """Rung of the last note before tonight's."""
    picture: bytes | None = None
    """The season's days, packed for the pages."""


@dataclass(frozen=True, slots=True)
class NightReport:
    """What a night came to."""

    night: date
    fields_ok: int
    fields_failed: int
    notes: int
    messages: int
    failures: tuple[str, ...]
    """One sentence for each cell whose weather did not come and each field not computed."""
    told: tuple[str, ...] = ()
    """What the weather's sources did: revisions, stand-ins, marks; a sentence each."""
