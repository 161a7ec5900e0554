"""What somebody hears who wrote to us: one short answer, fit for a text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.en.quantities import short_day
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from rootbound_service.records import Units

_LONGEST_NAME = 40
STOPPED_TEXT = "Rootbound: stopped. You get no more texts from us. Reply START to get them again."
STOPPED_MAIL = (
    "Stopped. You get no more letters of this kind from us. To get them again, ask whoever "
    "enrolled your fields."
)
STARTED_TEXT = (
    "Rootbound: started again. Notes on your fields, at most 2 a week unless failing. "
    "Reply STOP to end, HELP for help."
)
NO_CONSENT_TEXT = (
    "Rootbound: this number has not agreed to texts. Ask whoever enrolled your fields to add it."
)
USAGE = "RAIN 0.8, ROLL YES or ROLL NO, OK, STOP."
UNCLEAR = f"Rootbound did not understand that. You can answer: {USAGE}"
ANSWER_OURS = (
    "Not kept: this letter does not answer one of ours, and so could be from anybody. Answer the "
    f"latest letter you got from us with your words: {USAGE}"
)
NO_FIELD = "Rootbound: no field of yours is in season, so nothing was kept."


def welcome_text() -> str:
    """Return the first text to a number that agreed: who, how often, how to get help and stop."""
    return (
        "Rootbound: you agreed to notes on your fields by text, at most 2 a week unless failing. "
        "Msg and data rates may apply. HELP for help, STOP to end."
    )


def help_text(contact: str) -> str:
    """Return what the service is, whom to ask, how often it writes and how to stop."""
    return (
        f"Rootbound: notes on water in reach of your roots, at most 2 texts a week unless "
        f"failing. Msg and data rates may apply. Ask {contact}. Answers: {USAGE}"
    )


def seen_text(fields: Sequence[str]) -> str:
    """Return that an answer was taken as seen."""
    if not fields:
        return "Rootbound: thank you."
    more = f" and {len(fields) - 1} more" if len(fields) > 1 else ""
    return f"Rootbound: noted, you have seen {fields[0]}{more}."


def rain_text(field: str, day: date, mm: float, units: Units) -> str:
    """Return which rain was kept for which day."""
    return (
        f"Rootbound: {water(mm, units)} of rain on {short_day(day, units)} kept for {field}. "
        "It counts from tonight on."
    )


def rolled_text(field: str, day: date, units: Units, *, rolled: bool) -> str:
    """Return what was kept of the leaves."""
    what = "leaves rolled" if rolled else "leaves not rolled"
    return f"Rootbound: {what} on {short_day(day, units)} kept for {field}. Counts from tonight."


def which_text(fields: Sequence[tuple[int, str]], example: str) -> str:
    """Return that the field is wanted, with some of their numbers."""
    if not fields:
        return NO_FIELD
    named = ", ".join(f"#{number} {name[:_LONGEST_NAME]}" for number, name in fields[:3])
    more = f" and {len(fields) - 3} more" if len(fields) > 3 else ""  # noqa: PLR2004  (named above)
    return f"Rootbound: which field? Write {example} #{fields[0][0]}. Yours: {named}{more}."


def refused_text(why: str) -> str:
    """Return why an answer was not kept."""
    return f"Rootbound: not kept. {why}"
