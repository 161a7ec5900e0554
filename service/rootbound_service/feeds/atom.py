"""Warnings as an Atom feed, RFC 4287: an entry a message, with the CAP message beside it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any
from uuid import NAMESPACE_URL, uuid5

from rootbound_service.feeds.cap import MIME, headline
from rootbound_service.feeds.cap_chain import Link, chain_of
from rootbound_service.feeds.elements import below, root, written
from rootbound_service.notes.speech import say, speaking

if TYPE_CHECKING:
    from rootbound_service.feeds.issuer import Issuer
    from rootbound_service.feeds.stand import Stand
    from rootbound_service.records import FieldRecord

NAMESPACE = "http://www.w3.org/2005/Atom"
EMPTY = datetime(2000, 1, 1, tzinfo=UTC)
"""When a feed without any entry was changed last."""
Entry = tuple[Link, "FieldRecord"]


def entries_of(stands: Sequence[Stand], first: date) -> list[Entry]:
    """Choose the messages of a feed: what was news, and what stands now.

    A renewal that a later message took the place of is left out: whoever missed it needs only
    the later one, and nobody should wade through thirty of them for each field.

    Parameters
    ----------
    stands
        The fields with their nights.
    first
        No messages of earlier nights.

    Returns
    -------
    list of tuple
        Messages with their fields, the latest first.
    """
    found: list[Entry] = []
    for stand in stands:
        chain = [link for link in chain_of(stand) if link.night >= first]
        found += [(link, stand.field) for link in chain if link.is_news or link is chain[-1]]
    return sorted(found, key=lambda one: (one[0].mark.sent, one[1].id), reverse=True)


def atom_of(
    entries: Sequence[Entry], issuer: Issuer, address: str, updated: datetime | None
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
    feed = root(NAMESPACE, "feed")
    with speaking(issuer.language):
        below(feed, "id", uuid5(NAMESPACE_URL, issuer.account).urn)
        below(feed, "title", say.FEED_TITLE)
        below(feed, "updated", (updated or EMPTY).isoformat(timespec="seconds"))
        below(below(feed, "author"), "name", "Rootbound")
        _link(feed, "self", f"{address}/alerts.atom", "application/atom+xml")
        for link, field in entries:
            _entry(feed, link, field, issuer, address)
    return written(feed)


def _entry(feed: Any, link: Link, field: FieldRecord, issuer: Issuer, address: str) -> None:
    """One message."""
    entry, name = below(feed, "entry"), issuer.identifier(link.mark)
    # of the message, not of the chain: whoever reads must see that there is a new one
    below(entry, "id", uuid5(NAMESPACE_URL, f"{issuer.account} {name}").urn)
    below(entry, "title", headline(link, field))
    below(entry, "updated", link.mark.sent.isoformat(timespec="seconds"))
    below(entry, "summary", say.warning_entry(link.kind, link.night, link.row, issuer.units))
    _link(entry, "alternate", f"{address}/cap/{name}.xml", MIME)


def _link(parent: Any, rel: str, href: str, kind: str) -> None:
    """One link."""
    below(parent, "link", rel=rel, href=href, type=kind)
