"""The smallest rain, on each coming day, that keeps a field from climbing the ladder."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.assess import readings_on, stage_on
from rootbound_rules.risk.hold_need import members_needed
from rootbound_rules.risk.ladder import RUNG_NAMES, raw_rung
from rootbound_rules.risk.windows import windows
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from rootbound_rules.risk.ladder import Reading
    from rootbound_rules.season.outlook import Outlook

TOP = len(RUNG_NAMES) - 1


@dataclass(frozen=True, slots=True)
class HoldDay:
    """What would have to fall on one day; None where not even the most that is considered does."""

    day: date
    mm: float | None
    """Keeps the field by the ladder's own share of members. [mm]"""
    low: float | None
    """Keeps it in one member of five, 0 where so many need none. [mm]"""
    high: float | None
    """Keeps it in four members of five. [mm]"""


@dataclass(frozen=True, slots=True)
class ToHold:
    """The answer for the coming days.

    ``none_needed``: the field does not climb as things are. ``rain``: some day has an amount.
    ``none_would``: it climbs whatever falls, within what is considered. ``at_top``: there is
    nothing to climb to. ``already_climbing``: tonight's reading is above the rung already,
    which no coming rain changes. ``days`` is empty but for ``rain`` and ``none_would``.
    """

    kind: Literal["none_needed", "rain", "none_would", "at_top", "already_climbing"]
    days: tuple[HoldDay, ...] = ()


@lru_cache(maxsize=8)  # the letter and the field's page ask the same of one night
def rain_to_hold(outlook: Outlook, today: date, rung: int, *, irrigation: bool = False) -> ToHold:
    """Search the smallest single rain by tomorrow, by the day after, ... that holds the field.

    The field climbs if the ladder reads a rung above ``rung`` on any of the coming nights. A
    rain is in the weather of every member, and so in the readings from the night of its day
    on; a climb on a night before it cannot be mended by it.

    Parameters
    ----------
    outlook
        Both twins over all members.
    today
        The day of the night's run; the first amount is for tomorrow.
    rung
        Of the field tonight. [0-4]
    irrigation
        Search water given instead: none of it runs off.

    Returns
    -------
    ToHold
        Amounts to one percent of themselves or a hundredth of a millimetre, the end that holds.

    Raises
    ------
    RulesError
        If the outlook does not cover today.
    """
    t = outlook.day(today)
    if not 0 <= t < outlook.run.days:
        raise RulesError(f"no rain to hold for {today}: the outlook does not cover that day")
    if rung >= TOP:
        return ToHold("at_top")
    if raw_rung(readings_on(outlook, today)[0])[0] > rung:
        return ToHold("already_climbing")
    found, told = _search(outlook, today, rung, irrigation=irrigation)
    from rootbound_rules.season.hold_search import FOUND, NO_CLIMB

    if found == NO_CLIMB:
        return ToHold("none_needed")
    days = tuple(
        HoldDay(today + timedelta(days=k + 1), *(_or_none(row[i]) for i in (1, 0, 2)))
        for k, row in enumerate(told)
    )
    return ToHold("rain" if found == FOUND else "none_would", days)


def _search(
    outlook: Outlook, today: date, rung: int, *, irrigation: bool
) -> tuple[int, NDArray[np.float64]]:
    """What the compiled search finds, and the amounts of each day: low, own, high."""
    from rootbound_rules.season.hold import hold_of_field

    rows, run, t = load_table("hold"), outlook.run, outlook.day(today)
    nights = int(rows.number("nights"))
    spans, marks = windows()
    need = np.stack(
        [members_needed(_reading(outlook, today, n), run.members) for n in range(nights + 1)],
        axis=1,
    )
    names = ("most_mm", "first_mm", "narrow.share", "narrow.mm")
    limits = np.array([*(rows.number(name) for name in names), float(irrigation)])
    told = np.empty((nights, 3))
    found = hold_of_field(
        run.field, run.params, run.digs, run.counts, run.weather, run.irrigation,
        run.plant_day, run.days, run.held, t, t + nights + int(spans.max()),
        int(-spans.min()), (rung, need, spans, marks, run.members), limits, told,
    )  # fmt: skip
    return int(found), told


def _reading(outlook: Outlook, today: date, night: int) -> Reading:
    """The stage some nights from today, the last of the season beyond it."""
    last = outlook.date(outlook.run.days - 1)
    return stage_on(outlook, min(today + timedelta(days=night), last))


def _or_none(mm: float) -> float | None:
    """None where nothing was found."""
    return None if np.isnan(mm) else float(mm)
