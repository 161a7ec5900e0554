"""The whole explanation of a note: computed again, and step by step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from rootbound_service.nights.explain_again import Again, compute_again
from rootbound_service.nights.explain_inputs import check_form, row_from
from rootbound_service.nights.explain_step import Figure, Step
from rootbound_service.nights.explain_steps import field_steps
from rootbound_service.nights.explain_verdict import rung_words, verdict_steps
from rootbound_service.notes.en.believed import belief_lines

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.nights.explain_inputs import Evidence
    from rootbound_service.records import NoteRecord


@dataclass(frozen=True, slots=True, eq=False)
class Explained:
    """A note explained."""

    again: Again | None
    """None where nothing was computed that night."""
    steps: tuple[Step, ...]


def explain(note: NoteRecord, packed: bytes | None) -> Explained:
    """Explain a note from its evidence alone.

    Parameters
    ----------
    note
        The note with its evidence.
    packed
        The past years of weather that the evidence names.

    Raises
    ------
    RefusedInput
        If the evidence does not hold what it takes.
    """
    evidence: Evidence = note.evidence
    check_form(evidence)
    if "weather" not in evidence:
        return Explained(None, (_nothing_computed(evidence),))
    again = compute_again(evidence, packed)
    steps = [
        _known(again, evidence),
        *field_steps(again.inputs, again.figures),
        *_belief(evidence),
        *verdict_steps(again.inputs, again.figures, evidence),
    ]
    return Explained(again, tuple(steps))


def _known(again: Again, evidence: Evidence) -> Step:
    """What was known on the night."""
    inputs, said = again.inputs, evidence["said"]
    coming = inputs.coming
    forecast = "none" if coming is None else f"{coming.start} to {coming.end}"
    observed = ", ".join(f"{one['kind']} {one['day']}" for one in said["observations"][-6:])
    years = f"{min(inputs.years)}-{max(inputs.years)}, {len(inputs.years)} members"
    figures = [
        Figure("weather cell", evidence["cell"]),
        Figure("its height", inputs.cell_elevation_m, "m"),
        Figure("weather known through", str(inputs.known_through)),
        Figure("forecast days used", forecast),
        Figure("past years", years),
        Figure("seed of the draws", inputs.seed),
        Figure("digs that counted", len(said["digs"])),
        Figure("observations that counted", len(said["observations"])),
    ]
    words = (f"The last observations: {observed}.",) if observed else ()
    return Step("What was known that night", tuple(figures), words=words)


def _belief(evidence: Evidence) -> list[Step]:
    """What reports of leaves moved, where it was kept."""
    told = cast("Mapping[str, Any]", evidence.get("more") or {}).get("belief")
    lines = belief_lines(told, "metric")
    return [Step("What reports of leaves moved", words=tuple(lines))] if lines else []


def _nothing_computed(evidence: Evidence) -> Step:
    """A note that told that nothing can be said."""
    row = row_from(evidence["row"])
    before = None if evidence["before"] is None else row_from(evidence["before"])
    figures = (
        Figure("status", row.status),
        Figure("reason", row.reason),
        Figure("weather known through", str(row.weather_through or "none")),
        Figure("status the night before", before.status if before else "none"),
        Figure("rung people were last told", rung_words(before.said_rung if before else None)),
    )
    words = (
        "Nothing was computed that night, so there is nothing to compute again.",
        "The note told that the field can no longer be watched.",
    )
    return Step("Why nothing could be said", figures, words=words)
