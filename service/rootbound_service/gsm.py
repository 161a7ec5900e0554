"""What a text may hold and what it costs: the GSM 7-bit alphabet of 3GPP TS 23.038, 6.2.1."""

from __future__ import annotations

import unicodedata
from typing import NamedTuple

BASIC = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    "ÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""One septet each; the escape is none that a text may hold by itself."""
EXTENDED = "\f^{}\\[~]|€"
"""Two septets each: the escape and one more."""
SINGLE, JOINED = 160, 153
"""Septets of a text alone, and of each part of a longer one: the join takes seven."""
SINGLE_WIDE, JOINED_WIDE = 70, 67
"""The same in UTF-16 units, once a single character lies outside the alphabet."""
PLAIN = {
    "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2013": "-", "\u2014": "-",
    "\u2212": "-", "\u2026": "...", "\u2022": "-", "\u00b0": "deg", "\u00d7": "x", "\u00b2": "2",
    "\u00b3": "3", "\u00bd": "1/2", "\u00bc": "1/4", "\u2265": ">=", "\u2264": "<=",
    "\u00b5": "u", "\u00a0": " ", "\t": " ", "`": "'", "\u20ac": "EUR", "[": "(", "]": ")",
    "{": "(", "}": ")", "\\": "/", "|": "/", "~": "-", "^": "", "\u0142": "l", "\u0141": "L",
    "\u00f0": "d", "\u00fe": "th", "\u0131": "i",
}  # fmt: skip
"""What to write instead of what would cost double, or cut a text's length by half."""


class Size(NamedTuple):
    """What a text costs."""

    units: int
    """Septets, or UTF-16 units where one character is outside the alphabet."""
    parts: int
    wide: bool
    """Whether it has to go as UCS-2."""


def size(text: str) -> Size:
    """Count what a text costs.

    Parameters
    ----------
    text
        As it will be sent.
    """
    if all(one in BASIC or one in EXTENDED for one in text) and "\x1b" not in text:
        costs = [2 if one in EXTENDED else 1 for one in text]
        return Size(sum(costs), _parts(costs, SINGLE, JOINED), wide=False)
    costs = [len(one.encode("utf-16-be")) // 2 for one in text]
    return Size(sum(costs), _parts(costs, SINGLE_WIDE, JOINED_WIDE), wide=True)


def plain(text: str) -> str:
    """Write a text with characters that cost one septet each.

    Parameters
    ----------
    text
        Any text, such as a field's name; accents are dropped where the alphabet has none.
    """
    return "".join(_plain(one) for one in unicodedata.normalize("NFC", text))


def _plain(one: str) -> str:
    if one in PLAIN:
        return PLAIN[one]
    if one in BASIC and one != "\x1b":
        return one
    bare = unicodedata.normalize("NFKD", one)
    kept = "".join(PLAIN.get(c, c) for c in bare if not unicodedata.combining(c))
    return kept if kept and all(c in BASIC and c != "\x1b" for c in kept) else "?"


def _parts(costs: list[int], single: int, joined: int) -> int:
    """Parts of a text; a character of two units is never cut in half."""
    if sum(costs) <= single:
        return 1
    parts, room = 1, joined
    for cost in costs:
        if cost > room:
            parts, room = parts + 1, joined
        room -= cost
    return parts
