"""How heavy a letter is on the wire: mail programs cut what is too long."""

from __future__ import annotations

from binascii import b2a_qp
from typing import TYPE_CHECKING, Literal, TypeVar

from rootbound_service.notes.letter import Letter, render

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

L = TypeVar("L", bound=Letter)
C = TypeVar("C")

ROOM = 86_000
"""What bodies may weigh so that a letter with its headers and links stays under 90 kB. [B]"""
_LINE, _OF = 78, 57
"""base64: a line of 76 letters and its end carries 57 bytes (RFC 2045 6.8)."""


def first_that_fits(
    kind: Literal["note", "digest"],
    cuts: Sequence[C],
    told: Callable[[C], tuple[L, Mapping[str, bytes]]],
) -> tuple[L, Mapping[str, bytes]]:
    """Tell as much as mail programs show: they would cut the foot off, cautions and all.

    Parameters
    ----------
    kind
        Which templates render it.
    cuts
        How much may be told, the most first; the last one in any case.
    told
        Makes the letter and its pictures, cut to so much.

    Returns
    -------
    tuple of Letter and dict
        The letter, and PNG bytes by Content-ID.
    """
    for cut in cuts[:-1]:
        letter, images = told(cut)
        if wire_bytes(*render(kind, letter), images) <= ROOM:
            return letter, images
    return told(cuts[-1])


def wire_bytes(html: str, text: str, images: Mapping[str, bytes]) -> int:
    """Weigh the bodies of a letter as they are sent.

    Parameters
    ----------
    html, text
        As rendered.
    images
        PNG bytes by Content-ID.

    Returns
    -------
    int
        Bytes in quoted-printable and base64, without headers. [B]
    """
    bodies = sum(len(b2a_qp(part.encode())) + part.count("\n") for part in (html, text))
    return bodies + sum(-(-len(png) // _OF) * _LINE for png in images.values())
