"""Warnings of one field as a chain of CAP messages: alert, updates, all clear. Pure.

Messages follow from the stored nights alone, so that nothing about them is stored and each comes
out the same whenever it is asked for. One is renewed every night, because it must say until when
it holds, and names all earlier ones that still do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Night
    from rootbound_service.records import RiskRecord

HOLDS = timedelta(hours=36)
"""A night and some grace: past that nobody knows whether it still holds."""
FROM_RUNG = 2
"""The first rung that is a warning."""

Kind = Literal["Alert", "Update", "Cancel"]
Ends = Literal["", "eased", "over", "wrong"]


@dataclass(frozen=True, slots=True)
class Link:
    """One message of a chain."""

    season_id: int
    night: date
    sent: datetime
    """Aware UTC, whole seconds."""
    kind: Kind
    row: RiskRecord
    ends: Ends = ""
    """Why the chain ends with it; empty: it goes on."""
    names: tuple[Link, ...] = ()
    """Earlier ones that still hold."""

    @property
    def identifier(self) -> str:
        """Unique among our messages; no space, comma, ``<`` or ``&`` (CAP 1.2, 3.2.1)."""
        return f"rootbound-{self.season_id}-{self.night:%Y%m%d}"

    @property
    def expires(self) -> datetime:
        """Until when it holds."""
        return self.sent + HOLDS


def chain_of(season_id: int, nights: Iterable[Night]) -> Iterator[Link]:
    """Make the messages of a field, oldest first.

    Parameters
    ----------
    season_id
        The field's season.
    nights
        Oldest first.

    Yields
    ------
    Link
        Nothing for nights on which there is nothing to warn of, and nothing to take back.
    """
    valid: list[Link] = []
    warned = False
    for one in nights:
        sent = one.told_at.replace(microsecond=0)
        valid = [link for link in valid if link.expires > sent]
        row = one.row
        warns = row.status == "watched" and (row.rung or 0) >= FROM_RUNG
        ends = "" if warns else _why_over(row)
        if not warns and not (warned and valid and ends):
            continue
        kind: Kind = "Cancel" if ends == "wrong" else "Update" if valid else "Alert"
        link = Link(season_id, one.night, sent, kind, row, ends, tuple(valid))
        yield link
        warned = warns
        valid = [*valid, link] if warns else []


def _why_over(row: RiskRecord) -> Ends:
    """Why a warning no longer holds; empty where that is not known: then it runs out by itself."""
    if row.status == "watched":
        return "eased"
    if row.status == "finished":
        return "over"
    return "wrong" if row.status == "unrated" else ""
