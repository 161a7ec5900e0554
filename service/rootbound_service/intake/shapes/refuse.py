"""Saying what is wrong with an upload."""

from __future__ import annotations

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.shapes.limits import PROBLEMS_SHOWN


class Flaw(ValueError):
    """One thing wrong with one shape or file; the caller knows where.

    Parameters
    ----------
    what, wanted
        What is wrong, and what would be right.
    """

    def __init__(self, what: str, wanted: str) -> None:
        super().__init__(what)
        self.what = what
        self.wanted = wanted

    def at(self, where: str) -> Problem:
        """Say it of a place."""
        return Problem(where, self.what, self.wanted)


def refused(problems: list[Problem]) -> RefusedInput:
    """Make the refusal of everything found, cut short where a page would drown in it."""
    shown, left = problems[:PROBLEMS_SHOWN], len(problems) - PROBLEMS_SHOWN
    if left > 0:
        shown.append(Problem("further fields", f"{left} more are wrong", "mend these first"))
    return RefusedInput(tuple(shown))
