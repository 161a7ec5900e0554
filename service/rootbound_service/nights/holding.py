"""What rain or water would keep a field from climbing: searched, kept with its row, read back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.rain_to_hold import HoldDay, ToHold, rain_to_hold

if TYPE_CHECKING:
    from rootbound_rules.season.outlook import Outlook

DIGITS = 2


def held_by(
    outlook: Outlook, rung: int | None, night: date, *, water: bool = False
) -> ToHold | None:
    """Search what would keep a field from climbing.

    Parameters
    ----------
    outlook
        Both twins over all members.
    rung
        Of the field; None: it is on none. [0-4]
    night
        The night.
    water
        Search water given instead of rain.

    Returns
    -------
    ToHold or None
        None without a rung, or where the season ends within the week.
    """
    if rung is None:
        return None
    try:
        return rain_to_hold(outlook, night, rung, irrigation=water)
    except RulesError:
        return None


def told_hold(hold: ToHold | None) -> dict[str, object] | None:
    """Give an answer as JSON holds it.

    Parameters
    ----------
    hold
        What the search found.
    """
    if hold is None:
        return None
    days = [[one.day.isoformat(), *map(_round, (one.mm, one.low, one.high))] for one in hold.days]
    return {"kind": hold.kind, "days": days}


def hold_from(told: Mapping[str, Any] | None) -> ToHold | None:
    """Read an answer back.

    Parameters
    ----------
    told
        From :func:`told_hold`.
    """
    if told is None:
        return None
    days = tuple(HoldDay(date.fromisoformat(one[0]), *one[1:]) for one in told["days"])
    return ToHold(told["kind"], days)


def _round(mm: float | None) -> float | None:
    """Rounded up: a little less would not hold."""
    return None if mm is None else round(mm + 0.5 * 10**-DIGITS, DIGITS)
