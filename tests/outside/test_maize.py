"""Heat units, stages and roots of maize as bulletins and papers print them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from outside.cases import NOTHING, Case, answered, cases, unaccounted
from rootbound_rules.crop.heat import corn_heat_units, gdd_f
from rootbound_rules.crop.roots import front_rate
from rootbound_rules.crop.stages import collars, emergence_gdd, late_planting_r6
from rootbound_rules.crop.table import Stages, crop_table, stages_of
from rootbound_rules.season.values import FieldSeason
from rootbound_rules.water.soil import soil_from_texture

PUBLISHED = cases("maize.csv")
MAIZE = crop_table("maize")
COLD = -40.0
"""Degrees at which one half of the corn heat units is nil. [degC]"""


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def heat(tmax_f: float, tmin_f: float) -> float:
    """Our heat units of a day given in Fahrenheit, with the table's own limits."""
    base, ceiling = MAIZE.number("heat.base_f"), MAIZE.number("heat.ceiling_f")
    return gdd_f(celsius(tmax_f), celsius(tmin_f), base, ceiling)


def of_row(key: str, end: str | None) -> float:
    """The value of a row, or the end of its range that a source stands for."""
    row = MAIZE.row(key)
    if end is None:
        return row.number
    assert end == "high"
    assert row.high is not None
    return row.high


def stages(planted: date = date(2021, 5, 1), **given: Any) -> Stages:
    soil = soil_from_texture("loam")
    return stages_of(FieldSeason(lat=40.0, elevation_m=300.0, planted=planted, soil=soil, **given))


def stage(i: dict[str, Any]) -> float:
    """Heat units at which our table has a stage."""
    ours = stages(black_layer_gdd_f=float(i["black_layer"]))
    names = {"R1": "silk", "R6": "black_layer"}
    return ours.at(names.get(i["stage"], i["stage"]))


def collar(i: dict[str, Any]) -> float:
    rates = (MAIZE.number(f"collar.{name}") for name in ("early", "late", "turn", "last"))
    return collars(i["gdd"], i["emergence"], *rates)


def emerged(i: dict[str, Any]) -> float:
    rows = (MAIZE.number(f"emergence.{name}") for name in ("per_inch", "free_depth_in"))
    return emergence_gdd(i["base"], 2.54 * i["depth_in"], *rows, i.get("extra", 0.0))


def root_front(i: dict[str, Any]) -> float:
    rows = ("early_m_d", "late_m_d", "turn_collar", "last_collar")
    return 100.0 * front_rate(i["collar"], *(MAIZE.number(f"roots.front_{r}") for r in rows), 1.0)


def late_planted(i: dict[str, Any]) -> float:
    cut = MAIZE.number("stage.late_planting_cut")
    return late_planting_r6(i["black_layer"], i["days_late"], cut)


ANSWERS: dict[str, Callable[[dict[str, Any]], float]] = {
    "heat units": lambda i: heat(i["tmax_f"], i["tmin_f"]),
    "heat units of days": lambda i: sum(heat(*day) for day in i["days"]),
    "corn heat units": lambda i: corn_heat_units(i["tmax_c"], i["tmin_c"]),
    "day half of corn heat units": lambda i: 2.0 * corn_heat_units(i["tmax_c"], COLD),
    "night half of corn heat units": lambda i: 2.0 * corn_heat_units(COLD, i["tmin_c"]),
    "collars": collar,
    "emergence at depth": emerged,
    "stage": stage,
    "late planting": late_planted,
    "crop table": lambda i: of_row(i["row"], i.get("end")),
    "root front": root_front,
}
RANGED = "stated range"
NOT_ANSWERED = {
    "heat units, mean first": "method 1 of McMaster & Wilhelm; we take method 2 everywhere",
    "NCH-40 leaf stage": "its leaves run ahead of collars; ours follow 82 and 50 per collar",
    "full dent": "R5 is one stage here, from its beginning",
    "Wisconsin stage": "for RM 95-105 and its own leaf count; shown beside, not followed",
}


@pytest.mark.parametrize("case", answered(PUBLISHED, NOT_ANSWERED | {RANGED: ""}))
def test_our_function_gives_the_published_number(case: Case):
    case.check(ANSWERS[case.quantity](case.inputs))


@pytest.mark.parametrize(
    "case", [pytest.param(c, id=c.id) for c in PUBLISHED if c.quantity == RANGED]
)
def test_a_source_that_differs_lies_in_the_range_our_row_states(case: Case):
    row = MAIZE.row(case.inputs["row"])

    assert row.low is not None
    assert row.low <= case.expected <= row.high, case.source


def test_every_value_carried_is_answered_or_says_why_not():
    assert unaccounted(PUBLISHED, ANSWERS | {RANGED: ...}, NOT_ANSWERED) == NOTHING


def test_a_wrong_published_day_is_not_followed():
    """A farm-press article gives 17.5 for 90/55; by its own rule 86 and 55 make 20.5."""
    assert heat(90, 55) == pytest.approx(20.5)
    assert abs(heat(90, 55) - 17.5) > 2.5


@pytest.mark.parametrize("case", [c for c in PUBLISHED if c.quantity == "heat units, mean first"])
def test_heat_units_never_fall_below_those_of_the_mean_first(case: Case):
    """McMaster & Wilhelm 1997: method 1 is under method 2 where only the night is cold."""
    ours, only_night_is_cold = heat(**case.inputs), case.inputs["tmin_f"] < 50

    assert (ours > case.expected) == only_night_is_cold
    assert ours >= case.expected - 1e-9


@pytest.mark.parametrize("first", [2500.0, 2700.0, 2800.0])
def test_collars_and_silk_keep_their_order_under_every_published_maturity(first):
    """Indiana hybrids run from 2500 to 2800 to black layer; the tassel stays between the two."""
    ours = stages(black_layer_gdd_f=first)
    order = [ours.emergence, ours.at_collar(10), *ours.starts]

    assert order == sorted(order)


def test_a_field_planted_on_31_may_needs_less_than_2500_only_where_the_switch_is_on():
    """Nielsen et al. 2002: 2700 - 30 x 6.8 = 2496, eastern Corn Belt."""
    last_of_may = date(2021, 5, 31)

    assert stages(last_of_may, late_planting_cut=True).at("black_layer") == pytest.approx(2496.0)
    assert stages(last_of_may).at("black_layer") == 2700.0


def test_the_tassel_lies_in_the_range_its_row_states_with_every_published_total():
    """NCH-40 has 1135, Wisconsin 1200, Delaware saw 1231-1322; ours stands at its late end."""
    row, silk = MAIZE.row("stage.tassel_before_silk"), stages().at("silk")

    for published in (1200.0, 1231.0, 1322.0):
        assert row.low <= silk - published <= row.high
    assert stages().at("tassel") == silk - row.number
