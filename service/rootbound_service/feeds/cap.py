"""Warnings as CAP 1.2 (OASIS Standard, 1 July 2010): private, future, with an end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from rootbound_rules.risk.rungs import SHORT
from rootbound_service.errors import ServiceError
from rootbound_service.feeds.cap_rules import NAMESPACE, broken_rules
from rootbound_service.feeds.clean import clean
from rootbound_service.feeds.elements import below, root, written
from rootbound_service.feeds.table import figures_of
from rootbound_service.notes.speech import say, speaking

if TYPE_CHECKING:
    from rootbound_service.feeds.cap_chain import Link
    from rootbound_service.feeds.issuer import Issuer
    from rootbound_service.records import FieldRecord

MIME = "application/cap+xml"
EVENT_TERMS = "OET:v1.2"
DROUGHT = "OET-063"
"""Drought in OASIS's Event Terms List 1.2 (Committee Note), category Met."""
SEVERITY = {2: "Minor", 3: "Moderate", 4: "Severe"}
RESPONSE = {2: "Monitor", 3: "Assess", 4: "Assess"}
LIKELY = 0.5
"""CAP 1.2: Likely is a chance above about half."""
RADIUS_KM = 0.4
"""A field is known by a point; some 50 ha lie within. Our choice."""


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

    Raises
    ------
    ServiceError
        Rather than give out a message that breaks a rule.
    """
    zone, alert = ZoneInfo(field.time_zone), root(NAMESPACE, "alert")
    with speaking(issuer.language):
        for name, text in _header(link, issuer, zone):
            below(alert, name, text)
        _info(alert, link, field, issuer, zone)
    if broken := broken_rules(alert):
        raise ServiceError(f"a CAP message breaks the standard: {'; '.join(broken)}")
    return written(alert)


def stamp(moment: datetime, zone: ZoneInfo) -> str:
    """Write a moment as CAP wants it: the field's own offset, no fraction, never ``Z``.

    Parameters
    ----------
    moment
        Aware.
    zone
        The field's time zone; at no offset it is ``-00:00`` (3.3.2).
    """
    text = moment.astimezone(zone).replace(microsecond=0).isoformat()
    return f"{text.removesuffix('+00:00')}-00:00" if text.endswith("+00:00") else text


def headline(link: Link, field: FieldRecord) -> str:
    """Say in a line what a message is about.

    Parameters
    ----------
    link
        The message.
    field
        Its field.
    """
    return say.warning_headline(clean(field.name), link.rung, link.ends, blind=link.blind)


def _header(link: Link, issuer: Issuer, zone: ZoneInfo) -> Iterator[tuple[str, str]]:
    """Who tells whom what kind of message, in the order of the schema."""
    yield "identifier", issuer.identifier(link.mark)
    yield "sender", issuer.name
    yield "sent", stamp(link.mark.sent, zone)
    yield "status", "Actual"
    yield "msgType", link.kind
    yield "scope", "Private"
    yield "addresses", issuer.account
    if link.ends == "wrong":
        yield "note", say.WITHDRAWN
    if link.names:
        named = (f"{issuer.name},{issuer.identifier(m)},{stamp(m.sent, zone)}" for m in link.names)
        yield "references", " ".join(named)
    yield "incidents", f"rootbound-season-{link.mark.season_id}"


def _info(alert: Any, link: Link, field: FieldRecord, issuer: Issuer, zone: ZoneInfo) -> None:
    """What it is, how sure, until when, and where."""
    info = below(alert, "info")
    for name, text in _grades(link):
        below(info, name, text)
    _pair(info, "eventCode", EVENT_TERMS, DROUGHT)
    below(info, "effective", stamp(link.mark.sent, zone))
    below(info, "expires", stamp(link.mark.expires, zone))
    below(info, "senderName", "Rootbound")
    below(info, "headline", headline(link, field))
    text = say.warning_text(link.row, issuer.units, link.ends, blind=link.blind)
    below(info, "description", text)
    below(info, "instruction", say.WARNING_MIND)
    if issuer.contact:
        below(info, "contact", issuer.contact)
    for name, value in figures_of(link.row).items():
        if value is not None:
            _pair(info, "parameter", name, str(value))
    area = below(info, "area")
    below(area, "areaDesc", field.name)
    # latitude first, the other way round than GeoJSON: CAP 1.2, 3.2.4
    below(area, "circle", f"{field.lat:.5f},{field.lon:.5f} {RADIUS_KM}")


def _grades(link: Link) -> Iterator[tuple[str, str]]:
    """Kind of event, and its grades; what is over is past and minor, whatever it had been."""
    over = bool(link.ends)
    yield "language", say.LANGUAGE
    yield "category", "Met"
    yield "category", "Env"
    yield "event", say.WARNING_EVENT
    yield "responseType", "AllClear" if over else "Assess" if link.blind else RESPONSE[link.rung]
    yield "urgency", "Past" if over else "Future"
    yield "severity", "Minor" if over else SEVERITY[link.rung]
    yield "certainty", _certainty(link)


def _certainty(link: Link) -> str:
    """Short and failing rest on what has been, tight on what may come."""
    chance = link.row.chance_7
    if link.blind:
        return "Unknown"
    if link.ends or link.rung >= SHORT:
        return "Observed"
    if chance is None:
        return "Unknown"
    return "Likely" if chance > LIKELY else "Possible"


def _pair(parent: Any, kind: str, name: str, value: str) -> None:
    """A name with its value, as codes and figures have them."""
    one = below(parent, kind)
    below(one, "valueName", name)
    below(one, "value", value)
