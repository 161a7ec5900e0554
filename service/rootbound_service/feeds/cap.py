"""Warnings as CAP 1.2 (OASIS Standard, 1 July 2010): private, future, with an end."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from rootbound_rules.risk.rungs import RUNG_NAMES

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

    from rootbound_service.feeds.cap_chain import Link
    from rootbound_service.records import FieldRecord

NAMESPACE = "urn:oasis:names:tc:emergency:cap:1.2"
MIME = "application/cap+xml"
EVENT_TERMS = "OET:v1.2"
DROUGHT = "OET-063"
"""Drought in OASIS's Event Terms List 1.2 (Committee Note), category Met."""
SEVERITY = {2: "Minor", 3: "Moderate", 4: "Severe"}
RESPONSE = {2: "Monitor", 3: "Assess", 4: "Assess"}
LIKELY = 0.5
"""CAP 1.2: Likely is a chance above about half."""
MIND = (
    "A hint to go and look, no forecast of yield. Mind the heat, do not go alone, keep re-entry "
    "intervals; have buried lines located before digging."
)
RADIUS_KM = 0.4
"""A field is known by a point; some 50 ha lie within. Our choice."""


@dataclass(frozen=True, slots=True)
class Issuer:
    """Who issues, for whom.

    Parameters
    ----------
    sender
        An address of the service; no space, comma, ``<`` or ``&``.
    person_id
        The account; only a hash of it is shown.
    web
        Public web address; None: there is none.
    """

    sender: str
    person_id: int
    web: str | None = None

    @property
    def account(self) -> str:
        """The account by a name that says nothing."""
        return f"account-{sha256(f'{self.sender} {self.person_id}'.encode()).hexdigest()[:16]}"


def cap_of(link: Link, field: FieldRecord, issuer: Issuer) -> bytes:
    """Write one message.

    Parameters
    ----------
    link
        Of the chain.
    field
        The field it is about.
    issuer
        Who issues it, and for whom.

    Returns
    -------
    bytes
        XML, UTF-8.
    """
    from lxml import etree

    zone = ZoneInfo(field.time_zone)
    alert = etree.Element(f"{{{NAMESPACE}}}alert", nsmap=cast("dict[str, str]", {None: NAMESPACE}))
    _say(alert, "identifier", link.identifier)
    _say(alert, "sender", issuer.sender)
    _say(alert, "sent", stamp(link.sent, zone))
    _say(alert, "status", "Actual")
    _say(alert, "msgType", link.kind)
    _say(alert, "scope", "Private")
    _say(alert, "addresses", issuer.account)
    if link.ends == "wrong":
        _say(alert, "note", "Withdrawn: what the warning rested on no longer stands.")
    if link.names:
        named = (f"{issuer.sender},{one.identifier},{stamp(one.sent, zone)}" for one in link.names)
        _say(alert, "references", " ".join(named))
    _say(alert, "incidents", f"rootbound-season-{link.season_id}")
    _info(alert, link, field, issuer, zone)
    written: bytes = etree.tostring(alert, xml_declaration=True, encoding="UTF-8")
    return written


def stamp(moment: datetime, zone: ZoneInfo) -> str:
    """Write a moment as CAP wants it: the field's own offset, no fraction, never ``Z``.

    Parameters
    ----------
    moment
        Aware.
    zone
        The field's time zone.
    """
    return moment.astimezone(zone).replace(microsecond=0).isoformat()


def _info(alert: Element, link: Link, field: FieldRecord, issuer: Issuer, zone: ZoneInfo) -> None:
    """What it is, how sure, until when, and where."""
    from lxml import etree

    info, row, over = etree.SubElement(alert, f"{{{NAMESPACE}}}info"), link.row, bool(link.ends)
    rung = row.rung or 0
    _say(info, "language", "en-US")
    _say(info, "category", "Met")
    _say(info, "category", "Env")
    _say(info, "event", "Drought stress of roots")
    _say(info, "responseType", "AllClear" if over else RESPONSE[rung])
    _say(info, "urgency", "Past" if over else "Future")
    _say(info, "severity", "Minor" if over else SEVERITY[rung])
    seen = over or rung > 2  # noqa: PLR2004  (short and failing rest on what has been)
    _say(info, "certainty", "Observed" if seen else _certainty(row.chance_7))
    code = etree.SubElement(info, f"{{{NAMESPACE}}}eventCode")
    _say(code, "valueName", EVENT_TERMS)
    _say(code, "value", DROUGHT)
    _say(info, "effective", stamp(link.sent, zone))
    _say(info, "expires", stamp(link.expires, zone))
    _say(info, "senderName", "Rootbound")
    _say(info, "headline", headline(link, field))
    _say(info, "description", _description(link))
    _say(info, "instruction", MIND)
    if issuer.web:
        _say(info, "web", issuer.web)
    for name, value in _parameters(link).items():
        one = etree.SubElement(info, f"{{{NAMESPACE}}}parameter")
        _say(one, "valueName", name)
        _say(one, "value", value)
    area = etree.SubElement(info, f"{{{NAMESPACE}}}area")
    _say(area, "areaDesc", field.name)
    # latitude first, the other way round than GeoJSON: CAP 1.2, 3.2.4
    _say(area, "circle", f"{field.lat:.5f},{field.lon:.5f} {RADIUS_KM}")


def _certainty(chance: float | None) -> str:
    if chance is None:
        return "Unknown"
    return "Likely" if chance > LIKELY else "Possible"


def headline(link: Link, field: FieldRecord) -> str:
    """Say in a line what a message is about.

    Parameters
    ----------
    link
        The message.
    field
        Its field.
    """
    if link.ends == "wrong":
        return f"{field.name}: the warning is withdrawn"
    if link.ends == "over":
        return f"{field.name}: the watch of this season is over"
    rung = link.row.rung or 0
    return f"{field.name}: {rung} {RUNG_NAMES[rung]}"


def _description(link: Link) -> str:
    """Figures in a sentence."""
    row = link.row
    if link.ends:
        return "The warning no longer holds."
    held = "unknown" if row.water_in_reach_mm is None else f"{max(row.water_in_reach_mm, 0):.0f} mm"
    free = "unknown" if row.free_water_mm is None else f"{max(row.free_water_mm, 0):.0f} mm"
    return f"Water in reach of the held roots {held}, of free roots {free}; stage {row.stage}."


def _parameters(link: Link) -> dict[str, str]:
    """Figures for machines."""
    row = link.row
    found = {
        "rung": row.rung,
        "free_rung": row.free_rung,
        "water_in_reach_mm": _round(row.water_in_reach_mm),
        "free_water_mm": _round(row.free_water_mm),
        "chance_7_days": row.chance_7,
        "reach": row.reach,
        "stage": row.stage,
        "weather_through": row.weather_through,
    }
    return {name: str(value) for name, value in found.items() if value is not None}


def _round(mm: float | None) -> float | None:
    return None if mm is None else round(max(mm, 0.0), 1)


def _say(parent: Element, name: str, text: str) -> None:
    from lxml import etree

    etree.SubElement(parent, f"{{{NAMESPACE}}}{name}").text = text
