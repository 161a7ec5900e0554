"""Secret keys: given out once, kept only as a hash, long enough that nobody guesses one."""

from __future__ import annotations

import secrets
from hashlib import sha256

BITS = 256


def new_key() -> str:
    """Make a key of 256 random bits, as text that fits an address or a header."""
    return secrets.token_urlsafe(BITS // 8)


def key_hash(key: str) -> str:
    """Give what is kept of a key; of a random key a plain hash tells nothing.

    Parameters
    ----------
    key
        As it was given out, or as it came.
    """
    return sha256(key.encode("utf-8", "surrogatepass")).hexdigest()
