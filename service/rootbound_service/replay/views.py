"""Seasons played, sorted by what is looked at: free roots, then the roots under each finding."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from rootbound_service.replay.judge import judge

if TYPE_CHECKING:
    from rootbound_service.replay.judge import Judged
    from rootbound_service.replay.values import Played, TwinName


@dataclass(frozen=True, slots=True)
class View:
    """One twin of one field over its seasons."""

    field: str
    twin: TwinName
    wall_class: int | None
    """What the spade found; None: free roots."""
    seasons: tuple[tuple[Played, Judged], ...]
    """In the order of the years."""

    @property
    def judged(self) -> tuple[Judged, ...]:
        """What was said in each season against what came."""
        return tuple(one for _, one in self.seasons)

    @property
    def roots(self) -> str:
        """What is looked at, in words."""
        return "free roots" if self.wall_class is None else f"wall class {self.wall_class}"


@dataclass(frozen=True, slots=True)
class Sum:
    """What the seasons of one view come to, in seasons and days."""

    seasons: int
    short: int
    """Seasons that ran short."""
    leads: tuple[int, ...]
    """Days from the first word to running short, of those with a word before it. [d]"""
    unwarned: tuple[int, ...]
    """Years that ran short without a word before."""
    in_vain: tuple[int, ...]
    """Years with a word that did not run short."""
    notes: float
    """A season, on average."""

    @property
    def usual_lead(self) -> float | None:
        """Median lead. [d]"""
        return median(self.leads) if self.leads else None

    @property
    def least_lead(self) -> int | None:
        """Shortest lead. [d]"""
        return min(self.leads, default=None)


def views(played: Iterable[Played]) -> tuple[View, ...]:
    """Sort seasons by field and finding; free roots come first, once for each field.

    Parameters
    ----------
    played
        The seasons.
    """
    by_field: dict[str, dict[int | None, list[Played]]] = {}
    for one in played:
        by_field.setdefault(one.field, {}).setdefault(one.wall_class, []).append(one)
    return tuple(view for field, found in by_field.items() for view in _of_field(field, found))


def told(all_views: Sequence[View]) -> tuple[View, ...]:
    """Leave the views that people are told of: held roots, and free ones where nobody dug.

    Parameters
    ----------
    all_views
        From :func:`views`.
    """
    dug = {view.field for view in all_views if view.wall_class is not None}
    return tuple(view for view in all_views if view.wall_class is not None or view.field not in dug)


def add_up(view: View, rung: int = 1) -> Sum:
    """Count what a view's seasons come to.

    Parameters
    ----------
    view
        The view.
    rung
        Reaching it is the word that counts. [1-4]
    """
    judged = view.judged
    short = [one for one in judged if one.ran_short]
    leads = {one.year: one.lead[rung - 1] for one in short}
    in_time = {year: lead for year, lead in leads.items() if lead is not None and lead >= 0}
    return Sum(
        len(judged),
        len(short),
        tuple(in_time.values()),
        tuple(year for year in leads if year not in in_time),
        tuple(one.year for one in judged if one.reached(rung) and not one.ran_short),
        sum(one.notes for one in judged) / len(judged) if judged else 0.0,
    )


def _of_field(field: str, found: dict[int | None, list[Played]]) -> Iterator[View]:
    """One field's views; its free roots are the same under every finding."""
    classes = sorted(found, key=lambda one: -1 if one is None else one)
    yield _view(field, "free", None, found[classes[0]])
    for one in classes:
        if one is not None:
            yield _view(field, "held", one, found[one])


def _view(field: str, twin: TwinName, wall_class: int | None, played: list[Played]) -> View:
    """One view in the order of the years."""
    ordered = sorted(played, key=lambda one: one.year)
    return View(field, twin, wall_class, tuple((one, judge(one, twin)) for one in ordered))
