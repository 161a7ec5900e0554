"""Warnings of one field as a chain of CAP messages: alert, updates, all clear. Pure.

Messages follow from the stored nights and notes, so that nothing about them is stored and each
comes out the same whenever it is asked for. One is renewed every night, because it must say until
when it holds, and names all earlier ones that still do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Night, Stand
    from rootbound_service.records import RiskRecord
    from rootbound_service.store.feed_nights import ToldEarlier

HOLDS = timedelta(hours=36)
"""A night and some grace: past that nobody knows whether it still holds."""
FROM_RUNG = 2
"""The first rung that is a warning."""
BLIND_NIGHTS = 7
"""So many nights without an answer a warning is held up; then it runs out, and is not cleared."""
LEAD = timedelta(days=BLIND_NIGHTS + 3)
"""Messages depend on no night longer ago: a chain read from there on is the same as a whole one."""

Kind = Literal["Alert", "Update", "Cancel"]
Ends = Literal["", "eased", "over", "wrong"]


@dataclass(frozen=True, slots=True)
class Mark:
    """What another message needs to name this one."""

    season_id: int
    sent: datetime
    """Aware UTC, whole seconds."""

    @property
    def name(self) -> str:
        """The same for all who get it; no space, comma, ``<`` or ``&`` (CAP 1.2, 3.2.1)."""
        return f"rootbound-{self.season_id}-{self.sent:%Y%m%dT%H%M%S}"

    @property
    def expires(self) -> datetime:
        """Until when it holds."""
        return self.sent + HOLDS


@dataclass(frozen=True, slots=True)
class Link:
    """One message of a chain."""

    mark: Mark
    night: date
    kind: Kind
    row: RiskRecord
    rung: int
    """It is about: tonight's, or the last one known where ``blind``. [0-4]"""
    ends: Ends = ""
    """Why the chain ends with it; empty: it goes on."""
    blind: bool = False
    """Tonight has no answer."""
    is_news: bool = True
    """Whether it says anything that the one before it did not."""
    names: tuple[Mark, ...] = ()
    """Earlier ones that still hold."""


@dataclass(frozen=True, slots=True)
class _Standing:
    """What is known of a chain after a night."""

    holds: tuple[Mark, ...] = ()
    """Messages that nothing has ended yet."""
    rung: int | None = None
    """The warning that stands; None: there is none."""
    blind: int = 0
    """Nights in a row without an answer."""

    def holding(self, sent: datetime) -> tuple[Mark, ...]:
        """Messages that have not run out by then."""
        return tuple(one for one in self.holds if one.expires > sent)


def chain_of(stand: Stand) -> Iterator[Link]:
    """Make the messages of a field, oldest first.

    Parameters
    ----------
    stand
        The field with its nights.

    Yields
    ------
    Link
        Nothing for nights on which there is nothing to warn of, and nothing to take back.
    """
    before = _Standing()
    for night in stand.nights:
        sent = whole(night.told_at)
        again = [one for one in stand.told if one.night == night.night and _warned(one, sent)]
        link = _link(night, before, again, Mark(stand.field.season_id, sent))
        if link is not None:
            yield link
        before = _after(night, before, link)


def whole(moment: datetime) -> datetime:
    """Cut a moment to its second: CAP has no fractions."""
    return moment.replace(microsecond=0)


def _link(night: Night, before: _Standing, again: list[ToldEarlier], mark: Mark) -> Link | None:
    """The message of one night, if there is one."""
    row, older = night.row, before.holding(mark.sent)
    took = (Mark(mark.season_id, whole(one.at)) for one in again)  # of this night's earlier runs
    holds = (*older, *(one for one in took if one.expires > mark.sent))
    rung = row.rung if row.status == "watched" and (row.rung or 0) >= FROM_RUNG else None
    blind = row.status == "unknown" and bool(holds) and before.blind < BLIND_NIGHTS
    if blind:
        rung = again[-1].rung if again else before.rung
    ends: Ends = "" if rung is not None else _why_over(row, only_again=bool(again) and not older)
    if rung is None and not (holds and ends):
        return None
    kind: Kind = "Cancel" if ends == "wrong" else "Update" if holds else "Alert"
    same = rung == before.rung and blind == (before.blind > 0) and not ends
    shown = (row.rung or 0) if rung is None else rung
    news = kind != "Update" or not same
    return Link(mark, night.night, kind, row, shown, ends, blind and not ends, news, holds)


def _after(night: Night, before: _Standing, link: Link | None) -> _Standing:
    """What the next night begins with."""
    blind = before.blind + 1 if night.row.status == "unknown" else 0
    if link is None:
        return _Standing(before.holds, before.rung if blind else None, blind)
    if link.ends:
        return _Standing()
    return _Standing((*link.names, link.mark), link.rung, blind)


def _warned(told: ToldEarlier, sent: datetime) -> bool:
    """Whether an earlier run of a night had made a message that this one takes the place of."""
    return told.status == "watched" and told.rung >= FROM_RUNG and whole(told.at) < sent


def _why_over(row: RiskRecord, *, only_again: bool) -> Ends:
    """Why a warning no longer holds; empty where that is not known: then it runs out by itself."""
    if row.status in {"unknown", "waiting"}:
        return ""
    if row.status == "unrated" or only_again:
        return "wrong"
    return "over" if row.status == "finished" else "eased"
