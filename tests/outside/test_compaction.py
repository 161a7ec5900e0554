"""Soil strength, roots and the furrow wall as papers have them, and the spread of a count."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from outside.cases import NOTHING, Case, answered, cases, unaccounted
from rootbound_rules.crop.dig import crossed_share
from rootbound_rules.crop.wall import crossing_share, drying_exponent, elongation, relative_strength
from rootbound_rules.tables import load_table
from rootbound_rules.water.rootzone import exchange_rate

PUBLISHED = cases("compaction.csv")


def strength(i: dict[str, Any]) -> float:
    """Strength at a water content, from that at field capacity."""
    exponent = drying_exponent(i["clay_pct"], i["OC_pct"])
    return i["Q_fc"] * relative_strength(0.0, i["theta"] / i["FC"], exponent)


def escape(i: dict[str, Any]) -> float:
    """Share of today's axes that cross, relative to a wall that crumbles."""
    exponent = drying_exponent(i["clay_pct"], i["OC_pct"])
    today = relative_strength(i["W"], i["WP"] / i["FC"], exponent)
    return crossing_share(today, i["Q"], i["Q0"], i["Q50"])


def half_width(crossing: float, held: float) -> float:
    """Half of the middle 95 % of our posterior."""
    low, high = (crossed_share(crossing, held, q) for q in (0.025, 0.975))
    return 0.5 * (high - low)


def diffusivity(i: dict[str, Any]) -> float:
    return load_table("soils").number(f"{i['texture'].replace(' ', '_')}.diffusivity_cm2_d")


def bracket(i: dict[str, Any]) -> float:
    row = load_table("wall").row("wall.halving_mpa")
    return {"low": row.low, "high": row.high}[i["end"]] or math.nan


ANSWERS: dict[str, Callable[[dict[str, Any]], float]] = {
    "wall threshold": lambda i: load_table("wall").numbers("wall.resistance_mpa")[i["wall_class"]],
    "drying exponent": lambda i: drying_exponent(i["clay_pct"], i["OC_pct"]),
    "strength in drying soil": strength,
    "elongation": lambda i: elongation(i["Q_MPa"], i["Q50_MPa"]),
    "relative escape": escape,
    "sideways rate": lambda i: -math.log(exchange_rate(i["D"], i["L"], 0.0)),
    "diffusivity": diffusivity,
    "halving bracket": bracket,
}
NOT_ANSWERED = {
    "half-width of a share": "normal approximation; ours is the narrower posterior, tested below",
    "f_psi": "suction has no term of its own: strength already rises as the wall dries",
    "rain_to_rewet_wall": "the wall's water is that of the 0.10 m top layer, not of 0.08 m",
    "smoothed_reach": "a reading of the same diffusivity; the sideways rate is answered",
    "whalley2007_Q": "units of suction are in doubt in the only copy seen",
    "vaz2011_LVAd_Q": "fitted on one tropical soil; its water basis is not stated",
    "dsk_theta": "retention is that of Saxton & Rawls, not of this paper",
}


@pytest.mark.parametrize("case", answered(PUBLISHED, NOT_ANSWERED))
def test_our_function_gives_the_published_number(case: Case):
    case.check(ANSWERS[case.quantity](case.inputs))


def test_every_value_carried_is_answered_or_says_why_not():
    assert unaccounted(PUBLISHED, ANSWERS, NOT_ANSWERED) == NOTHING


def test_our_middle_resistance_is_the_geometric_middle_of_the_published_bracket():
    """Bengough et al. 2011: elongation halves at 0.8 to 2 MPa."""
    row = load_table("wall").row("wall.halving_mpa")

    assert row.number == pytest.approx(math.sqrt(0.8 * 2.0), abs=0.01)


WIDTHS = [pytest.param(c, id=c.id) for c in PUBLISHED if c.quantity == "half-width of a share"]


@pytest.mark.parametrize("case", WIDTHS)
def test_the_spread_of_a_count_is_a_little_under_the_normal_approximation(case: Case):
    n = case.inputs["n"]
    ours = half_width(n / 2, n / 2)

    assert ours < case.expected
    assert ours == pytest.approx(1.96 * math.sqrt(0.25 / (n + 2)), abs=0.02)  # sd of the Beta


@pytest.mark.parametrize("quantile", [0.025, 0.1, 0.5, 0.9, 0.975])
def test_without_a_root_counted_the_posterior_is_the_arcsine_law(quantile):
    """Beta(1/2, 1/2), the Jeffreys prior: its quantile is sin^2(pi q / 2)."""
    assert crossed_share(0, 0, quantile) == pytest.approx(math.sin(0.5 * math.pi * quantile) ** 2)


@pytest.mark.parametrize("quantile", [0.05, 0.5, 0.95])
@pytest.mark.parametrize("roots", [1, 7, 40])
def test_with_a_flat_prior_and_one_kind_of_root_the_posterior_has_a_closed_form(quantile, roots):
    """Beta(n + 1, 1): its quantile is q^(1/(n + 1))."""
    wanted = quantile ** (1 / (roots + 1))

    assert crossed_share(roots, 0, quantile, prior=1.0) == pytest.approx(wanted)
    assert crossed_share(0, roots, 1 - quantile, prior=1.0) == pytest.approx(1 - wanted)
