"""From heat units to collars and stages."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip


@equation
def collars(
    gdd: float, emergence: float, early_rate: float, late_rate: float, turn: float, last: float
) -> float:
    """Leaf collars that show, as a number with its fraction.

    Parameters
    ----------
    gdd
        Heat units since planting. [degF d]
    emergence
        Heat units from planting to emergence. [degF d]
    early_rate, late_rate
        Heat units a collar takes up to and after collar ``turn``. [degF d]
    turn
        The collar at which the rate changes. [-]
    last
        The last collar, under the tassel. [-]

    Returns
    -------
    float
        Collars, 0 before emergence. [-]

    References
    ----------
    ``nielsen_2014_leaf_collar``.
    """
    early = max(gdd - emergence, 0.0) / early_rate
    late = (gdd - emergence - turn * early_rate) / late_rate
    return min(min(early, turn) + max(late, 0.0), last)


def gdd_at_collar(
    collar: float, emergence: float, early_rate: float, late_rate: float, turn: float
) -> float:
    """Heat units since planting at which ``collar`` shows. [degF d]"""
    early, late = min(collar, turn), max(collar - turn, 0.0)
    return emergence + early_rate * early + late_rate * late


def emergence_gdd(
    base: float, seed_depth_cm: float, per_inch: float, free_depth_in: float, extra: float = 0.0
) -> float:
    """Heat units from planting to emergence.

    Parameters
    ----------
    base
        For a seed no deeper than ``free_depth_in``. [degF d]
    seed_depth_cm
        Depth of the seed. [cm]
    per_inch
        Added for each inch below ``free_depth_in``. [degF d in-1]
    free_depth_in
        Depth up to which nothing is added. [in]
    extra
        For texture, residue or a dry seed zone, where somebody judged them. [degF d]

    References
    ----------
    ``purdue_emergence`` (base), ``lauer_2003_w121`` (depth and the other additions).
    """
    return base + per_inch * max(seed_depth_cm / 2.54 - free_depth_in, 0.0) + extra


def late_planting_r6(black_layer: float, days_after_1_may: int, cut_per_day: float) -> float:
    """Heat units to black layer of a hybrid planted late. [degF d]

    References
    ----------
    ``nielsen_2002_delayed``: eastern Corn Belt only.
    """
    return black_layer - cut_per_day * max(days_after_1_may, 0)


@equation
def axes_out(
    collar: float,
    first: float,
    second: float,
    most: float,
    last: float,
    share_second: float,
    share_most: float,
) -> float:
    """Share of all nodal axes that are put out when ``collar`` shows, straight between points.

    Parameters
    ----------
    collar
        Collars that show. [-]
    first, second, most, last
        Collars at which the share is 0, ``share_second``, ``share_most`` and 1. [-]
    share_second, share_most
        Cumulative shares. [0-1]

    Notes
    -----
    Our choice: rows ``axes_*`` of the crop's table.
    """
    early = share_second * clip((collar - first) / (second - first), 0.0, 1.0)
    middle = (share_most - share_second) * clip((collar - second) / (most - second), 0.0, 1.0)
    late = (1.0 - share_most) * clip((collar - most) / (last - most), 0.0, 1.0)
    return early + middle + late
