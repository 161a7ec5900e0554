"""Figures of the service that the model computes with, each with where it was measured."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from rootbound_service.errors import Problem, RefusedInput

TAGS = ("measured", "assumed", "read")
"""By us; not yet, with why; in a publication."""
PARTS = {"value", "unit", "words", "tag", "by", "on", "machine"}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure, and where it is from."""

    name: str
    value: float
    unit: str
    words: str
    tag: str
    by: str
    on: str
    machine: str


class Measured:
    """The figures by name.

    Parameters
    ----------
    figures
        Each under its own name.
    """

    def __init__(self, figures: dict[str, Figure]) -> None:
        self.figures = figures

    def __getitem__(self, name: str) -> float:
        return self.figures[name].value


def shipped() -> Measured:
    """Read the figures that come with the program.

    Raises
    ------
    RefusedInput
        If a row lacks a part or is no number.
    """
    return read(
        files("rootbound_service.desk.capacity").joinpath("measured.toml").read_text("utf-8")
    )


def read(text: str) -> Measured:
    """Read figures strictly.

    Parameters
    ----------
    text
        As in ``measured.toml``.

    Raises
    ------
    RefusedInput
        If a row lacks a part or is no number.
    """
    document = tomllib.loads(text)
    machines: dict[str, Any] = document.get("machine", {})
    problems: list[Problem] = []
    found: dict[str, Figure] = {}
    for name, row in document.get("value", {}).items():
        wrong = _wrong(row, machines)
        if wrong is not None:
            problems.append(Problem(f"measured.toml [value.{name}]", *wrong))
            continue
        number = float(row["value"])
        told = {key: str(row[key]) for key in PARTS - {"value", "machine"}}
        found[name] = Figure(
            name=name, value=number, machine=machines[row["machine"]]["words"], **told
        )
    if problems:
        raise RefusedInput(tuple(problems))
    return Measured(found)


def _wrong(row: dict[str, Any], machines: dict[str, Any]) -> tuple[str, str] | None:
    """Say what is wrong with a row and what would be right; None where nothing is."""
    if set(row) != PARTS:
        return f"has {', '.join(sorted(row))}", f"give {', '.join(sorted(PARTS))}"
    value = row["value"]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return f"{value!r} is no number", "give a number of 0 or more"
    if not (math.isfinite(value) and value >= 0):
        return f"{value} cannot be", "give a number of 0 or more"
    if row["tag"] not in TAGS:
        return f"tag {row['tag']!r} is unknown", f"give one of {', '.join(TAGS)}"
    if row["machine"] not in machines:
        return f"machine {row['machine']!r} is unknown", f"one of {', '.join(machines)}"
    return None
