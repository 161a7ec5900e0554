"""What an answer means. Pure: words in, meaning out.

Stopping is understood generously: 47 CFR 64.1200(a)(10) names words that always count, and
any other that a reasonable person would read so counts as well.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Meaning = Literal["stop", "start", "help", "seen", "rain", "rolled", "unclear"]

STOP = {"stop", "stopall", "quit", "end", "revoke", "cancel", "unsubscribe", "optout", "arret"}
STOP_PHRASES = (
    "opt out", "opt me out", "opt-out", "stop sending", "stop texting", "no more texts",
    "no more messages", "do not text", "don't text", "do not send", "don't send", "remove me",
    "take me off", "leave me alone", "stop all", "please stop",
)  # fmt: skip
START = {"start", "unstop", "yes", "resume"}
HELP = {"help", "info", "hilfe", "ayuda"}
SEEN = {"ok", "okay", "k", "seen", "thanks", "thx", "ack", "done", "got"}
YES, NO = {"yes", "y", "ja", "si", "1"}, {"no", "n", "not", "none", "nein", "0"}
_FIELD = re.compile(r"(?:#|\bfield\s+)(\d{1,9})\b")
_AMOUNT = re.compile(r"(\d*[.,]?\d+)\s*(inches|inch|in\b|\"|mm\b|millimet\w+)?")
_BARE = re.compile(r"[^\w\s#.,\"'-]+")
_LONGEST_STOP = 4
"""Words of a message that a stop word may begin: "end of the season looks fine" is none."""


@dataclass(frozen=True, slots=True)
class Understood:
    """What somebody means."""

    meaning: Meaning
    field: int | None = None
    """The field's short number, where they gave one."""
    amount: str = ""
    """Rain as they wrote it, with its unit where they gave one."""
    rolled: bool = False


def understand(text: str) -> Understood:
    """Tell what an answer means.

    Parameters
    ----------
    text
        As it came; capital letters, punctuation and politeness do not matter.
    """
    said = " ".join(_BARE.sub(" ", text.casefold()).split())
    words = said.replace(".", " ").replace(",", " ").split()
    first = words[0] if words else ""
    if _stops(said, words):
        return Understood("stop")
    if (seen := _observation(said, first)) is not None:
        return seen
    field, few = _field_of(said), len(words) <= _LONGEST_STOP
    meaning: Meaning = "unclear"
    if first in HELP:
        meaning = "help"
    elif first in START and len(words) == 1:
        meaning = "start"
    elif first in SEEN and few:
        meaning = "seen"
    return Understood(meaning, field)


def _observation(said: str, first: str) -> Understood | None:
    """Rain of a gauge, or how leaves look; None where it is neither."""
    field = _field_of(said)
    if first == "rain" and (found := _amount(said)):
        return Understood("rain", field, found)
    rest = set(_FIELD.sub(" ", said).replace(".", " ").split()[1:])
    if first in {"roll", "rolled", "leaves"} and rest & (YES | NO):
        return Understood("rolled", field, rolled=not rest & NO)
    return None


def _stops(said: str, words: list[str]) -> bool:
    """Whether somebody wants to hear no more."""
    first = words[0] if words else ""
    short = len(words) <= _LONGEST_STOP
    return (first in STOP and short) or any(phrase in said for phrase in STOP_PHRASES)


def _field_of(said: str) -> int | None:
    found = _FIELD.search(said)
    return int(found[1]) if found else None


def _amount(said: str) -> str:
    """Rain with its unit; the field's number is none."""
    found = _AMOUNT.search(_FIELD.sub(" ", said))
    if found is None:
        return ""
    unit = found[2] or ""
    metric = unit.startswith("m")
    return f"{found[1].replace(',', '.')} {'mm' if metric else 'in' if unit else ''}".strip()
