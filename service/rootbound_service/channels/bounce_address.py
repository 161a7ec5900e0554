"""Return paths that name the message, so that a bounce tells by its address what bounced."""

from __future__ import annotations

import re
from hashlib import sha256
from hmac import compare_digest, new

_TAGGED = re.compile(r"[^@]*\+(\d{1,12})\.([0-9a-f]{16})@", re.IGNORECASE | re.ASCII)


def tagged(address: str, message_id: int, secret: str) -> str:
    """Put a message's number and its proof into an address, as ``bounces+12.9f...@example.org``.

    Lower-case letters only: some relays change the case of what stands before the @.

    Parameters
    ----------
    address
        Where bounces go.
    message_id
        The message.
    secret
        What proves that the number is ours.
    """
    local, _, domain = address.rpartition("@")
    return f"{local}+{message_id}.{_proof(message_id, secret)}@{domain}"


def message_of(address: str, secret: str) -> int | None:
    """Tell which message a bounce came back for; None for an address that is not ours.

    Parameters
    ----------
    address
        To which the bounce was sent.
    secret
        As for :func:`tagged`.
    """
    found = _TAGGED.match(address.strip().strip("<>"))
    if found is None:
        return None
    number = int(found[1])
    return number if compare_digest(found[2].lower(), _proof(number, secret)) else None


def _proof(message_id: int, secret: str) -> str:
    return new(secret.encode(), f"bounce {message_id}".encode(), sha256).hexdigest()[:16]
