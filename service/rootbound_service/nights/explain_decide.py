"""The night's own decision, taken again over what evidence holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from rootbound_service.nights.decide import both_twins, decide
from rootbound_service.nights.parts import Computed
from rootbound_service.nights.remembered import remembered
from rootbound_service.records import FieldRecord, Person, SoilRecord
from rootbound_service.weather.series import Gaps

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.risk.ladder import Decision
    from rootbound_rules.season.belief import Belief
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.explain_inputs import Inputs
    from rootbound_service.nights.parts import CellNight
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import RiskRecord

NOBODY = Person("", "", "grower")
"""Evidence holds no person: whom a note goes to has no part in the decision."""


@dataclass(frozen=True, slots=True, eq=False)
class KeptCell:
    """Stands for a night's cell: what a decision looks at, and what evidence has of the rest."""

    known_through: date
    patched: Gaps
    kept: Mapping[str, object]
    """The cell's part of the evidence."""
    leans: bool = False


def decide_again(
    inputs: Inputs,
    assessment: Assessment,
    outlook: Outlook,
    belief: Belief | None,
    kept: Mapping[str, object],
) -> tuple[RiskRecord, Decision | None]:
    """Decide a night again.

    Parameters
    ----------
    inputs
        What was known on the night.
    assessment, outlook, belief
        What came of it.
    kept
        The cell's part of the evidence.

    Returns
    -------
    tuple
        The row of the night, and the ladder's decision where the field was on it.
    """
    gaps = Gaps(0, 0, inputs.rain_assumed_days)
    cell = cast("CellNight", KeptCell(inputs.known_through, gaps, kept))
    status = cast("Status", inputs.status)
    computed = Computed(
        field=_field(inputs),
        status=status,
        season=inputs.season,
        cell=cell,
        assessment=assessment,
        outlook=outlook,
        observed=inputs.observed,
        belief=belief,
    )
    row = decide(computed, inputs.before, inputs.night).risk
    if row.status not in {"watched", "unrated"}:
        return row, None
    return row, both_twins(computed, remembered(inputs.before), inputs.night)[0]


def _field(inputs: Inputs) -> FieldRecord:
    """The field as far as a decision looks at it."""
    season = inputs.season
    return FieldRecord(
        name=f"field {inputs.field_id}",
        lat=season.lat,
        lon=0.0,
        elevation_m=season.elevation_m,
        row_spacing_cm=season.row_spacing_cm,
        time_zone="UTC",
        grower=NOBODY,
        adviser=None,
        soil=SoilRecord(),
        crop=season.crop,
        planted=season.planted,
        black_layer_gdd_f=season.black_layer_gdd_f,
        seed_depth_cm=season.seed_depth_cm,
        id=inputs.field_id,
        season_id=inputs.season_id,
        irrigated=inputs.irrigated,
        observations=inputs.observations,
    )
