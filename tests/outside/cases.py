"""Published values from fixtures/reference, read as cases that name their source."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
REFERENCE = ROOT / "fixtures" / "reference"
SHARED = Path("..") / "shared" / "data"
"""Public files beside the project, from its root; none of them is part of it."""
SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Case:
    """One published value."""

    id: str
    quantity: str
    inputs: dict[str, Any]
    expected: float
    tolerance: float
    unit: str
    source: str
    status: str

    def check(self, ours: float) -> None:
        """Fail with both numbers and the source where ours is out of tolerance."""
        assert abs(ours - self.expected) <= self.tolerance + SLACK, (
            f"{self.id}: ours {ours:.6g}, published {self.expected:g} "
            f"+- {self.tolerance:g} {self.unit} ({self.source}; {self.status})"
        )


@dataclass(frozen=True, slots=True)
class Table:
    """A published table of several rows; ``tolerance`` is one of them, by column."""

    rows: list[dict[str, str]]
    tolerance: dict[str, float]

    def numbers(self, row: dict[str, str]) -> dict[str, float]:
        """The numeric cells of a row."""
        return {name: float(cell) for name, cell in row.items() if _is_number(cell)}


def lines(name: str) -> list[dict[str, str]]:
    """Return the rows of one file, without the comment that names its source."""
    text = (REFERENCE / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in text if not line.startswith("#")))


def cases(name: str) -> list[Case]:
    """Return the cases of one file of single values."""
    return [
        Case(
            row["id"],
            row["quantity"],
            json.loads(row["inputs"]),
            float(row["expected"]),
            float(row["tolerance"]),
            row["unit"],
            row["source"],
            row["status"],
        )
        for row in lines(name)
    ]


def table(name: str) -> Table:
    """Return one file that holds a table as printed, its tolerances apart."""
    rows = lines(name)
    first = next(iter(rows[0]))
    limits = [row for row in rows if row[first] == "tolerance"]
    return Table(
        [row for row in rows if row[first] != "tolerance"],
        {name: float(cell) for row in limits for name, cell in row.items() if _is_number(cell)},
    )


def answered(every: list[Case], left_out: dict[str, str]) -> list[Any]:
    """Return the cases we answer, each under its own id."""
    return [pytest.param(case, id=case.id) for case in every if case.quantity not in left_out]


def unaccounted(
    every: list[Case], answers: dict[str, Any], left_out: dict[str, str]
) -> dict[str, list[str]]:
    """Return ids that nobody answers, ids with two fates, and entries that meet no id."""
    asked = {case.quantity for case in every}
    return {
        "neither": [c.id for c in every if c.quantity not in answers | left_out],
        "both": sorted(set(answers) & set(left_out)),
        "stale": sorted((set(answers) | set(left_out)) - asked),
        "twice": sorted({c.id for c in every if sum(d.id == c.id for d in every) > 1}),
        "no reason": sorted(name for name, why in left_out.items() if not why.strip()),
    }


NOTHING: dict[str, list[str]] = {
    "neither": [],
    "both": [],
    "stale": [],
    "twice": [],
    "no reason": [],
}


def shared(path: str) -> Path:
    """A public file beside the project, or a skip that names it."""
    file = ROOT / SHARED / path
    if not file.is_file():
        pytest.skip(f"no {SHARED / path} beside the project")
    return file


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except (TypeError, ValueError):
        return False
    return True
