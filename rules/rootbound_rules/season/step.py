"""One day of one field below the surface: the wall, then the root zone.

Each function takes and returns plain numbers, so that the same text runs in Python and,
compiled, over all members at once. Units are those of ``season.values``.
"""

from __future__ import annotations

from rootbound_rules.crop.wall import (
    crossing_share,
    late_crossing,
    relative_strength,
    top_layer_water,
)
from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip
from rootbound_rules.water.rootzone import (
    beyond_after_reach,
    deepening_gain,
    depletion_fraction,
    exchange_rate,
    stress,
    total_available,
    within_after_reach,
)
from rootbound_rules.water.water_table import capillary_rise, deepest_root, table_depth


@equation
def wall_day(
    depletion: float,
    tew: float,
    wilting_share: float,
    exponent: float,
    crossed: float,
    trapped: float,
    put_out: float,
    wall_mpa: float,
    class0_mpa: float,
    halving_mpa: float,
    late_rate: float,
) -> tuple[float, float]:
    """Axes that crossed the wall and axes it trapped, after a day.

    ``put_out`` is the share of all axes put out today; ``late_rate`` is 0 outside V1-V10.

    Returns
    -------
    tuple of float
        Crossed and trapped shares of all the crop's axes. [0-1]
    """
    strength = relative_strength(top_layer_water(depletion, tew), wilting_share, exponent)
    through = crossing_share(strength, wall_mpa, class0_mpa, halving_mpa)
    kept = trapped + put_out * (1.0 - through)
    late = kept * late_crossing(strength, wall_mpa, class0_mpa, halving_mpa, late_rate)
    return crossed + put_out * through + late, kept - late


@equation
def widen_and_deepen(
    depth: float,
    step: float,
    profile: float,
    limit: float,
    a: float,
    b: float,
    within: float,
    beyond: float,
    below: float,
) -> tuple[float, float, float, float]:
    """Roots deepen as far as ``limit``, then reach goes from ``a`` to ``b``.

    Returns
    -------
    tuple of float
        Root depth [m], depletion within reach, beyond reach and below the roots [mm].
    """
    deeper = min(step, max(limit - depth, 0.0))
    gain = deepening_gain(below, deeper, profile - depth)
    inside = within_after_reach(a, b, within + gain, beyond + gain)
    outside = beyond_after_reach(a, b, within + gain, beyond + gain)
    return depth + deeper, inside, outside, below - gain


@equation
def wet_zones(
    infiltration: float, a: float, within: float, beyond: float, below: float
) -> tuple[float, float, float, float]:
    """Water enters both parts; what either cannot hold drains on.

    Returns
    -------
    tuple of float
        Depletion within reach, beyond reach, below the roots, and deep percolation. [mm]
    """
    over_within = max(infiltration - within, 0.0)
    over_beyond = max(infiltration - beyond, 0.0)
    drained = a * over_within + (1.0 - a) * over_beyond
    percolation = max(drained - below, 0.0)
    return (
        max(within - infiltration, 0.0),
        max(beyond - infiltration, 0.0),
        max(below - drained, 0.0),
        percolation,
    )


@equation
def rise_into_zones(
    rise: float, a: float, within: float, beyond: float, below: float
) -> tuple[float, float, float, float]:
    """Water from the table fills the soil below the roots first, then both parts.

    Returns
    -------
    tuple of float
        Depletion within reach, beyond reach, below the roots, and what rose. [mm]
    """
    first = min(rise, below)
    rest = rise - first
    into_within = min(rest, within)
    into_beyond = min(rest, beyond)
    risen = first + a * into_within + (1.0 - a) * into_beyond
    return within - into_within, beyond - into_beyond, below - first, risen


@equation
def draw_and_mix(
    a: float,
    within: float,
    beyond: float,
    taw: float,
    evaporation: float,
    transpiration: float,
    diffusivity: float,
    half_row: float,
) -> tuple[float, float, float, float]:
    """The crop drinks within reach, air dries both parts, and water moves sideways.

    Returns
    -------
    tuple of float
        Depletion within and beyond reach [mm], evaporation and transpiration that the
        stores could give, averaged over the field [mm].
    """
    dry_within = min(evaporation, taw - within)
    dry_beyond = min(evaporation, taw - beyond)
    drunk = min(transpiration / a, taw - within - dry_within)
    inside = within + dry_within + drunk
    outside = beyond + dry_beyond
    mean = a * inside + (1.0 - a) * outside
    apart = (inside - outside) * exchange_rate(diffusivity, half_row, a)
    return (
        mean + (1.0 - a) * apart,
        mean - a * apart,
        a * dry_within + (1.0 - a) * dry_beyond,
        a * drunk,
    )


@equation
def zone_day(
    depth: float,
    step: float,
    profile: float,
    a: float,
    b: float,
    within: float,
    beyond: float,
    below: float,
    table: float,
    infiltration: float,
    evaporation: float,
    demand: float,
    table_p: float,
    available_mm_m: float,
    diffusivity: float,
    half_row: float,
    rise_factor: float,
    rise_exponent: float,
    rise_most: float,
    rise_farthest: float,
    yield_mm_m: float,
    drain: float,
    left: float,
) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    """One day of one twin's root zone.

    Parameters
    ----------
    depth, step, profile
        Root depth, today's deepening, deepest possible. [m]
    a, b
        Reach yesterday and today. [0-1]
    within, beyond, below
        Depletion within reach, beyond reach, below the roots. [mm]
    table, drain
        Depth of the water table and of what it goes back to. [m]
    left
        Share of the table's height over ``drain`` that is left after a day. [0-1]
    infiltration, evaporation, demand
        Of the day; ``demand`` is ``Kcb ET0``. [mm]

    Returns
    -------
    tuple of float
        depth [m], within, beyond, below [mm], table [m], Ks [-], p [-], and the day's
        evaporation, transpiration, percolation and rise [mm].
    """
    limit = deepest_root(profile, table)
    depth, within, beyond, below = widen_and_deepen(
        depth, step, profile, limit, a, b, within, beyond, below
    )
    within, beyond, below, percolation = wet_zones(infiltration, b, within, beyond, below)
    distance = table - depth
    possible = capillary_rise(distance, rise_factor, rise_exponent, rise_most, rise_farthest)
    within, beyond, below, risen = rise_into_zones(possible, b, within, beyond, below)
    table = table_depth(table, risen, percolation, yield_mm_m, drain, left)
    taw = total_available(available_mm_m, depth)
    p = depletion_fraction(table_p, demand + evaporation)
    ks = stress(within, taw, p)
    within, beyond, evaporated, transpired = draw_and_mix(
        b, within, beyond, taw, evaporation, ks * demand, diffusivity, half_row
    )
    return (
        depth,
        within,
        beyond,
        below,
        table,
        ks,
        p,
        evaporated,
        transpired,
        percolation,
        risen,
    )


@equation
def recent_use(before: float, today: float, weight: float) -> float:
    """What the field used on a day of late: a mean in which older days fade. [mm]

    Our choice: row ``recent_days`` of the season's table.
    """
    return before + weight * (today - before)


@equation
def water_in_reach(a: float, within: float, taw: float, p: float) -> float:
    """Water the roots can still take up before stress, over the field. [mm]

    ``p`` is that of the use of late, not of one day: a single hot day would call the same
    water gone, and a cool one call it plenty.
    """
    return a * clip(p * taw - within, 0.0, 1e6)
