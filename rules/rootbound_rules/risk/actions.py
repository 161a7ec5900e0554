"""What can sensibly be done at a rung and a stage: rows of ``data/actions.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from rootbound_rules.errors import RulesError, TableError

MOST = 3
"""So many actions are shown at once: more is a leaflet, not a note."""

TAGS = ("verified", "second-hand", "memory", "choice")

_NEEDED = ("id", "rungs", "stages", "text", "why", "source", "tag")


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do, with its reason, caution and sources."""

    id: str
    rungs: tuple[int, ...]
    first_stage: str
    last_stage: str
    held: bool | None
    """True: only where the roots are the reason; False: only where not; None: either."""
    irrigated: bool | None
    """True: only where the field can be watered; None: either."""
    text: str
    why: str
    caution: str
    source: tuple[str, ...]
    tag: str

    def fits(self, rung: int, stage: str, *, held_is_reason: bool, irrigated: bool) -> bool:
        """Whether the row holds for this field tonight; parameters as in :func:`actions_for`."""
        return (
            rung in self.rungs
            and stage_order(self.first_stage) <= stage_order(stage) <= stage_order(self.last_stage)
            and self.held in (None, held_is_reason)
            and self.irrigated in (None, irrigated)
        )


def stage_order(stage: str) -> int:
    """Place of a stage in the season.

    Parameters
    ----------
    stage
        ``planted``, ``VE``, ``V1`` ... ``V20``, ``VT`` or ``R1`` ... ``R6``.

    Returns
    -------
    int
        A number that grows with the season. [-]

    Raises
    ------
    RulesError
        If there is no such stage.
    """
    fixed = {"planted": -1, "VE": 0, "VT": 100}
    if stage in fixed:
        return fixed[stage]
    letter, number = stage[:1], stage[1:]
    if letter in {"V", "R"} and number.isdecimal() and int(number) > 0:
        return int(number) + (100 if letter == "R" else 0)
    raise RulesError(f"{stage!r} is no stage: planted, VE, V1 to V20, VT or R1 to R6")


def actions_for(
    rung: int,
    stage: str,
    held_is_reason: bool,  # noqa: FBT001 - one of four facts, read in this order everywhere
    irrigated: bool,  # noqa: FBT001
) -> tuple[Action, ...]:
    """Choose what to do, most useful first, at most three.

    Parameters
    ----------
    rung
        Rung of the field. [0-4]
    stage
        Stage of the crop, as :func:`stage_order` knows it.
    held_is_reason
        Whether the held roots stand on a higher rung than free roots would.
    irrigated
        Whether the field can be watered.

    Returns
    -------
    tuple of Action
        Rows of ``data/actions.toml`` in their order there.

    Raises
    ------
    RulesError
        If the stage is none.
    """
    fitting = [
        action
        for action in load_actions()
        if action.fits(rung, stage, held_is_reason=held_is_reason, irrigated=irrigated)
    ]
    return tuple(fitting[:MOST])


@cache
def load_actions() -> tuple[Action, ...]:
    """Read every row of ``data/actions.toml``.

    Raises
    ------
    TableError
        If a row lacks a cell, a source or a known tag, or an id stands twice.
    """
    path = files("rootbound_rules").joinpath("data", "actions.toml")
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["action"]
    found = tuple(action_of(row) for row in rows)
    if len({action.id for action in found}) < len(found):
        raise TableError("an id stands twice in actions.toml; each row needs its own")
    return found


def action_of(row: dict[str, Any]) -> Action:
    """Turn the cells of one row into an :class:`Action`.

    Raises
    ------
    TableError
        If a cell, the source or a known tag is missing.
    """
    name = row.get("id", "a row without id")
    for cell in _NEEDED:
        if not row.get(cell):
            raise TableError(f"{name} in actions.toml has no {cell}")
    if row["tag"] not in TAGS:
        raise TableError(f"{name} in actions.toml has tag {row['tag']!r}; known: {', '.join(TAGS)}")
    first, last = row["stages"]
    if stage_order(first) > stage_order(last):
        raise TableError(f"{name} in actions.toml ends ({last}) before it begins ({first})")
    source = row["source"]
    return Action(
        id=row["id"],
        rungs=tuple(row["rungs"]),
        first_stage=first,
        last_stage=last,
        held=row.get("held"),
        irrigated=row.get("irrigated"),
        text=row["text"],
        why=row["why"],
        caution=row.get("caution", ""),
        source=(source,) if isinstance(source, str) else tuple(source),
        tag=row["tag"],
    )
