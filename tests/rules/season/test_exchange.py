"""The sideways exchange of two zones against diffusion on a fine grid across half a row.

The reference solves ``dD/dt = Dbar d2D/dx2`` between row and mid-row, nothing crossing either
end, by the matrix exponential of 200 cells. In one the roots keep the soil within reach mixed,
which is the slab that the zones' rate stands for; in the other nothing mixes it.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh

from rootbound_rules.season.step import draw_and_mix
from rootbound_rules.water.soil import soil_from_texture

CELLS = 200
DAYS = np.array([1, 2, 3, 5, 10, 20, 40])
CASES = [(t, w) for t in ("sand", "silt loam", "clay") for w in (38.0, 76.0)]


@pytest.mark.parametrize(("texture", "row_cm"), CASES)
@pytest.mark.parametrize(("reach", "most"), [(0.2, 0.50), (0.5, 0.20), (0.8, 0.08)])
def test_a_difference_once_made_evens_out_as_on_a_fine_grid(
    texture, row_cm, reach, most, record_property
):
    """Errors over days 1 to 40, as shares of the first difference between the zones.

    Measured worst, mixed / not mixed: 0.46 / 0.42 at reach 0.2, 0.17 / 0.07 at 0.5,
    0.04 / 0.06 at 0.8. The first days are always an undershoot: a slab's faster modes,
    which one rate leaves out, carry most water while the edge between the zones is sharp.
    """
    rate = soil_from_texture(texture).diffusivity_cm2_d
    short = _zones(rate, row_cm / 2, reach)
    mixed = np.abs(short - _fine(rate, row_cm / 2, reach, mixed=True)).max()
    still = np.abs(short - _fine(rate, row_cm / 2, reach, mixed=False)).max()
    record_property("mixed", float(mixed))
    record_property("still", float(still))
    assert max(mixed, still) < most, f"mixed {mixed:.3f}, not mixed {still:.3f}"


@pytest.mark.parametrize("texture", ["silt loam", "clay"])
@pytest.mark.parametrize(
    ("reach", "least", "most"), [(0.2, 2.8, 3.8), (0.5, 1.7, 2.4), (0.8, 1.0, 1.6)]
)
def test_roots_that_drink_steadily_draw_too_little_from_beyond_by_a_known_factor(
    texture, reach, least, most, record_property
):
    """1 mm a day over the field for 40 days: how much drier the soil within reach becomes.

    A slab whose face is held gives ``dDn/dt = k (Ds - Dn)``; two zones of shares A and 1 - A
    that share their water then close on each other at ``k / A``. The daily model closes them
    at ``k``, so the held soil dries too fast: measured 3.3 times the fine grid's difference at
    reach 0.2, 2.0 at 0.5, 1.3 at 0.8. With ``k / A`` it would be 1.3, 1.2 and 1.1. Kept as the
    model states it, and known here: it errs towards an early warning.
    """
    rate = soil_from_texture(texture).diffusivity_cm2_d
    fine, zones = _drawn_fine(rate, 38.0, reach), _drawn_zones(rate, 38.0, reach)
    record_property("times_too_dry", zones / fine)
    assert least < zones / fine < most, f"zones {zones:.1f} mm, fine {fine:.1f} mm"


def _drawn_zones(rate, half, reach):
    """Difference of the zones after 40 days of a steady draw. [mm]"""
    within = beyond = 0.0
    for _ in range(DAYS[-1]):
        within, beyond, _, _ = draw_and_mix(reach, within, beyond, 1e6, 0.0, 1.0, rate, half)
    return within - beyond


def _drawn_fine(rate, half, reach, steps=20):
    """The same on the grid, the soil within reach mixed, in implicit steps. [mm]"""
    sizes, flow = _grid(rate, half, reach, mixed=True)
    forward = np.linalg.inv(np.diag(sizes) - flow / steps)
    state = np.zeros(len(sizes))
    for _ in range(DAYS[-1] * steps):
        taken = sizes * state
        taken[0] += half / steps
        state = forward @ taken
    return state[0] - np.average(state[1:], weights=sizes[1:])


def _zones(rate, half, reach):
    """Depletion within reach after each day, of 1 within and 0 beyond at first."""
    within, beyond, found = 1.0, 0.0, []
    for _ in range(DAYS[-1]):
        within, beyond, _, _ = draw_and_mix(reach, within, beyond, 10.0, 0.0, 0.0, rate, half)
        found.append(within)
    return np.array(found)[DAYS - 1]


def _fine(rate, half, reach, *, mixed):
    """The same by diffusion on a grid; ``mixed`` joins the cells within reach to one."""
    inside = 1 if mixed else round(CELLS * reach)
    sizes, flow = _grid(rate, half, reach, mixed=mixed)
    root = np.sqrt(sizes)
    values, vectors = eigh(flow / np.outer(root, root))
    first = np.zeros(len(sizes))
    first[:inside] = 1.0
    modes = vectors.T @ (root * first)
    after = (vectors @ (np.exp(np.outer(values, DAYS)) * modes[:, None])) / root[:, None]
    return (sizes[:inside, None] * after[:inside]).sum(axis=0) / sizes[:inside].sum()


def _grid(rate, half, reach, *, mixed):
    """Widths of the cells and the flow between them."""
    inside, wide = round(CELLS * reach), half / CELLS
    sizes = np.full(CELLS, wide)
    if mixed:
        sizes = np.concatenate([[inside * wide], sizes[inside:]])
    between = np.full(len(sizes) - 1, rate / wide)
    if mixed:
        between[0] = 2.0 * rate / wide  # from the face of the mixed soil to the first middle
    flow = np.zeros((len(sizes), len(sizes)))
    i = np.arange(len(between))
    flow[i, i + 1] = flow[i + 1, i] = between
    return sizes, flow - np.diag(flow.sum(axis=1))
