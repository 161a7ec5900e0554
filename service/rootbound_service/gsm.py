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
CODES = {
    "\f": 0x0A, "^": 0x14, "{": 0x28, "}": 0x29, "\\": 0x2F, "[": 0x3C, "~": 0x3D, "]": 0x3E,
    "|": 0x40, "€": 0x65,
}  # fmt: skip
EXTENDED = "".join(CODES)
"""Two septets each: the escape and one more, 6.2.1.1."""
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
    wide = _wide(text)
    return Size(sum(_costs(text, wide=wide)), len(split(text)), wide=wide)


def split(text: str) -> list[str]:
    """Divide a text into the parts in which it goes; a character of two units stays whole.

    Parameters
    ----------
    text
        As it will be sent.
    """
    wide = _wide(text)
    costs = _costs(text, wide=wide)
    if sum(costs) <= (SINGLE_WIDE if wide else SINGLE):
        return [text]
    joined = JOINED_WIDE if wide else JOINED
    parts, room = [""], joined
    for one, cost in zip(text, costs, strict=True):
        if cost > room:
            parts.append("")
            room = joined
        parts[-1] += one
        room -= cost
    return parts


def octets(text: str, *, wide: bool) -> bytes:
    """Write a text as a message centre takes it: a septet an octet, or UTF-16.

    Parameters
    ----------
    text
        A text or a part of one.
    wide
        Whether the whole text is; see :class:`Size`.
    """
    if wide:
        return text.encode("utf-16-be", "replace")
    return b"".join(
        bytes([0x1B, CODES[one]]) if one in CODES else bytes([BASIC.index(one)]) for one in text
    )


def cut(text: str, parts: int) -> str:
    """Shorten a plain text to so many parts.

    Parameters
    ----------
    text
        From :func:`plain`.
    parts
        How many at most.
    """
    room = SINGLE if parts == 1 else parts * JOINED
    return text if len(text) <= room else f"{text[: room - 3].rstrip()}..."


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


def _wide(text: str) -> bool:
    """Whether a character lies outside the alphabet."""
    return "\x1b" in text or not all(one in BASIC or one in CODES for one in text)


def _costs(text: str, *, wide: bool) -> list[int]:
    """Units of each character."""
    if wide:
        return [2 if ord(one) > 0xFFFF else 1 for one in text]  # noqa: PLR2004  (the first plane)
    return [2 if one in CODES else 1 for one in text]
