"""What the seasons come to, in sentences: for the terminal and the top of the page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rootbound_service.replay.views import add_up, told

if TYPE_CHECKING:
    from rootbound_service.replay.views import Sum, View

MOST_YEARS = 6
"""Named in a sentence; more are counted."""


def headline(all_views: Sequence[View]) -> list[str]:
    """Say what every view that people are told of comes to.

    Parameters
    ----------
    all_views
        From :func:`rootbound_service.replay.views.views`.

    Returns
    -------
    list of str
        A paragraph for each.
    """
    fields = len({view.field for view in all_views})
    return [f"{named(view, several=fields > 1)}: {said(add_up(view))}" for view in told(all_views)]


def said(sums: Sum) -> str:
    """Say in sentences what a view's seasons come to.

    Parameters
    ----------
    sums
        From :func:`rootbound_service.replay.views.add_up`.
    """
    many = counted(sums.seasons, "season")
    parts = [f"{many}, {_short(sums)}, {sums.notes:.1f} notes a season on average."]
    if sums.leads:
        usual, least = sums.usual_lead, sums.least_lead
        only = len(sums.leads) == 1
        first = f"The first word came {'' if only else 'a median of '}{usual:g} days before"
        rest = "" if only else f", {least:g} at the least"
        parts.append(f"{first} the field ran short{rest}.")
    if sums.short:
        parts.append(
            f"{_ran(len(sums.unwarned))} short without a word before{_years(sums.unwarned)}."
        )
    vain = counted(len(sums.in_vain), "season") if sums.in_vain else "No season"
    was = "was" if len(sums.in_vain) <= 1 else "were"
    parts.append(f"{vain} {was} warned of in vain{_years(sums.in_vain)}.")
    return " ".join(parts)


def named(view: View, *, several: bool) -> str:
    """Name a view at the begin of a sentence.

    Parameters
    ----------
    view
        The view.
    several
        Whether there are several fields, so that its own is named.
    """
    if several:
        return f"{view.field}, {view.roots}"
    return view.roots[0].upper() + view.roots[1:]


def counted(many: int, word: str) -> str:
    """A number and what it counts.

    Parameters
    ----------
    many
        How many.
    word
        In the singular.
    """
    return f"{many} {word}{'' if many == 1 else 's'}"


def _short(sums: Sum) -> str:
    """How many ran short."""
    if not sums.short:
        return "none of which ran short" if sums.seasons != 1 else "which did not run short"
    return f"{sums.short} of which ran short" if sums.seasons != 1 else "which ran short"


def _ran(many: int) -> str:
    """Seasons without a word."""
    return f"{counted(many, 'season')} ran" if many else "None ran"


def _years(years: Sequence[int]) -> str:
    """Years in brackets."""
    if not years:
        return ""
    rest = len(years) - MOST_YEARS
    more = f" and {rest} more" if rest > 0 else ""
    return f" ({', '.join(map(str, years[:MOST_YEARS]))}{more})"
