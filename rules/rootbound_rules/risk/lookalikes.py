"""What a field with held roots is easily mistaken for: rows of ``data/lookalikes.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from rootbound_rules.errors import RulesError, TableError
from rootbound_rules.risk.action_rows import TAGS, sources_of
from rootbound_rules.risk.stage_order import stage_order

if TYPE_CHECKING:
    from rootbound_rules.risk.action_rows import RootCause

MOST = 5
"""So many at once: a page shows them, a note the first."""

_NEEDED = ("id", "rank", "stages", "causes", "looks", "tell", "source", "tag")
_CAUSES = ("wall", "pan", "roots", "drought")
_HELD = ("wall", "pan", "roots")
_COVERS: dict[str | None, tuple[str, ...]] = {
    "wall": ("wall", "roots"),
    "pan": ("pan", "roots"),
    "wall_and_pan": _HELD,
    "roots": ("roots",),
    "drought": ("drought",),
    None: ("roots", "drought"),
}


@dataclass(frozen=True, slots=True)
class Lookalike:
    """Something that looks like a field short for its roots, and how to tell it apart."""

    id: str
    rank: int
    """The likeliest mistake first."""
    first_stage: str
    last_stage: str
    crops: tuple[str, ...]
    causes: tuple[str, ...]
    looks: str
    """What else it may be."""
    tell: str
    """How to tell."""
    caution: str
    source: tuple[str, ...]
    tag: str

    def fits(self, stage: str, causes: tuple[str, ...], crop: str) -> bool:
        """Whether the row holds; parameters as in :func:`lookalikes_for`."""
        if crop not in self.crops or not set(causes) & set(self.causes):
            return False
        first, last = (stage_order(s, crop) for s in (self.first_stage, self.last_stage))
        return first <= stage_order(stage, crop) <= last


def lookalikes_for(
    stage: str, cause: RootCause | None = None, *, crop: str = "maize"
) -> tuple[Lookalike, ...]:
    """Choose what not to mistake a field for, the likeliest mistake first.

    Parameters
    ----------
    stage
        Stage of the crop.
    cause
        What is held to be the reason, as :func:`~rootbound_rules.risk.actions.actions_for` has
        it; None where nobody knows.
    crop
        Rows of another crop are never shown.

    Returns
    -------
    tuple of Lookalike
        At most five.

    Raises
    ------
    RulesError
        If the crop has no table, or there is no such stage or cause.
    """
    stage_order(stage, crop)
    if cause not in _COVERS:
        raise RulesError(f"{cause!r} is no cause: {', '.join(key for key in _COVERS if key)}")
    covers = _COVERS[cause]
    return tuple(row for row in load_lookalikes() if row.fits(stage, covers, crop))[:MOST]


@cache
def load_lookalikes() -> tuple[Lookalike, ...]:
    """Read every row of ``data/lookalikes.toml`` in the order of its rank.

    Raises
    ------
    TableError
        If a row lacks a cell or a known word, or an id or a rank stands twice.
    """
    path = files("rootbound_rules").joinpath("data", "lookalikes.toml")
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["lookalike"]
    found = sorted((lookalike_of(row) for row in rows), key=lambda row: row.rank)
    for what in ("id", "rank"):
        if len({getattr(row, what) for row in found}) < len(found):
            raise TableError(f"one {what} stands twice in lookalikes.toml")
    return tuple(found)


def lookalike_of(row: dict[str, Any]) -> Lookalike:
    """Turn the cells of one row into a :class:`Lookalike`.

    Parameters
    ----------
    row
        As the file has it.

    Raises
    ------
    TableError
        If a cell, the source or a known word is missing.
    """
    name = str(row.get("id", "a row without id"))
    for cell in _NEEDED:
        if not row.get(cell):
            raise TableError(f"{name} in lookalikes.toml has no {cell}")
    for cell, values, known in (
        ("tag", [row["tag"]], TAGS),
        ("cause", row["causes"], _CAUSES),
    ):
        if not set(values) <= set(known):
            raise TableError(f"{name} in lookalikes.toml has {cell} {values!r}; known: {known}")
    first, last = row["stages"]
    return Lookalike(
        id=name,
        rank=row["rank"],
        first_stage=first,
        last_stage=last,
        crops=tuple(row.get("crops", ("maize",))),
        causes=tuple(row["causes"]),
        looks=row["looks"],
        tell=row["tell"],
        caution=row.get("caution", ""),
        source=sources_of(row),
        tag=row["tag"],
    )
