"""What can sensibly be done for a field tonight: rows of ``data/actions.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.action_rows import Action, Situation, load_actions

if TYPE_CHECKING:
    from rootbound_rules.risk.action_rows import Kind, RootCause

MOST = 3
"""So many actions are shown at once: more is a leaflet, not a note."""
MOST_OF_ONE_KIND = 2
"""So many where nothing of another kind fits."""


def actions_for(
    rung: int | None,
    stage: str,
    held_is_reason: bool,  # noqa: FBT001 - one of four facts, read in this order everywhere
    irrigated: bool,  # noqa: FBT001
    *,
    cause: RootCause | None = None,
    crop: str = "maize",
    eased: bool = False,
    status: str = "watched",
) -> tuple[Action, ...]:
    """Choose what to do, most useful first: at most three, and one of each kind.

    Parameters
    ----------
    rung
        Rung of the field, None where it has none. [0-4]
    stage
        Stage of the crop, as :func:`~rootbound_rules.risk.stage_order.stage_order` knows it.
    held_is_reason
        Whether the held roots stand on a higher rung than free roots would.
    irrigated
        Whether the field can be watered.
    cause
        What the dig found, as :func:`~rootbound_rules.risk.action_rows.root_cause` names it, or
        ``roots`` for held roots without a known reason. ``drought`` says that the roots are not
        the reason, whatever was found. None where nobody knows.
    crop
        Rows of another crop are never shown.
    eased
        Whether the field has just come down.
    status
        ``watched``, ``unrated``, ``grown_free`` or ``finished``; nothing is advised for others.

    Returns
    -------
    tuple of Action
        In the order of ``data/actions.toml``.

    Raises
    ------
    RulesError
        If the crop has no table, or there is no such stage or cause.
    """
    tonight = Situation(
        rung=rung,
        stage=stage,
        held_is_reason=held_is_reason and cause != "drought",
        irrigated=irrigated,
        cause=cause,
        crop=crop,
        eased=eased,
        status=status,
    )
    return _choose([action for action in load_actions() if action.fits(tonight)])


def _choose(fitting: list[Action]) -> tuple[Action, ...]:
    """Return the first row of each kind; two where all are of one kind."""
    kinds = {action.kind for action in fitting}
    if len(kinds) == 1:
        return tuple(fitting[:MOST_OF_ONE_KIND])
    first: dict[Kind, Action] = {}
    for action in fitting:
        first.setdefault(action.kind, action)
    return tuple(first.values())[:MOST]
