"""Calls that a provider makes to us: who may, and what they say, by the names in its file."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from hmac import compare_digest, new
from typing import Literal

Scheme = Literal["signed", "hmac", "token"]
WINDOW = timedelta(minutes=5)
"""A signed call that is older was taken from somewhere and is played again."""
_LONGEST_STAMP = 12
"""Digits of a time in seconds; a longer number is no time, and Python reads none without end."""


@dataclass(frozen=True, slots=True)
class Proof:
    """How a provider proves that a call is its own.

    ``signed``: ``t=UNIX,s=HEX`` in the header, HMAC-SHA256 over ``UNIX.BODY``. ``hmac``: the same
    over the body alone, as hex or base64. ``token``: the secret itself.
    """

    scheme: Scheme = "signed"
    header: str = "X-Signature"

    def holds(self, headers: Mapping[str, str], body: bytes, secret: str, now: datetime) -> bool:
        """Tell whether a call is the provider's.

        Parameters
        ----------
        headers
            Of the call; their case does not matter.
        body
            As it came.
        secret
            Shared with the provider; an empty one proves nothing.
        now
            The time, aware.
        """
        given = {name.lower(): value for name, value in headers.items()}.get(self.header.lower())
        if not secret or not given:
            return False
        if self.scheme == "token":
            return compare_digest(given.encode(), secret.encode())
        if self.scheme == "hmac":
            digest = new(secret.encode(), body, sha256)
            right = (digest.hexdigest(), base64.b64encode(digest.digest()).decode())
            return any(compare_digest(given.encode(), one.encode()) for one in right)
        return _signed(given, body, secret, now)


def sign(body: bytes, secret: str, now: datetime) -> str:
    """Give the header of a signed call, as ``t=1784030400,s=9f86d0...``.

    Parameters
    ----------
    body, secret, now
        As for :meth:`Proof.holds`.
    """
    stamp = str(int(now.timestamp()))
    return f"t={stamp},s={_hex(stamp, body, secret)}"


def _signed(given: str, body: bytes, secret: str, now: datetime) -> bool:
    pairs = (part.partition("=") for part in given.replace(" ", "").split(","))
    parts = {name: value for name, _, value in pairs}
    stamp = parts.get("t", "")
    if not stamp.isdecimal() or len(stamp) > _LONGEST_STAMP:
        return False
    if abs(now.timestamp() - int(stamp)) > WINDOW.total_seconds():
        return False
    return compare_digest(parts.get("s", "").encode(), _hex(stamp, body, secret).encode())


def _hex(stamp: str, body: bytes, secret: str) -> str:
    return new(secret.encode(), stamp.encode() + b"." + body, sha256).hexdigest()
