"""A note computed again from its evidence alone, every figure held against what was kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.risk.assess import assess
from rootbound_rules.season.belief import believe
from rootbound_rules.season.cache import rules_fingerprint
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.observed import with_observed
from rootbound_rules.season.outlook import look_out
from rootbound_service.nights.evidence import assessed, made_with
from rootbound_service.nights.explain_decide import decide_again
from rootbound_service.nights.explain_inputs import inputs_of
from rootbound_service.nights.further import further
from rootbound_service.nights.plain import plain
from rootbound_service.nights.whole_code import read_whole_code

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.risk.ladder import Decision
    from rootbound_rules.season.belief import Belief
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.explain_inputs import Evidence, Inputs
    from rootbound_service.records import RiskRecord


@dataclass(frozen=True, slots=True)
class Difference:
    """A figure that came out otherwise than it was kept."""

    name: str
    """Where in the evidence, such as ``assessment.held.chance_7``."""
    kept: object
    again: object


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """What came of some inputs."""

    demand: Demand
    """The field's own days, gauge and irrigation included."""
    belief: Belief | None
    outlook: Outlook
    assessment: Assessment
    row: RiskRecord
    """Of the night."""
    decision: Decision | None
    """None where the field was not on the ladder."""


@dataclass(frozen=True, slots=True, eq=False)
class Again:
    """A note computed again."""

    inputs: Inputs
    figures: Figures
    differences: tuple[Difference, ...]
    compared: int
    """How many figures were held against each other."""
    rules_then: str
    rules_now: str
    changed_packages: tuple[str, ...]
    """Packages of another version than then, such as ``numpy 2.3.4, now 2.4.0``."""

    @property
    def same_rules(self) -> bool:
        """Whether equations and tables are those of the night."""
        return self.rules_then == self.rules_now

    @property
    def same(self) -> bool:
        """Whether every figure is the same to the digit."""
        return not self.differences


def compute_again(evidence: Evidence, packed: bytes | None) -> Again:
    """Compute a note again from what was kept with it.

    Parameters
    ----------
    evidence
        Of the note.
    packed
        The past years of weather kept under the evidence's ``past_fingerprint``.

    Returns
    -------
    Again
        With every difference; none where everything is the same to the digit.

    Raises
    ------
    RefusedInput
        If the evidence does not hold what it takes.
    RulesError
        If the rules of today refuse what they took then.
    """
    inputs = inputs_of(evidence, packed)
    figures = figures_of(inputs, evidence)
    again: dict[str, object] = {
        "assessment": assessed(figures.assessment),
        "row": plain(figures.row),
    }
    if figures.decision is not None:
        again["decision"] = plain(figures.decision)
    own = further(figures.outlook, figures.belief, figures.row, irrigated=inputs.irrigated)
    again["more"] = own
    kept = {name: evidence[name] for name in ("assessment", "decision", "row") if name in evidence}
    kept["more"] = {name: evidence["more"].get(name) for name in own}
    then, now = evidence["made_with"], made_with()
    changed = (
        f"{name} {then[name]}, now {now.get(name, 'absent')}"
        for name in then
        if then[name] != now.get(name)
    )
    return Again(
        inputs=inputs,
        figures=figures,
        differences=tuple(differences(kept, again)),
        compared=_count(kept),
        rules_then=evidence["rules"],
        rules_now=rules_fingerprint(),
        changed_packages=tuple(changed),
    )


def figures_of(inputs: Inputs, evidence: Evidence) -> Figures:
    """Compute both twins and the decision from some inputs.

    Parameters
    ----------
    inputs
        What was known on the night.
    evidence
        What the inputs were rebuilt from.
    """
    season, seen, years = inputs.season, inputs.observed, inputs.years
    demand = with_observed(_cell_days(inputs), seen.rain_mm, seen.irrigation_mm)
    extra: dict[str, Any] = {} if inputs.coming is None else {"coming": inputs.coming}
    belief = None
    if seen.reports:
        begun = (season, demand, inputs.known_through, inputs.seed)
        belief = believe(*begun, seen.reports, len(years), years)
        extra["points"] = belief.points
    read_whole_code()
    outlook = look_out(season, demand, inputs.known_through, inputs.seed, years, **extra)
    assessment = assess(outlook, inputs.night)
    row, decision = decide_again(inputs, assessment, outlook, belief, evidence)
    return Figures(demand, belief, outlook, assessment, row, decision)


def differences(kept: object, again: object, name: str = "") -> Iterator[Difference]:
    """Find every figure that differs.

    Parameters
    ----------
    kept, again
        What JSON holds, as it was and as it came out.
    name
        Where both stand.

    Yields
    ------
    Difference
        One a figure; a figure that only one side has differs from None.
    """
    if kept == again:
        return
    found = Difference(name, kept, again)
    if isinstance(kept, dict) and isinstance(again, dict):
        one, other = cast("dict[str, object]", kept), cast("dict[str, object]", again)
        for key in [*one, *(key for key in other if key not in one)]:
            inner = f"{name}.{key}" if name else key
            yield from differences(one.get(key), other.get(key), inner)
    elif isinstance(kept, list) and isinstance(again, list):
        these, those = cast("list[object]", kept), cast("list[object]", again)
        if len(these) != len(those):
            yield Difference(f"{name} (how many)", len(these), len(those))
        for place, (mine, theirs) in enumerate(zip(these, those, strict=False)):
            yield from differences(mine, theirs, f"{name}[{place}]")
    else:
        yield found


def _cell_days(inputs: Inputs) -> Demand:
    """The cell's days in the terms of the step, by the loop that the night ran."""
    from rootbound_rules.season.kernel import demand_loop

    limits = heat_limits(inputs.season.crop)
    cell = (inputs.weather, inputs.cell_lat, inputs.cell_elevation_m)
    return cell_demand(*cell, *limits, demand_loop)


def _count(value: object) -> int:
    """How many figures a value of JSON holds."""
    if isinstance(value, dict):
        return sum(_count(one) for one in cast("dict[str, object]", value).values())
    if isinstance(value, list):
        return sum(_count(one) for one in cast("list[object]", value))
    return 1
