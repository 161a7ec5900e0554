"""What a CAP message must keep to beside its schema: the standard's text, checked."""

from __future__ import annotations

import re
from datetime import datetime
from math import nan
from typing import Any

NAMESPACE = "urn:oasis:names:tc:emergency:cap:1.2"
_NAME = re.compile(r"[^\s,<&]+")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d")
_TRIPLE = re.compile(r"[^\s,<&]+,[^\s,<&]+,\S+")
_REFERS = {"Update", "Cancel", "Ack", "Error"}
_FEWEST_PAIRS = 4
_LAT, _LON = 90.0, 180.0


def broken_rules(alert: Any) -> list[str]:
    """Name the rules that a message breaks.

    Parameters
    ----------
    alert
        Its root.

    Returns
    -------
    list of str
        A sentence each; empty where it keeps to all.
    """
    return [*_header(alert), *_scope(alert), *_times(alert), *_areas(alert)]


def _text(element: Any, name: str) -> str:
    found: str | None = element.findtext(f"{{{NAMESPACE}}}{name}")
    return found or ""


def _header(alert: Any) -> list[str]:
    """Names and references."""
    found = [
        f"{name} holds a space, comma, < or & (3.2.1)"
        for name in ("identifier", "sender")
        if not _NAME.fullmatch(_text(alert, name))
    ]
    kind, named = _text(alert, "msgType"), _text(alert, "references").split()
    if kind in _REFERS and not named:
        found.append(f"{kind} names no earlier message (3.2.1)")
    if kind == "Alert" and named:
        found.append("an Alert names earlier messages")
    if any(not _TRIPLE.fullmatch(one) for one in named):
        found.append("references are not sender,identifier,sent (3.2.1)")
    if kind == "Cancel" and not _text(alert, "note"):
        found.append("a Cancel does not say why in note (3.2.1)")
    return found


def _scope(alert: Any) -> list[str]:
    """A private message names its addresses, a restricted one its restriction."""
    scope, found = _text(alert, "scope"), list[str]()
    if scope == "Private" and not _text(alert, "addresses"):
        found.append("scope Private without addresses (3.2.1)")
    if scope == "Restricted" and not _text(alert, "restriction"):
        found.append("scope Restricted without restriction (3.2.1)")
    if "@" in _text(alert, "addresses"):
        found.append("addresses name a person")
    return found


def _times(alert: Any) -> list[str]:
    """Every time in the standard's form; an end after the beginning."""
    found: list[str] = []
    for element in alert.iter():
        name = str(element.tag).rpartition("}")[2]
        if name in {"sent", "effective", "onset", "expires"}:
            found += _time(name, element.text or "")
    if found:
        return found
    for info in alert.iter(f"{{{NAMESPACE}}}info"):
        end = _text(info, "expires")
        if not end:
            found.append("an info without expires: each recipient would set its own (3.2.2)")
        elif datetime.fromisoformat(end) <= datetime.fromisoformat(_text(alert, "sent")):
            found.append("it expires before it is sent")
    return found


def _time(name: str, text: str) -> list[str]:
    """One time."""
    if not _MOMENT.fullmatch(text):
        return [f"{name} is not YYYY-MM-DDThh:mm:ss with an offset (3.3.2)"]
    return [f"{name} is at no offset, which is -00:00 (3.3.2)"] if text.endswith("+00:00") else []


def _areas(alert: Any) -> list[str]:
    """Polygons are closed and have four pairs, latitude first."""
    found: list[str] = []
    for polygon in alert.iter(f"{{{NAMESPACE}}}polygon"):
        pairs = (polygon.text or "").split()
        if len(pairs) < _FEWEST_PAIRS or pairs[0] != pairs[-1]:
            found.append("a polygon is not closed or has under four pairs (3.2.4)")
        found += [told for pair in pairs for told in _place("a polygon", pair)]
    for circle in alert.iter(f"{{{NAMESPACE}}}circle"):
        pair, _, radius = (circle.text or "").partition(" ")
        found += _place("a circle", pair)
        if not _number(radius) >= 0:
            found.append("a circle has no radius (3.2.4)")
    return found


def _place(what: str, pair: str) -> list[str]:
    """A pair is a latitude, a comma and a longitude."""
    lat, _, lon = pair.partition(",")
    if abs(_number(lat)) <= _LAT and abs(_number(lon)) <= _LON:
        return []
    return [f"{what} is not within 90 degrees of latitude and 180 of longitude (3.2.4)"]


def _number(text: str) -> float:
    """A number; what is none compares with nothing."""
    try:
        return float(text)
    except ValueError:
        return nan
