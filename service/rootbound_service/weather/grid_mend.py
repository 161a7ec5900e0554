"""Mends stored weather before a night reads it: what cannot be read is set aside and said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

import numpy as np
import structlog

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.grid_chunks import TURNS, forget_days, mend_chunks
from rootbound_service.weather.grid_described import is_begun, mend_descriptions
from rootbound_service.weather.grid_head import LOG
from rootbound_service.weather.grid_lines import mend_lines
from rootbound_service.weather.revisions import RevisionLog

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.weather.cells import Grid
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.grid_files import Files
    from rootbound_service.weather.grid_seat import Seat

FEW_OF_LOG = 300
"""Of more files of the log than this a night looks at the newest and a share. Our choice."""
MOST = 3
"""So many cells and files are named in a sentence; the log names all cells."""
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Mended:
    """What was wrong with a store."""

    spoiled: tuple[str, ...] = ()
    """Keys of the files that could not be read, or were gone."""
    cells: tuple[str, ...] = ()
    """Keys of the cells concerned."""
    again: bool = False
    """Whether days of theirs are asked for again."""
    anew: bool = False
    """Whether nothing could be read, and the store begins anew."""
    log: bool = False
    """Whether it is not known any more what some past answer replaced."""
    aside: str = ""
    """Folder beside the store in which lies what was set aside."""

    def __bool__(self) -> bool:
        return bool(self.spoiled or self.cells or self.anew)

    def sentence(self, title: str) -> str:
        """Say it to the operator.

        Parameters
        ----------
        title
            Of the source.
        """
        aside = f" What was there lies in {self.aside}, beside the store." if self.aside else ""
        return f"{title}: {self._what()}.{aside} Look at the disk"

    def _what(self) -> str:
        """Say what was wrong, and what becomes of it."""
        if self.anew:
            return (
                "the stored weather could not be read at all and begins anew; "
                "every day is asked for again"
            )
        many = f"{len(self.spoiled)} file{'' if len(self.spoiled) == 1 else 's'}"
        wrong = f"{many} could not be read or were gone ({_few(self.spoiled)})"
        cells = f"{len(self.cells)} cell{'' if len(self.cells) == 1 else 's'} ({_few(self.cells)})"
        if self.again:
            did = f"days of {cells} are asked for again"
        else:
            did = f"facts of {cells} were put right" if self.cells else "no day was lost"
        log = "; what an answer replaced is not known of all days any more" if self.log else ""
        what = wrong if self.spoiled else "some facts were wrong"
        return f"of the stored weather {what}; {did}{log}"


def _mend_log(seat: Seat, files: Files, today: date) -> list[str]:
    """Set aside the files of the log that cannot be read; of very many a share each night."""
    log = RevisionLog(seat.log)
    names = log.files()
    turn = today.toordinal() % TURNS
    if len(names) > FEW_OF_LOG:
        names = [*names[turn:-TURNS:TURNS], *names[-TURNS:]]
    spoiled = [f"{LOG}{name}" for name in log.spoiled(names)]
    for key in spoiled:
        files.set_aside(key)
    return spoiled


def mend(seat: Seat, source: str, grid: Grid, now: datetime) -> Mended:
    """Set aside what cannot be read of a store, and let the rest go on.

    Parameters
    ----------
    seat
        Held to write.
    source
        Its name.
    grid
        Of the source: a cell's key and its place tell of each other.
    now
        The moment.
    """
    files = seat.files(now)
    if not (files.doubted or is_begun(files.keys())):
        return Mended()
    described = mend_descriptions(files, source)
    if described is None:
        files.begin_anew()
        layout.open_arrays(seat.root(), source)
        files.looked()
        return Mended(anew=True, aside=files.aside)
    log = _mend_log(seat, files, now.date())
    arrays = layout.open_arrays(seat.root(), source)
    layout.mend(arrays)
    lines, rows = mend_lines(files, arrays, grid)
    lost = mend_chunks(files, arrays, now.date())
    again = forget_days(arrays, lost, now.date())
    keys = np.asarray(arrays["cell"][:])
    asked = np.asarray(arrays["asked_from"][:])
    never = {int(row) for row in rows if asked[row] == layout.NOT_KNOWN}
    concerned = sorted({*rows.tolist(), *again})
    cells = tuple(str(keys[row]) for row in concerned if keys[row])
    files.looked()
    spoiled = (*described, *lines, *lost.spoiled, *log)
    return Mended(spoiled, cells, again=bool(again or never), log=bool(log), aside=files.aside)


def mend_stores(feeds: Mapping[str, Feed], now: datetime) -> tuple[str, ...]:
    """Mend every store before anything is read of it; one that cannot be never stops the others.

    Parameters
    ----------
    feeds
        The sources.
    now
        The moment.

    Returns
    -------
    tuple of str
        A sentence for the operator on each store in which something was wrong.
    """
    told: list[str] = []
    for name, feed in feeds.items():
        try:
            found = feed.store.mend(feed.source.grid, now)
        except Exception as error:  # noqa: BLE001  the night says what it cannot use itself
            _log.exception("weather_not_mended", source=name)
            what = f"the stored weather could not be looked through ({error})"
            told.append(f"{feed.source.title}: {what}")
            continue
        if found:
            told.append(found.sentence(feed.source.title))
            _log.warning("weather_mended", source=name, cells=list(found.cells), what=told[-1])
    return tuple(told)


def _few(names: tuple[str, ...]) -> str:
    """The first few of some names, and how many more there are."""
    more = len(names) - MOST
    return ", ".join(names[:MOST]) + (f" and {more} more" if more > 0 else "")
