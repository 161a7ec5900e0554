"""What a night works with and what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.crop.table import heat_limits

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.values import DailyWeather, FieldSeason
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import FieldRecord, NoteRecord, RiskRecord


@dataclass(frozen=True, slots=True, eq=False)
class CellNight:
    """One weather cell as it is known on a night."""

    key: str
    elevation_m: float
    weather: DailyWeather
    demands: dict[tuple[float, float], Demand]
    """The cell's days by base and ceiling of the heat units, for the crops that grow there."""
    known_through: date | None
    gap_days: int
    """Days of the last 14 known ones that lack a temperature or rain."""

    def demand_of(self, crop: str) -> Demand:
        """The cell's days with the heat units of a crop that grows there."""
        return self.demands[heat_limits(crop)]


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


@dataclass(frozen=True, slots=True, eq=False)
class Decided:
    """One field after deciding: its row, and the note if there is one."""

    computed: Computed
    risk: RiskRecord
    note: NoteRecord | None
    said_before: int | None
    """Rung of the last note before tonight's."""


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
