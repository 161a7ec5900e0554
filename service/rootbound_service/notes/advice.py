"""What can be done for a field tonight, and what it must not be mistaken for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.action_rows import root_cause
from rootbound_rules.risk.actions import actions_for
from rootbound_rules.risk.lookalikes import lookalikes_for
from rootbound_rules.risk.rungs import Reason
from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from rootbound_rules.risk.action_rows import Action, RootCause
    from rootbound_rules.risk.lookalikes import Lookalike
    from rootbound_service.notes.facts import FieldFacts

ADVISED = {"watched", "unrated", "finished"}
_TIGHT = 2


def actions_of(facts: FieldFacts, *, irrigated: bool) -> tuple[Action, ...]:
    """Choose what can be done; for a field without an answer nothing is advised.

    Parameters
    ----------
    facts
        The field.
    irrigated
        Whether it can be watered.
    """
    if facts.status not in ADVISED:
        return ()
    before = facts.previous_rung
    return actions_for(
        facts.rung,
        facts.stage,
        facts.status == "watched" and say.held_is_reason(facts),
        irrigated,
        cause=_cause(facts),
        crop=facts.crop,
        eased=facts.rung is not None and before is not None and facts.rung < before,
        status="grown_free" if facts.news == Reason.GROWN_FREE else facts.status,
    )


def lookalike_of(facts: FieldFacts) -> Lookalike | None:
    """Choose the likeliest mistake about a field that is tight or worse.

    Parameters
    ----------
    facts
        The field.
    """
    if facts.status != "watched" or facts.rung is None or facts.rung < _TIGHT:
        return None
    cause: RootCause = (_cause(facts) or "roots") if say.held_is_reason(facts) else "drought"
    return next(iter(lookalikes_for(facts.stage, cause, crop=facts.crop)), None)


def _cause(facts: FieldFacts) -> RootCause | None:
    """What the dig found."""
    return None if facts.wall_class is None else root_cause(facts.wall_class, facts.pan_class)
