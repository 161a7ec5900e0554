"""The steps from both twins' stress to a rung, and from the rung to a note."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from rootbound_rules.risk.ladder import RUNG_NAMES, raw_rung, threshold
from rootbound_rules.risk.stress import past
from rootbound_rules.tables import load_table
from rootbound_service.nights.explain_step import CHOICE, Days, Figure, Step, Value, row_figure

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_rules.risk.ladder import Reading
    from rootbound_rules.risk.stress import Ahead
    from rootbound_service.nights.explain_again import Figures
    from rootbound_service.nights.explain_inputs import Evidence, Inputs

RULES = {
    "held_by_hysteresis": "Tonight's rung is lower, but a rung falls only after some nights.",
    "fell_after_nights": "Enough nights in a row were below the rung: it falls.",
    "fell_after_wetting": "The chance behind the rung is under half of what it takes: it falls.",
    "rise_waits": "A change was made some nights ago: a rise that is no jump waits.",
    "fall_waits": "A change was made some nights ago: a fall that is no jump waits.",
    "rain_not_known": "Days without known rain were taken for dry: a rise on them is taken back.",
    "grown_free": "The roots were rated badly and reach as far as free ones now.",
    "held_again": "The roots had been told free and are held again.",
}
"""What the ladder did, where it did not simply follow tonight's thresholds."""


def verdict_steps(inputs: Inputs, figures: Figures, evidence: Evidence) -> list[Step]:
    """Tell the steps from stress to note.

    Parameters
    ----------
    inputs
        What was known on the night.
    figures
        What came of it.
    evidence
        Of the note: further results that were kept with it.

    Returns
    -------
    list of Step
        Sums over the members, chances against what they need, the ladder's rule, what was
        said before, and rain to hold where it was kept.
    """
    steps = [_sums(inputs, figures), _chances(inputs, figures)]
    if figures.decision is not None:
        steps.append(_ladder(inputs, figures))
    more = cast("Mapping[str, Any]", evidence["more"])
    for key, title in (("hold", "Rain to hold"), ("water_to_hold", "Water to hold")):
        if key in more:
            steps.append(hold_step(title, more[key]))
    return steps


def chance_rows(reading: Reading | Mapping[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """A row for each rung: what it looks at, the chance and what that must be.

    Parameters
    ----------
    reading
        Of a twin, or the same as JSON holds it.
    """
    one = _reading(reading)
    rows, needed = load_table("ladder"), threshold(one)
    usual = rows.number("chance")
    grown = one.collars >= rows.number("short.from_collar")
    tasselling = one.collars >= rows.number("failing.from_collar") and not one.past_r4
    found = (
        (1, "drawing_down", "coming", one.chance_14, needed, True),
        (2, "tight", "coming", one.chance_7, needed, True),
        (3, "short", "past", one.chance_short, usual, grown),
        (4, "failing", "past", one.chance_failing, usual, tasselling),
    )
    return tuple(
        (
            f"{rung} {RUNG_NAMES[rung]}",
            f"{way} {rows.number(f'{key}.days'):.0f} d",
            rows.number(f"{key}.stress"),
            chance,
            share,
            "yes" if applies and chance >= share else "no" if applies else "not at this stage",
        )
        for rung, key, way, chance, share, applies in found
    )


CHANCE_HEADS = Days(
    ("rung", "stress of", "at least", "chance", "needed", "reached"), ("", "", "d", "", "", ""), ()
)


def hold_step(title: str, hold: Mapping[str, Any]) -> Step:
    """Rain to hold as it was kept.

    Parameters
    ----------
    title
        Of the step.
    hold
        What JSON holds of ``rain_to_hold``.
    """
    words = {
        "none_needed": "None needed: the field does not climb within the week.",
        "none_would": "No single amount this week would keep the field from climbing.",
        "at_top": "There is no rung to climb to.",
        "already_climbing": "Tonight's reading is above the rung already: no rain changes it.",
        "rain": "The smallest single amount that keeps the field from climbing, by day.",
    }
    kind = str(hold["kind"])
    rows = tuple((one["day"], one["mm"], one["low"], one["high"]) for one in hold.get("days", ()))
    table = Days(("by", "rain", "low", "high"), ("", "mm", "mm", "mm"), rows) if rows else None
    return Step(title, table=table, words=(words.get(kind, kind),))


def _sums(inputs: Inputs, figures: Figures) -> Step:
    """Stress sums of both twins, over the members."""
    outlook, a = figures.outlook, figures.assessment
    today = outlook.day(inputs.night)
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (f"past {days} d" if days < today else "season", *_three(outlook.held_stress, today, days),
         *_three(outlook.free_stress, today, days))
        for days in (3, 7, today)
    )  # fmt: skip
    heads = ("stress of", "held 10%", "median", "90%", "free 10%", "median", "90%")
    return Step(
        "Stress sums over the members",
        (
            Figure("members: a past year and a draw", a.members),
            row_figure("counted from collar", "ladder", "stress_from_collar"),
            row_figure("running short is a sum over", "ladder", "onset_days"),
            Figure("water in reach, held", a.water_in_reach_mm, "mm", "median"),
            Figure("water in reach, free", a.free_water_mm, "mm", "median"),
            *_ahead(inputs.status, a.ahead),
        ),
        Days(heads, ("", "d", "d", "d", "d", "d", "d"), rows),
        cites=("rootbound_trial",),
    )


def _three(stress: Any, today: int, days: int) -> tuple[float, ...]:
    """10, 50 and 90 % of the members' sums."""
    return tuple(float(one) for one in np.quantile(past(stress, today, days), (0.1, 0.5, 0.9)))


def _ahead(status: str, ahead: Ahead) -> list[Figure]:
    """Days ahead, for a field whose roots were dug."""
    if status != "watched":
        return []
    if ahead.median is None:
        return [Figure("days ahead", ahead.kind.replace("_", " "))]
    ends = [None if one is None else f"{one:.1f}" for one in (ahead.low, ahead.high)]
    middle = f"middle 80 %: {ends[0] or 'not reached'} to {ends[1] or 'no end'}"
    return [Figure("days ahead", ahead.median, "d", middle)]


def _chances(inputs: Inputs, figures: Figures) -> Step:
    """Chances of each rung against what they need."""
    reading = figures.assessment.held if inputs.status == "watched" else figures.assessment.free
    rung, reason = raw_rung(reading)
    window = "lower, for the field is in the critical window" if reading.critical else "the usual"
    key = "chance_critical" if reading.critical else "chance"
    return Step(
        "Chances against the needed share",
        (row_figure("share of members that must agree", "ladder", key),),
        Days(CHANCE_HEADS.heads, CHANCE_HEADS.units, chance_rows(reading)),
        (
            f"The needed share is {window}.",
            f"By tonight's thresholds alone: {rung} {RUNG_NAMES[rung]} ({reason}).",
        ),
        ("nielsen_2005_drought", "rhoads_bennett_1990_lauer_2003"),
    )


def _ladder(inputs: Inputs, figures: Figures) -> Step:
    """What the ladder made of it, against the night before and what was said."""
    decision, before = figures.decision, inputs.before
    assert decision is not None  # noqa: S101  (looked at by the caller)
    last = before.rung if before is not None else None
    said = before.said_rung if before is not None else None
    rule = RULES.get(str(decision.reason), "Tonight's thresholds hold: the rung follows at once.")
    verdict = (
        "A note: the rung is above what people were last told."
        if decision.note and decision.rung > (said or 0)
        else "A note: the field has eased, or its roots have grown free."
        if decision.note
        else "No note."
    )
    return Step(
        "The ladder, and what was said before",
        (
            Figure("rung the night before", rung_words(last)),
            Figure("rung people were last told", rung_words(said)),
            Figure("rung by tonight's thresholds", rung_words(decision.raw_rung)),
            Figure("rung tonight", rung_words(decision.rung), "", CHOICE),
            Figure("nights below the rung", decision.nights_below, "nights"),
            row_figure("nights it takes to fall", "ladder", "fall.nights"),
        ),
        words=(rule, verdict),
        cites=("rootbound_trial",),
    )


def rung_words(rung: int | None) -> str:
    """Number and name of a rung; none where there is none."""
    return "none" if rung is None else f"{rung} {RUNG_NAMES[rung]}"


def _reading(reading: Reading | Mapping[str, Any]) -> Reading:
    """A reading, also of what JSON holds of one."""
    from rootbound_rules.risk.ladder import Reading as Kind

    if isinstance(reading, Kind):
        return reading
    # a reading kept by an older version may lack what came later
    return Kind(**{one.name: reading[one.name] for one in fields(Kind) if one.name in reading})
