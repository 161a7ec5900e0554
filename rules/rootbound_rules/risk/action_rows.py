"""Rows of ``data/actions.toml`` as values, and whether one fits a field tonight."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal, cast, get_args

from rootbound_rules.errors import RulesError, TableError
from rootbound_rules.risk.stage_order import stage_order

Kind = Literal["water", "look", "feed", "harvest", "plan"]
RootCause = Literal["wall", "pan", "wall_and_pan", "roots", "drought"]
"""Why roots are held, as the dig found it; ``drought``: they are not the reason at all."""
TAGS = ("verified", "second-hand", "memory", "choice")
STATUSES = ("watched", "unrated", "grown_free", "finished")

_NEEDED = ("id", "kind", "rungs", "stages", "text", "why", "source", "tag")
_FOUND: dict[str | None, frozenset[str]] = {
    "wall": frozenset({"wall"}),
    "pan": frozenset({"pan"}),
    "wall_and_pan": frozenset({"wall", "pan"}),
    "roots": frozenset(),
    "drought": frozenset(),
    None: frozenset(),
}


@dataclass(frozen=True, slots=True)
class Situation:
    """What decides which rows fit; cells as the parameters of ``actions_for``."""

    rung: int | None
    stage: str
    held_is_reason: bool
    irrigated: bool
    cause: str | None = None
    crop: str = "maize"
    eased: bool = False
    status: str = "watched"

    def __post_init__(self) -> None:
        """Refuse a stage or a cause that is none, before any row is asked."""
        stage_order(self.stage, self.crop)
        if self.cause not in _FOUND:
            raise RulesError(f"{self.cause!r} is no cause: {', '.join(get_args(RootCause))}")

    @property
    def found(self) -> frozenset[str]:
        """What the dig found; nothing where nobody knows."""
        return _FOUND[self.cause]


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do, with its reason, caution and sources."""

    id: str
    kind: Kind
    rungs: tuple[int, ...]
    first_stage: str
    last_stage: str
    crops: tuple[str, ...]
    statuses: tuple[str, ...]
    held: bool | None
    """True: only where the roots are the reason; False: only where not; None: either."""
    found: tuple[str, ...]
    """Only where the dig found one of these (wall, pan); empty: either."""
    irrigated: bool | None
    """True: only where the field can be watered; None: either."""
    eased: bool | None
    """True: only where the field has just come down; None: either."""
    text: str
    why: str
    caution: str
    source: tuple[str, ...]
    tag: str

    def fits(self, tonight: Situation) -> bool:
        """Whether the row holds for this field tonight."""
        if tonight.crop not in self.crops or tonight.status not in self.statuses:
            return False
        at = stage_order(tonight.stage, tonight.crop)
        first, last = (stage_order(s, tonight.crop) for s in (self.first_stage, self.last_stage))
        return (
            first <= at <= last
            and (tonight.rung is None or tonight.rung in self.rungs)
            and self.held in (None, tonight.held_is_reason)
            and self.irrigated in (None, tonight.irrigated)
            and self.eased in (None, tonight.eased)
            and (not self.found or not tonight.found.isdisjoint(self.found))
        )


def root_cause(wall_class: int | None, pan_class: int | None) -> RootCause | None:
    """Name what a dig found.

    Parameters
    ----------
    wall_class, pan_class
        As the dig card has them, None where it has none. [0-3]

    Returns
    -------
    str or None
        ``wall``, ``pan``, ``wall_and_pan``; None where the dig found neither.
    """
    if wall_class and pan_class:
        return "wall_and_pan"
    if wall_class:
        return "wall"
    return "pan" if pan_class else None


@cache
def load_actions() -> tuple[Action, ...]:
    """Read every row of ``data/actions.toml``.

    Raises
    ------
    TableError
        If a row lacks a cell, a source or a known word, or an id stands twice.
    """
    path = files("rootbound_rules").joinpath("data", "actions.toml")
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["action"]
    found = tuple(action_of(row) for row in rows)
    if len({action.id for action in found}) < len(found):
        raise TableError("an id stands twice in actions.toml; each row needs its own")
    return found


def action_of(row: dict[str, Any]) -> Action:
    """Turn the cells of one row into an :class:`Action`.

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
            raise TableError(f"{name} in actions.toml has no {cell}")
    crops = tuple(row.get("crops", ("maize",)))
    statuses = tuple(row.get("statuses", ("watched",)))
    _known(name, "tag", (row["tag"],), TAGS)
    _known(name, "kind", (row["kind"],), get_args(Kind))
    _known(name, "status", statuses, STATUSES)
    _known(name, "found", tuple(row.get("found", ())), ("wall", "pan"))
    first, last = row["stages"]
    for crop in crops:
        if stage_order(first, crop) > stage_order(last, crop):
            raise TableError(f"{name} in actions.toml ends ({last}) before it begins ({first})")
    return Action(
        id=name,
        kind=cast("Kind", row["kind"]),
        rungs=tuple(row["rungs"]),
        first_stage=first,
        last_stage=last,
        crops=crops,
        statuses=statuses,
        held=row.get("held"),
        found=tuple(row.get("found", ())),
        irrigated=row.get("irrigated"),
        eased=row.get("eased"),
        text=row["text"],
        why=row["why"],
        caution=row.get("caution", ""),
        source=sources_of(row),
        tag=row["tag"],
    )


def sources_of(row: dict[str, Any]) -> tuple[str, ...]:
    """Source keys of a row, which may be one word or a list."""
    source = row["source"]
    return (source,) if isinstance(source, str) else tuple(source)


def _known(name: str, cell: str, values: tuple[str, ...], known: tuple[str, ...]) -> None:
    """Refuse a word that no reader of the table knows."""
    for value in values:
        if value not in known:
            raise TableError(f"{name} in actions.toml has {cell} {value!r}; known: {known}")
