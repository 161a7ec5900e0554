"""What a field's figures rest on: stage, dig and weather, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.crop.words import crop_words
from rootbound_service.notes.en.quantities import count, day, short_day
from rootbound_service.notes.units import length

if TYPE_CHECKING:
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

WALL_WORDS = ("crumbles", "firm", "smeared", "hard and shiny")
PAN_WORDS = ("no", "firm", "hard", "very hard")


def _stage(facts: FieldFacts) -> str:
    """Return the trade's name of the stage, fit to begin a sentence."""
    return facts.stage[:1].upper() + facts.stage[1:]


def flowering(crop: str) -> str:
    """Return what a crop's critical window lies around, in the trade's words."""
    if crop == "maize":
        return "silk"
    words = crop_words(crop)
    return words.stages[words.keys.index(words.critical)]


def stage_line(facts: FieldFacts) -> str:
    """Return the stage, days to silk and whether it is the critical window."""
    parts = [_stage(facts)]
    if facts.days_to_silk is not None and facts.days_to_silk > 0:
        parts.append(f"{flowering(facts.crop)} in about {count(facts.days_to_silk, 'day')}")
    line = ", ".join(parts)
    if facts.critical_window:
        around = "silking" if facts.crop == "maize" else flowering(facts.crop)
        return f"{line}: the critical window around {around}, when dry days cost most."
    return f"{line}."


def short_stage(facts: FieldFacts) -> str:
    """Return stage and days to silk for a table."""
    if facts.days_to_silk is None or facts.days_to_silk <= 0:
        return _stage(facts)
    return f"{_stage(facts)}, {flowering(facts.crop)} in {count(facts.days_to_silk, 'day')}"


def dig_line(facts: FieldFacts, units: Units) -> str:
    """Return the dig on which all this rests."""
    if facts.wall_class is None or facts.dug_on is None:
        return "No dig yet."
    plants = f", {count(facts.plants_dug, 'plant')}" if facts.plants_dug else ""
    wall = f"Wall {facts.wall_class} {WALL_WORDS[facts.wall_class]}"
    return f"{wall}{_pan(facts, units)}, dug {day(facts.dug_on, units)}{plants}."


def _pan(facts: FieldFacts, units: Units) -> str:
    """Return the pan that was found, or nothing."""
    if not facts.pan_class or facts.pan_depth_cm is None:
        return ""
    return f", {PAN_WORDS[facts.pan_class]} pan at {length(facts.pan_depth_cm, units)}"


def weather_age(facts: FieldFacts) -> int | None:
    """Days between the last real weather and this night. [d]"""
    through = facts.weather_through
    return None if through is None else (facts.night - through).days


def weather_line(facts: FieldFacts, units: Units) -> str:
    """Return source and last real day of the weather."""
    age = weather_age(facts)
    if facts.weather_through is None or age is None:
        return f"{facts.weather_source}: no real weather yet."
    through = day(facts.weather_through, units)
    said = f"{facts.weather_source}, real through {through} ({age_words(age)})"
    coming = facts.forecast
    if coming is None:
        return f"{said}."
    last = short_day(coming.through, units)
    return f"{said}; then the forecast of {coming.title} up to {last}."


def age_words(days: int) -> str:
    """Return the age of the weather in words; ``days`` in d."""
    return "of today" if days <= 0 else f"{count(days, 'day')} old"


def weather_age_words(days: int) -> str:
    """Return the age of the weather for a table's line; ``days`` in d."""
    return f"weather {age_words(days)}"
