"""How many more plants a dig needs before its own uncertainty stops mattering for the rung.

The value of one more plant, by the model: tonight's outlook is run again with the share of
roots that cross set to both ends of what the dig leaves open. Where both ends give the same
rung, more digging would change nothing that anybody is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.expected_rung import worst_rungs
from rootbound_rules.season.layout import BLOCK, Out
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.values import Dig, FieldSeason


@dataclass(frozen=True, slots=True)
class MorePlants:
    """What more plants would do; the rungs are those expected of the coming two weeks."""

    kind: Literal["enough", "more", "counts_wanted", "beyond"]
    """``enough``: both ends give one rung; ``more``: they would with ``plants`` more;
    ``counts_wanted``: the newest dig has no counts; ``beyond``: not even with the most that
    is worth asking for."""
    plants: int | None = None
    low_rung: int | None = None
    """With the fewest roots across that the dig leaves open, as dug."""
    high_rung: int | None = None
    """With the most."""


@lru_cache(maxsize=8)  # the letter and the field's page ask the same of one night
def more_plants(outlook: Outlook, season: FieldSeason, today: date) -> MorePlants:
    """Tell how many more plants the newest dig needs.

    Parameters
    ----------
    outlook
        Tonight's, of this season.
    season
        The field and its digs.
    today
        The day of the night's run.

    Returns
    -------
    MorePlants
        As many plants with the same roots each and the same share across as those dug.

    Raises
    ------
    RulesError
        If nobody has dug.
    """
    if not season.digs:
        raise RulesError("no dig yet: dig first, then ask how many plants more")
    dig = max(season.digs, key=lambda dig: dig.dug_on)
    if not dig.plants or not (dig.crossing or 0) + (dig.held or 0):
        return MorePlants("counts_wanted")
    low, high = _rungs(outlook, dig, today, 0)
    if low == high:
        return MorePlants("enough", 0, low, high)
    needed = _fewest(outlook, dig, today, int(load_table("dig_list").number("more_plants.most")))
    return MorePlants("beyond" if needed is None else "more", needed, low, high)


def share_range(dig: Dig, plants: int = 0) -> tuple[float, float]:
    """Middle of the posterior of the share that crosses, after so many plants more.

    Parameters
    ----------
    dig
        With counts over its plants.
    plants
        Further plants of the same roots and the same share.

    Returns
    -------
    tuple of float
        Low and high end. [0-1]
    """
    from scipy.special import betaincinv

    rows, prior = load_table("dig_list"), load_table("wall").number("dig.prior")
    grown = (dig.plants + plants) / dig.plants
    across = (dig.crossing or 0) * grown + prior
    along = (dig.held or 0) * grown + prior
    low, high = rows.number("more_plants.low"), rows.number("more_plants.high")
    return float(betaincinv(across, along, low)), float(betaincinv(across, along, high))


def _fewest(outlook: Outlook, dig: Dig, today: date, most: int) -> int | None:
    """Fewest plants more at which both ends give one rung, found by halving.

    The range narrows with every plant and fewer roots across never ease a rung, so that what
    so many plants settle a further one settles too.
    """

    def settled(plants: int) -> bool:
        low, high = _rungs(outlook, dig, today, plants)
        return low == high

    if not settled(most):
        return None
    fewer, enough = 0, most
    while enough - fewer > 1:
        middle = (fewer + enough) // 2
        fewer, enough = (fewer, middle) if settled(middle) else (middle, enough)
    return enough


def _rungs(outlook: Outlook, dig: Dig, today: date, plants: int) -> tuple[int, int]:
    """Expected rung of the held roots at both ends."""
    low, high = share_range(dig, plants)
    return (
        worst_rungs(_with_share(outlook, low), today)[0],
        worst_rungs(_with_share(outlook, high), today)[0],
    )


def _with_share(outlook: Outlook, share: float) -> Outlook:
    """The same members, each with one share across at the newest dig."""
    run = outlook.run
    counts = run.counts.reshape(len(run.counts), -1, BLOCK).copy()
    counts[:, -1, :] = share
    again = replace(run, counts=counts.reshape(len(counts), -1))
    cube = again.play()
    return replace(
        outlook,
        run=again,
        held_stress=cube[:, Out.HELD_STRESS],
        held_water=cube[:, Out.HELD_WATER],
        reach=cube[:, Out.REACH],
    )
