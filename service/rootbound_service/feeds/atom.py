"""Warnings as an Atom feed, RFC 4287: an entry a message, with the CAP message beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, cast
from uuid import NAMESPACE_URL, uuid5

from rootbound_service.feeds.cap import MIME, Issuer, headline

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

    from rootbound_service.feeds.cap_chain import Link
    from rootbound_service.records import FieldRecord

NAMESPACE = "http://www.w3.org/2005/Atom"
EMPTY = datetime(2000, 1, 1, tzinfo=UTC)
"""When a feed without any entry was changed last."""


def atom_of(
    entries: Sequence[tuple[Link, FieldRecord]],
    issuer: Issuer,
    address: str,
    updated: datetime | None,
) -> bytes:
    """Write the feed.

    Parameters
    ----------
    entries
        Messages with their fields, the latest first.
    issuer
        Who issues them.
    address
        Of this feed, without its last part; the key is in it.
    updated
        When the last night was there; None: never yet.

    Returns
    -------
    bytes
        XML, UTF-8.
    """
    from lxml import etree

    feed = etree.Element(f"{{{NAMESPACE}}}feed", nsmap=cast("dict[str, str]", {None: NAMESPACE}))
    _say(feed, "id", uuid5(NAMESPACE_URL, issuer.account).urn)
    _say(feed, "title", "Rootbound: fields to look at")
    _say(feed, "updated", (updated or EMPTY).isoformat(timespec="seconds"))
    author = etree.SubElement(feed, f"{{{NAMESPACE}}}author")
    _say(author, "name", "Rootbound")
    _link(feed, "self", f"{address}/alerts.atom", "application/atom+xml")
    for link, field in entries:
        entry = etree.SubElement(feed, f"{{{NAMESPACE}}}entry")
        # of the message, not of the chain: whoever reads must see that there is a new one
        _say(entry, "id", uuid5(NAMESPACE_URL, f"{issuer.account} {link.identifier}").urn)
        _say(entry, "title", headline(link, field))
        _say(entry, "updated", link.sent.isoformat(timespec="seconds"))
        _say(entry, "summary", f"{link.kind} of the night of {link.night}; stage {link.row.stage}.")
        _link(entry, "alternate", f"{address}/cap/{link.identifier}.xml", MIME)
    written: bytes = etree.tostring(feed, xml_declaration=True, encoding="UTF-8")
    return written


def _say(parent: Element, name: str, text: str) -> None:
    from lxml import etree

    etree.SubElement(parent, f"{{{NAMESPACE}}}{name}").text = text


def _link(parent: Element, rel: str, href: str, kind: str) -> None:
    from lxml import etree

    etree.SubElement(parent, f"{{{NAMESPACE}}}link", rel=rel, href=href, type=kind)
