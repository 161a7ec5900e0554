"""The words around a field's own: why a letter comes, how it ends, what labels and axes say."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes.en.quantities import count, day, in_reach
from rootbound_service.notes.en.wording import status_label
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Person, Units

LABELS = {
    "when": "When",
    "rain": "Rain to hold",
    "water": "Watering",
    "sure": "How sure",
    "ahead": "Days ahead",
    "stage": "Stage",
    "roots": "Roots",
    "dig": "Dig",
    "exposure": "Exposure",
    "seen": "Seen",
    "weather": "Weather",
}
CHART = {
    "held": "held roots",
    "free": "free roots",
    "outlook": "outlook",
    "rain": "rain",
    "stress": "stress line",
    "today": "last real day",
    "reach": "reach of the roots",
    "no_reach": "reach: not dug",
    "unknown_reach": "reach: not known",
    "normal": "normal",
}
CAUTIONS = (
    (
        "Held roots: as dug. Free roots: the same crop with nothing in their way. Water in reach: "
        "what the roots can still take up before stress. Stress sets in: the season has come to "
        "two full days of it. Outlook: tonight's soil under the forecast and then the weather of "
        "past summers."
    ),
    (
        "Use these figures to decide where to look, what to water first and what to watch. They "
        "promise no yield, settle no claim and do not replace a licensed adviser."
    ),
)


def leaving_line(person: Person, what: str, *, linked: bool = False) -> str:
    """Return why the reader gets this and how to stop it.

    Parameters
    ----------
    person
        The reader.
    what
        ``note`` or ``digest``.
    linked
        Whether the letter has a link that stops it.
    """
    how = 'use the link or answer with the word "stop"' if linked else 'answer with the word "stop"'
    seen = "" if linked or what != "note" else ' Answer "ok" once you have seen it.'
    return f"{reason_line(person, what)}{seen} To stop, {how}."


def reason_line(person: Person, what: str) -> str:
    """Return why the reader gets this; parameters as for :func:`leaving_line`."""
    whose = "you advise on these fields" if person.role == "adviser" else "these are your fields"
    return f"You get this {what} because {whose}."


def night_line(night: date, units: Units) -> str:
    """Return the night a note tells of."""
    return f"Night of {day(night, units)}, {night.year}"


def others_line(others: int) -> str:
    """Return how many more fields a note tells of; nothing for one field."""
    if not others:
        return ""
    verb = "changes too" if others == 1 else "change too"
    return f"{count(others, 'more field')} {verb}; the most urgent comes first."


def figure_captions(facts: FieldFacts, units: Units) -> tuple[str, str]:
    """Return what stands under the big numbers of water in reach and of days ahead."""
    held = "water in reach of the held roots"
    if facts.free_water_mm is not None:
        held += f" (free roots {water(facts.free_water_mm, units)})"
    return held, "stress sets in sooner than with free roots"


def days(number: int) -> str:
    """Return a number of days."""
    return count(number, "day")


def no_weather_word() -> str:
    """Return what a table says where there is no weather."""
    return "weather missing"


def free_rung_line(label: str) -> str:
    """Return where the free roots of a field without a dig would stand."""
    return f"Free roots would be at {label}"


def waters_line(held: str, free: str) -> str:
    """Return both waters in reach for a plain table; either may be empty."""
    told = (f"water in reach {held}" if held else "", f"free roots {free}" if free else "")
    figures = ", ".join(one for one in told if one)
    return f"{figures[:1].upper()}{figures[1:]}." if figures else ""


def chart_alt(facts: FieldFacts, units: Units) -> str:
    """Return what the picture shows, with its numbers, for readers who do not see it.

    Parameters
    ----------
    facts
        The field.
    units
        The reader's units.
    """
    held, free = facts.water_in_reach_mm, facts.free_water_mm
    shown = [f"{facts.field_name}, {status_label(facts)}"]
    if held is not None and facts.status != "unrated":
        shown.append(f"{in_reach(held, units)}")
    if free is not None:
        shown.append(f"free roots {water(free, units)}")
    if facts.reach is not None and facts.status == "watched":
        shown.append(f"reach of the roots {100 * facts.reach:.0f}%")
    if facts.series is not None:
        rain = float(np.nansum(facts.series.rain_mm[-14:]))
        shown.append(f"rain of the last 14 days {water(rain, units)}")
    return ", ".join(shown)
