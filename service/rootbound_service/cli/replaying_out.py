"""Where a replay is written: a bar while it runs, two tables and a report, a few lines."""

from __future__ import annotations

import sys
from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from rootbound_service.replay.report.facts import About
    from rootbound_service.replay.values import Played


@contextmanager
def bar(total: int, what: str) -> Generator[Callable[[], None]]:
    """Show how many are done, of how many, and the time left; nothing where nobody looks.

    Parameters
    ----------
    total
        How many there are.
    what
        What is counted.

    Yields
    ------
    callable
        To be called after each.
    """
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
    from rich.progress import TimeRemainingColumn as Left

    from rootbound_service.cli.screen import console

    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), Left(), TextColumn("left"))
    with Progress(*columns, console=console(err=True), transient=True) as shown:
        task = shown.add_task("", total=total)
        yield lambda: shown.advance(task)


def make_folder(out: Path) -> None:
    """Make the folder before the work, so that nothing is computed in vain.

    Parameters
    ----------
    out
        The folder.

    Raises
    ------
    RefusedInput
        If it cannot be made.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _unwritten(out, error) from None


def write(out: Path, played: Sequence[Played], about: About) -> list[str]:
    """Write tables and report.

    Parameters
    ----------
    out
        The folder.
    played
        The seasons.
    about
        What was played.

    Returns
    -------
    list of str
        What they come to in a few lines.

    Raises
    ------
    RefusedInput
        If something cannot be written.
    """
    from rootbound_service.replay.report.facts import facts_of
    from rootbound_service.replay.report.page import page
    from rootbound_service.replay.summary import summary
    from rootbound_service.replay.tables import write_nights, write_seasons

    facts = facts_of(played, about)
    with _writing(out / "nights.csv") as file:
        write_nights(played, file)
    with _writing(out / "seasons.csv") as file:
        write_seasons(played, file)
    with _writing(out / "report.html") as file:
        file.write(page(facts))
    return [*summary(facts), f"report.html, nights.csv and seasons.csv are in {out}"]


@contextmanager
def _writing(path: Path) -> Generator[TextIO]:
    """Open a file for text; where that cannot be done, say so in a sentence."""
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            yield file
    except OSError as error:
        raise _unwritten(path, error) from None


def _unwritten(path: Path, error: OSError) -> Exception:
    """Say that something cannot be written."""
    from rootbound_service.errors import Problem, RefusedInput

    what = f"cannot be written: {error.strerror or error}"
    return RefusedInput((Problem(str(path), what, "name a place you may write to"),))
