"""How ``rootbound doctor`` prints what it found: in groups, what is bad first."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.public.finding import Finding

WIDTH = 80
WELL, BAD, REST = "  well  ", "  BAD   ", " " * 8


@dataclass(frozen=True, slots=True)
class Group:
    """Findings about one part of the whole."""

    title: str
    found: list[Finding]

    @property
    def well(self) -> bool:
        """Whether every one of them is."""
        return all(one.well for one in self.found)


def lines_of(groups: Sequence[Group]) -> list[str]:
    """Put findings into lines: groups with something bad first, and in each the bad first.

    Parameters
    ----------
    groups
        In the order in which they are told where all is well; empty ones are left out.
    """
    lines: list[str] = []
    for group in sorted((one for one in groups if one.found), key=lambda one: one.well):
        lines.append(group.title)
        for finding in sorted(group.found, key=lambda one: one.well):
            lines += _lines(finding)
    return lines


def summary(bad: int, of: int) -> str:
    """Say how it stands, in one sentence.

    Parameters
    ----------
    bad
        How many checks are not well.
    of
        How many there were.
    """
    if bad:
        return f"{bad} of {of} checks {'is' if bad == 1 else 'are'} not well."
    return f"All {of} checks are well."


def _lines(finding: Finding) -> list[str]:
    lines = _wrapped(WELL if finding.well else BAD, f"{finding.what}: {finding.said}")
    if finding.why:
        lines += _wrapped(REST, f"why it matters: {finding.why}")
    if finding.mend:
        lines += _wrapped(REST, f"what to do: {finding.mend}")
    if finding.run:
        lines.append(f"{REST}  {finding.run}")  # on a line of its own and whole, to be copied
    return lines


def _wrapped(first: str, words: str) -> list[str]:
    """Lines that fit; a path stays whole, to be copied."""
    return wrap(
        words,
        WIDTH,
        initial_indent=first,
        subsequent_indent=REST + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
