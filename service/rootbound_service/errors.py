"""The service's own errors: one base; a child only where a caller catches it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with what was given: where, what, and what would be right."""

    where: str
    what: str
    wanted: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; {self.wanted}"


class ServiceError(Exception):
    """Base of everything the service raises on purpose."""


class RefusedInput(ServiceError):
    """Something a person gave is wrong; nothing was stored.

    Parameters
    ----------
    problems
        Every problem found, not only the first.
    """

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
