"""How heavy a letter is on the wire: mail programs cut what is too long."""

from __future__ import annotations

from binascii import b2a_qp
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

ROOM = 86_000
"""What bodies may weigh so that a letter with its headers and links stays under 90 kB. [B]"""
_LINE, _OF = 78, 57
"""base64: a line of 76 letters and its end carries 57 bytes (RFC 2045 6.8)."""


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
