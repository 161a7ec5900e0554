"""How deep and how wide the roots stand, free and held."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip


@equation
def front_rate(
    collar: float, early_m_d: float, late_m_d: float, turn: float, last: float, emerged: float
) -> float:
    """How far free roots deepen in a day. [m d-1]

    Parameters
    ----------
    collar
        Collars that show. [-]
    early_m_d, late_m_d
        Rate up to collar ``turn`` and from there to collar ``last``. [m d-1]
    turn, last
        Collars at which the rate changes and ends. [-]
    emerged
        1 once the crop is up, else 0. [-]

    References
    ----------
    ``ordonez_2018``.
    """
    late = late_m_d if collar >= turn else early_m_d
    return late * emerged if collar < last else 0.0 * late


@equation
def free_half_width(
    collar: float, start_cm: float, half_row_cm: float, begin: float, end: float
) -> float:
    """Half-width of free roots, from the slot at collar ``begin`` to mid-row at ``end``. [cm]

    Our choice (``width_begin``, ``width_end`` of the crop's table).
    """
    share = clip((collar - begin) / (end - begin), 0.0, 1.0)
    return start_cm + share * max(half_row_cm - start_cm, 0.0)


@equation
def slab_half_width(
    free_cm: float, start_cm: float, widening: float, depth_m: float, seed_depth_cm: float
) -> float:
    """Half-width that roots held by the wall still fill, averaged over their depth. [cm]

    Parameters
    ----------
    free_cm
        Half-width of free roots, never passed. [cm]
    start_cm
        Half-width of the slot. [cm]
    widening
        Widening of the slab below the seed, each side. [cm cm-1]
    depth_m
        Depth of the roots. [m]
    seed_depth_cm
        Depth of the seed. [cm]
    """
    below = max(100.0 * depth_m - seed_depth_cm, 0.0)
    return min(free_cm, start_cm + 0.5 * widening * below)


@equation
def reach(free_cm: float, slab_cm: float, crossed: float) -> float:
    """Share of the rooted soil that the held roots can get at.

    Parameters
    ----------
    free_cm, slab_cm
        Half-width of free roots and of the slab. [cm]
    crossed
        Share of the nodal axes that crossed the wall. [0-1]

    Returns
    -------
    float
        Reach; exactly 1 where every axis crossed. [0-1]
    """
    return 1.0 - (1.0 - crossed) * (free_cm - slab_cm) / free_cm
