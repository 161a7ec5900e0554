"""What an answer means. Pure: words in, meaning out.

Stopping is understood generously: 47 CFR 64.1200(a)(10) names words that always count, and
any other that a reasonable person would read so counts as well.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

Meaning = Literal["stop", "start", "help", "seen", "rain", "rolled", "unclear"]

STOP_FIRST = {"stop", "stopall", "unsubscribe", "optout", "revoke", "arret"}
"""Nobody begins a remark on a field with these."""
STOP = STOP_FIRST | {"quit", "end", "cancel"}
"""The others count where they stand alone: "End rows look fine" stops nothing."""
STOP_PHRASES = (
    "opt out", "opt me out", "stop sending", "stop texting", "stop messaging", "stop contacting",
    "stop these", "stop all", "please stop", "no more texts", "no more messages", "dont text",
    "do not text", "dont contact", "do not contact", "dont message", "do not message",
    "dont send me", "do not send me", "dont send any", "do not send any", "dont send these",
    "do not send these", "remove me", "take me off", "leave me alone",
)  # fmt: skip
"""Without apostrophes: some phones write a straight one, some a curly one, some people none."""
START = {"start", "unstop", "yes", "resume"}
HELP = {"help", "info", "hilfe", "ayuda"}
READ = {"ok", "okay", "k", "seen", "ack"}
SEEN = READ | {"thanks", "thx", "done", "got"}
YES, NO = {"yes", "y", "ja", "si", "1"}, {"no", "n", "not", "none", "nein", "0"}
POLITE = {
    "please", "pls", "ok", "okay", "yes", "yeah", "thanks", "thx", "thank", "you", "hi", "hello",
    "hey", "now", "it", "this", "these", "that", "them", "all", "i", "want", "wish", "would",
    "like", "to", "me", "my", "the", "texts", "messages",
}  # fmt: skip
LEAVES = {"roll", "rolled", "rolling", "leaves", "leaf"}
_BESIDE_LEAVES = LEAVES | {"are", "is", "the", "it", "they", "today", "thanks", "please"}
_FIELD = re.compile(r"(?:#\s*|\bfield\s+)(\d{1,9})(?!\d)", re.ASCII)
_RAIN = re.compile(
    r"rain(?:fall|ed)?(?:[,.]?\s)*(?:(?:was|is|of)\s+)?(\d{0,4}[.,]?\d{1,4})"
    r"\s*(inch(?:es)?|in|\"|''|mm|millimet(?:er|re)s?)?[.,]*"
    r"(?:\s+(?:(?:of\s+)?rain|thanks|thx|please|total|here)[.,]?)*",
    re.ASCII,
)
"""The whole answer: a second number or an unknown word could mean another amount, day or field,
and rain that did not fall holds a warning back."""
_BARE = re.compile(r"[^\w\s#.,\"'/\u2044+-]+")
_APOSTROPHES = str.maketrans("\u2018\u2019\u02bc`\u201c\u201d\u2033", "''''\"\"\"")
_FEW = 4
"""Words of an answer that one word may settle."""


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
        As it came; capital letters, accents, punctuation and politeness do not matter.
    """
    said = _folded(text)
    fields = {int(one) for one in _FIELD.findall(said)}
    rest = " ".join(_FIELD.sub(" ", said).split())
    words = re.findall(r"\w+", rest.replace("'", ""))
    if _stops(words):
        return Understood("stop")
    field = min(fields) if len(fields) == 1 else None
    if len(fields) < 2 and (seen := _observation(rest, words, field)) is not None:  # noqa: PLR2004  (which of two?)
        return seen
    return Understood(_plain_word(words), field)


def _plain_word(words: list[str]) -> Meaning:
    """What the first word says, where it is one of ours."""
    first = words[0] if words else ""
    if first in HELP:
        return "help"
    if first in START and len(words) == 1:
        return "start"
    told = any(one.isdigit() or one in {"rain", *LEAVES} for one in words)
    polite = first in SEEN and set(words) <= SEEN | POLITE
    read = first in READ and len(words) <= _FEW and not told
    return "seen" if polite or read else "unclear"


def _observation(rest: str, words: list[str], field: int | None) -> Understood | None:
    """Rain of a gauge, or how leaves look; None where it is neither or could mean two things."""
    if (found := _RAIN.fullmatch(rest)) is not None:
        unit = found[2] or ""
        named = "mm" if unit.startswith("m") else "in" if unit else ""
        return Understood("rain", field, f"{found[1].replace(',', '.')} {named}".strip())
    beside = set(words) - _BESIDE_LEAVES
    if words and words[0] in LEAVES and beside and (beside <= YES or beside <= NO):
        return Understood("rolled", field, rolled=beside <= YES)
    return None


def _stops(words: list[str]) -> bool:
    """Whether somebody wants to hear no more."""
    if words and words[0] in STOP_FIRST and len(words) <= _FEW:
        return True
    left = [one for one in words if one not in POLITE]
    said = f" {' '.join(words)} "
    return (bool(left) and set(left) <= STOP) or any(f" {one} " in said for one in STOP_PHRASES)


def _folded(text: str) -> str:
    """Return small letters without accents, the punctuation that can matter, single spaces."""
    bare = unicodedata.normalize("NFKD", text.translate(_APOSTROPHES)).casefold()
    kept = "".join(one for one in bare if not unicodedata.combining(one))
    return " ".join(_BARE.sub(" ", kept).split())
