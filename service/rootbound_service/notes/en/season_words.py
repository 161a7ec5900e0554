"""The season's end in words: what was warned, what happened, what the roots had to do with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.crop.yields import KG_PER_BUSHEL, t_per_ha_of_bushels
from rootbound_service.notes.en.particulars import WALL_WORDS
from rootbound_service.notes.en.quantities import count, day
from rootbound_service.notes.en.wording import rung_label
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from rootbound_service.nights.season_end_shapes import (
        Lead,
        LeafLook,
        Owed,
        SeasonEnd,
        Tally,
        WarningPast,
        YearEnd,
    )
    from rootbound_service.records import Units

TITLE = "The season's end"
INTRO = (
    "What was warned and what happened, by the final weather. A day of stress is one without any "
    "water in reach, or two with half of what the crop asks for."
)
HEADINGS = {
    "year": "All fields",
    "wall": "By wall class",
    "grower": "By grower",
    "warnings": "What the warnings came to",
    "parts": "Stress by part of the season",
    "leaves": "What people saw",
    "yield": "Yield as entered",
    "lessons": "For the next planting",
}
COLUMNS = {
    "part": ("Part of the season", "Held roots [d]", "Free roots [d]", "Owed to the roots [d]"),
    "warning": ("First told", "Highest rung", "Held stress since [d]", "What came"),
    "tally": (
        "Group", "Seasons", "With stress", "Warned of", "Missed", "False alarms", "Rain came",
        "Not known", "Days of warning [d]",
    ),
    "owed": ("Group", "Seasons", "With stress", "Owed to the roots [d]"),
}  # fmt: skip
PARTS = {
    "before_silk": "Before silk",
    "around_silk": "Around silk",
    "after_silk": "After",
}
CAME = {
    "came": "It came",
    "rain_came": "Rain or watering came first",
    "not_came": "It did not come: a false alarm",
    "not_known": "Not known: days are missing",
}
NO_SEASON = "No season has finished yet."
NOTHING_WARNED = "Nothing was warned."
NOTHING_HAPPENED = "No real stress came."
NO_SILK = "The day of silk is not known, so that stress cannot be set by part of the season."
NO_LEAVES = "Nobody looked at the leaves."
NO_YIELD = "No yield was entered."
NO_LESSON = "Too few seasons, or too little stress, to say anything for the next planting."
TOO_FEW = "too few to say"
MOISTURE_MIND = "Soil as it was when first dug; nobody noted it on the day of planting."
YIELD_MIND = "As entered. A yield has many causes: it is not held against the warnings."


def yield_text(t_ha: float | None, crop: str, units: Units) -> str:
    """Return the yield as entered, in the reader's units.

    Parameters
    ----------
    t_ha
        As entered; None: nobody did. [t/ha]
    crop
        Of the season; one without a bushel of its own stays metric.
    units
        The reader's units.
    """
    if t_ha is None:
        return NO_YIELD
    if units == "us" and crop in KG_PER_BUSHEL:
        return f"{t_ha / t_per_ha_of_bushels(crop):.0f} bu/ac"
    return f"{t_ha:.1f} t/ha"


def season_line(end: SeasonEnd, units: Units) -> str:
    """Return one field's season in a few sentences.

    Parameters
    ----------
    end
        The season.
    units
        The reader's units.
    """
    parts = [stress_line(end, units)]
    if not end.warnings:
        parts.append(NOTHING_WARNED)
    elif end.first_stress is not None and end.lead_tight is not None:
        parts.append(lead_text(end.lead_tight, 2))
        if end.lead_short is not None:
            parts.append(lead_text(end.lead_short, 3))
    if end.unknown:
        parts.append(f"{count(end.unknown, 'day')} without a figure, counted in no sum.")
    return " ".join(parts)


def stress_line(end: SeasonEnd, units: Units) -> str:
    """Return when stress set in, and how much of it was the roots' doing."""
    if end.first_stress is None:
        known = "" if not end.unknown else " on the days that are known"
        return NOTHING_HAPPENED[:-1] + known + "."
    said = f"Stress set in on {day(end.first_stress, units)}: {_days(end.held)} with held roots"
    free = f"{_days(end.free)} with free ones"
    if end.spared:
        return f"{said}, {free}, which would not have run short."
    return f"{said}, {free}."


def lead_text(lead: Lead, level: int) -> str:
    """Return how long before the stress a rung was told.

    Parameters
    ----------
    lead
        From the note to the stress.
    level
        The rung. [0-4]
    """
    label = rung_label(level)
    if lead.days is None:
        return f"{label} or worse was never told."
    if lead.kind == "late":
        return f"{label} or worse was told {count(-lead.days, 'day')} after it."
    if lead.days == 0:
        return f"{label} or worse was told on the same day."
    return f"{label} or worse was told {count(lead.days, 'day')} before."


def warning_text(one: WarningPast, units: Units) -> str:
    """Return what one warning came to.

    Parameters
    ----------
    one
        The warning.
    units
        The reader's units.
    """
    stress = "stress not known" if one.stress is None else f"{_days(one.stress)} of stress"
    fallen = "rain not known" if one.water_mm is None else f"{water(one.water_mm, units)} of water"
    label = rung_label(one.rung)
    return f"{label}, first told {day(one.night, units)}. {CAME[one.came]} ({stress}, {fallen})."


def leaf_text(one: LeafLook, units: Units) -> str:
    """Return a look at the leaves beside what was computed for that day."""
    seen = f"{day(one.day, units)}: leaves {'rolled' if one.rolled else 'not rolled'} at noon"
    if one.stress is None:
        return f"{seen}; that day has no figure."
    said = f"{round(one.stress * 100):d} % of the day's water lacking by the model"
    return f"{seen}; {said}: {'they agree' if one.agrees else 'they do not agree'}."


def leaves_text(year: YearEnd) -> str:
    """Return how what people saw and what was computed agree, over all fields."""
    n = year.leaves_agree + year.leaves_rolled_unseen + year.leaves_flat_unseen
    if not n:
        return NO_LEAVES
    return (
        f"{count(n, 'look')} at leaves: {year.leaves_agree} agree; {year.leaves_rolled_unseen} "
        f"rolled without stress by the model, {year.leaves_flat_unseen} not rolled with it."
    )


def tally_text(one: Tally) -> str:
    """Return what the warnings of a group of seasons came to, always with how many."""
    n = count(one.seasons, "season")
    if not one.seasons:
        return NO_SEASON
    if one.few:
        return f"{n}: {TOO_FEW}."
    return (
        f"{n}, {one.stressed} with real stress. Spells of stress: {one.hits} warned of, "
        f"{one.misses} missed. Warnings: {count(one.false_alarms, 'false alarm')}, rain or "
        f"watering came first after {one.rain_came}, {one.not_known} not known. {lead_range(one)}"
    )


def lead_range(one: Tally) -> str:
    """Return the days of warning over a group of seasons."""
    if one.lead is None:
        return "No warning stood when stress set in."
    if one.lead.few:
        return f"Days of warning: {TOO_FEW} (n {one.lead.n})."
    return (
        f"Days of warning: {one.lead.middle:g} in the middle, "
        f"{one.lead.low} to {one.lead.high} (n {one.lead.n})."
    )


def owed_text(one: Owed) -> str:
    """Return the stress that free roots would have been spared, in a group of seasons."""
    n = count(one.n, "season")
    if one.few:
        return f"{n}: {TOO_FEW}."
    return (
        f"{n}, {one.stressed} with real stress; owed to the roots {_days(one.middle)} in the "
        f"middle, {one.low:.1f} to {one.high:.1f}."
    )


def wall_name(name: str) -> str:
    """Return the name of a group by wall class."""
    return f"Wall {name} {WALL_WORDS[int(name)]}" if name.isdigit() else name.capitalize()


def spared_text(names: tuple[str, ...]) -> str:
    """Return the fields whose roots made the difference."""
    if not names:
        return "On no dug field was it the roots alone that made it run short."
    return f"Held roots ran short where free ones would not have: {', '.join(names)}."


def _days(stress: float) -> str:
    """Return days of stress."""
    return f"{stress:.1f} {'day' if round(stress, 1) == 1.0 else 'days'}"
