"""What comes from outside, as every database keeps it."""

from __future__ import annotations


def storable(text: str) -> str:
    """Leave out of a text what no database keeps: a NUL, half of a surrogate pair.

    Parameters
    ----------
    text
        As it came.
    """
    return text.replace("\0", "").encode("utf-8", "replace").decode()
