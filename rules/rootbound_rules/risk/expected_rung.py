"""The worst rung that an outlook expects of tonight and the coming two weeks, without memory."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from rootbound_rules.risk.assess import readings_on
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.outlook import Outlook


def worst_rungs(outlook: Outlook, today: date) -> tuple[int, int]:
    """Read the ladder on every night from today to two weeks on, over all members.

    Parameters
    ----------
    outlook
        Both twins.
    today
        The first night.

    Returns
    -------
    tuple of int
        Worst rung by the thresholds alone: of the held roots, of free roots.
    """
    last = len(outlook.held_stress) - 1 - outlook.day(today)
    nights = min(int(load_table("dig_list").number("more_plants.days")), last)
    held = free = 0
    for night in range(nights + 1):
        with_held, with_free = readings_on(outlook, today + timedelta(days=night))
        held = max(held, raw_rung(with_held)[0])
        free = max(free, raw_rung(with_free)[0])
    return held, free
