"""A place as people write it: decimal degrees, degrees and minutes, or a pair in one box."""

from __future__ import annotations

import re

PARTS = re.compile(
    r"""\s*(?P<before>[NSEWnsew])?\s*(?P<sign>[-\u2212])?\s*(?P<d>\d{1,3}(?:\.\d{1,12})?)\s*[°d]?
    (?:\s*(?P<m>\d{1,2}(?:\.\d{1,9})?)\s*['\u2019\u2032m]?)?
    (?:\s*(?P<s>\d{1,2}(?:\.\d{1,9})?)\s*(?:["\u201d\u2033s]|'')?)?
    \s*(?P<after>[NSEWnsew])?\s*""",
    re.VERBOSE | re.ASCII,
)
PAIR = re.compile(r"\s*([^,;]+?)\s*[,;]\s*([^,;]+?)\s*", re.ASCII)
MINUTES = 60.0
LONGEST = 60


def read_place(lat: str, lon: str) -> tuple[str, str]:
    """Read a place as decimal degrees; what cannot be read stays as it is, for the check.

    Parameters
    ----------
    lat, lon
        As typed; a pair pasted into the first box alone is taken apart.
    """
    pair = PAIR.fullmatch(lat[:LONGEST]) if not lon.strip() else None
    if pair is not None:
        lat, lon = pair[1], pair[2]
    return degrees(lat), degrees(lon)


def degrees(text: str) -> str:
    """Turn degrees, minutes and seconds into decimal degrees; anything else stays as it is.

    Parameters
    ----------
    text
        Such as ``41° 37' 12" N``, ``W 94 55.2`` or ``-94.92``.
    """
    found = PARTS.fullmatch(text[:LONGEST])
    if found is None or (found["before"] and found["after"]):
        return text.strip()
    side = (found["before"] or found["after"] or "").upper()
    minutes, seconds = float(found["m"] or 0.0), float(found["s"] or 0.0)
    if not side and found["m"] is None:
        return text.strip().replace("\u2212", "-")
    if max(minutes, seconds) >= MINUTES or (found["m"] and "." in found["d"]):
        return text.strip()
    value = float(found["d"]) + minutes / 60 + seconds / 3600
    return f"{-value if side in {'S', 'W'} or found['sign'] else value:.6f}"
