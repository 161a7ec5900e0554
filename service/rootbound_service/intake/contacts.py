"""A way to reach a person, as somebody gives it: checked, and with the consent that it needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast

from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.intake.phones import PhoneRefused, e164
from rootbound_service.records import Channel

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
TEXT_RUNG = 2
"""Texts tell from tight on, if nobody says otherwise: our choice, they are for what cannot wait."""
WANTED_RUNG = "give 0 ample, 1 drawing down, 2 tight, 3 short or 4 failing"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What somebody wants by one way."""

    channel: Channel
    address: str
    least_rung: int
    digest_day: int | None
    notes: bool


def read_wishes(given: Mapping[str, object]) -> Wishes:
    """Check what was given of a contact.

    Parameters
    ----------
    given
        ``email`` or ``text`` with the address; ``from_rung``, ``digest`` (a weekday or ``never``),
        ``notes`` as far as given.

    Returns
    -------
    Wishes
        With what is usual where nothing is given.

    Raises
    ------
    RefusedInput
        With every problem.
    """
    problems: list[Problem] = []
    channel, address = _address(given, problems)
    rung = given.get("from_rung", TEXT_RUNG if channel == "text" else 0)
    if not isinstance(rung, int) or not 0 <= rung <= 4:  # noqa: PLR2004  (the rungs)
        problems.append(Problem("--from-rung", f"{rung} is no rung", WANTED_RUNG))
    day = _day(given, channel, problems)
    if problems:
        raise RefusedInput(tuple(problems))
    notes = bool(given.get("notes", True))
    return Wishes(channel, address, cast("int", rung), day, notes)


def _address(given: Mapping[str, object], problems: list[Problem]) -> tuple[Channel, str]:
    """Channel and address; exactly one of the two ways."""
    mail, number = given.get("email"), given.get("text")
    if (mail is None) == (number is None):
        what = "both are given" if mail is not None else "neither an address nor a number is given"
        problems.append(Problem("--email, --text", what, "give one of the two"))
        return "email", ""
    if number is not None:
        try:
            return "text", e164(str(number))
        except PhoneRefused as error:
            what, _, wanted = str(error).partition("; ")
            problems.append(Problem("--text", what, wanted))
            return "text", ""
    try:
        return "email", read_person(f"x <{mail}>")[1]
    except PydanticCustomError as error:
        what, _, _ = error.message().partition("; ")
        problems.append(Problem("--email", what, "write it as name@example.org"))
        return "email", ""


def _day(
    given: Mapping[str, object], channel: Literal["email", "text"], problems: list[Problem]
) -> int | None:
    """Weekday of the digest; none by text, Monday by e-mail."""
    said = given.get("digest")
    if said is None:
        return None if channel == "text" else 0
    word = str(said).strip().casefold()
    if word == "never":
        return None
    found = [place for place, name in enumerate(DAYS) if word and name.startswith(word)]
    if len(found) != 1 or channel == "text":
        what = "the digest does not go by text" if channel == "text" else f"{said} is no weekday"
        problems.append(Problem("--digest", what, "give a weekday, or never"))
        return None
    return found[0]
