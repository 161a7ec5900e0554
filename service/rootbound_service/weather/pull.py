"""Asks one source and stores what comes; one request's failure never stops the others."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from rootbound_service.errors import ServiceError
from rootbound_service.public.http import Unavailable
from rootbound_service.weather.quality.flags import counts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    import numpy as np
    from numpy.typing import NDArray

    from rootbound_service.weather.day import Ask, Block
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.revisions import Revisions


class Judge(Protocol):
    """Gives the quality flags of an answer."""

    def __call__(self, block: Block) -> NDArray[np.uint16]:
        """Flag every value, shape (quantity, cell, day)."""
        ...


GIVE_UP_AFTER = 5
"""So many requests in a row without an answer, and the source is left alone until next time."""


@dataclass(slots=True, eq=False)
class Pulled:
    """What came of asking one source."""

    source: str
    title: str
    requests: int = 0
    cells: int = 0
    failed: dict[str, str] = field(default_factory=dict[str, str])
    """Cell key -> why nothing came, as a sentence."""
    new: int = 0
    settled: int = 0
    """Values that went from provisional to final unchanged."""
    flags: Counter[str] = field(default_factory=Counter[str])
    """Values marked, by kind of mark."""
    revisions: list[Revisions] = field(default_factory=list["Revisions"])

    @property
    def revised(self) -> int:
        """Stored values that the source has changed."""
        return sum(len(one) for one in self.revisions)


def pull(
    feed: Feed,
    asks: Iterable[Ask],
    judge: Judge,
    progress: Callable[[int, int], None] | None = None,
    most: int | None = None,
    *,
    chained: bool = False,
) -> Pulled:
    """Make requests in turn and store every answer.

    Parameters
    ----------
    feed
        The source, its store and shelf.
    asks
        What to ask for.
    judge
        Gives the quality flags of an answer.
    progress
        Told after each request: how many are done, and of how many.
    most
        Stop after so many requests; None: all.
    chained
        Leave out the further requests of a cell once one has failed: what they bring would
        hide the hole, since only what lies before the first day asked for counts as missing.

    Returns
    -------
    Pulled
        Counts, and a sentence for each cell without an answer.
    """
    wanted = list(asks)
    total = len(wanted) if most is None else min(len(wanted), most)
    found = Pulled(feed.name, feed.source.title)
    found.cells = len({cell for ask in wanted for cell in ask.cells})
    silent = 0
    for ask in wanted:
        if most is not None and found.requests >= most:
            break
        if chained and any(cell.key in found.failed for cell in ask.cells):
            continue
        if silent >= GIVE_UP_AFTER:
            left = f"{feed.source.title}: not asked, {silent} requests in a row had no answer"
            found.failed.update(
                {cell.key: left for cell in ask.cells if cell.key not in found.failed}
            )
            continue
        found.requests += 1
        why, passing = _one(feed, ask, judge, found)
        silent = silent + 1 if passing else 0
        if why is not None:
            found.failed.update({cell.key: why for cell in ask.cells})
        if progress is not None:
            progress(found.requests, total)
    return found


def _one(feed: Feed, ask: Ask, judge: Judge, found: Pulled) -> tuple[str | None, bool]:
    """Make one request: why it failed, and whether that may pass."""
    try:
        block = feed.source.fetch(ask)
        feed.answers.keep(block)
        flags = judge(block)
        written = feed.store.write(block, flags, ask.asked_on)
        feed.store.note_asked(ask.cells, ask.start)
    except Unavailable as error:
        return str(error), error.retry_later
    except ServiceError as error:
        return str(error), False
    except Exception as error:  # noqa: BLE001 - one request never stops the others
        what = f"the weather could not be stored ({type(error).__name__}: {error})"
        return f"{feed.source.title}, {ask.cells[0].key}: {what}", False
    found.new += written.new
    found.settled += written.settled
    found.flags.update(counts(flags))
    if len(written.revisions):
        found.revisions.append(written.revisions)
    return None, False
