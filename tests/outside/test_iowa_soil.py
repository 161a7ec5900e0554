"""The measured soil of Iowa, its sensors and cores, and the model's water beside them.

Outside sources: the Marsden farm near Ames, Iowa (public R package maRsden): cores of 2014,
sensors and weighed cores of 2018; Saxton & Rawls 2006 by a second program (ptfkit).
"""

from __future__ import annotations

import csv
from datetime import date
from statistics import fmean

import numpy as np
import pytest
from ptfkit.saxton2006 import calc_ptf_saxton2006

from rootbound_rules.season.trace_day import Twin
from seasons.sensor_days import SENSORS, day_means, may_cores, readings, weighed, wet_end
from seasons.sensor_fit import even, fit, model_points, tapered
from seasons.sensors import measure, measured_soil, section, sensor_days, trace_2018
from seasons.soil_data import (
    TEXTURE,
    field_capacity_by_layer,
    measured_layers,
    over,
    plots_between,
    saturation_by_layer,
    wilting_point_by_layer,
)

pytestmark = pytest.mark.skipif(
    not TEXTURE.exists() or not SENSORS.exists(),
    reason=f"there is no {TEXTURE}: real data are kept beside the project",
)


@pytest.fixture(scope="module")
def model():
    return measure(trace_2018(measured_soil()))


def test_layers_are_means_of_eight_plots():
    with TEXTURE.open(encoding="utf-8", newline="") as text:
        rows = [row for row in csv.DictReader(text) if row["depth_cm"] == "30-60"]
    layer = measured_layers()[2]

    assert (layer.top_cm, layer.bottom_cm, layer.plots) == (30, 60, 8)
    assert layer.clay_pct == pytest.approx(fmean(float(row["clay_prct"]) for row in rows))
    assert layer.density == pytest.approx(fmean(float(row["bulkden_g.cm3"]) for row in rows))


@pytest.mark.parametrize("which", range(4))
def test_water_contents_of_the_layers_are_those_of_a_second_program(which):
    layer = measured_layers()[which]
    other = calc_ptf_saxton2006(
        sand=0.01 * layer.sand_pct, clay=0.01 * layer.clay_pct, organic_matter=layer.om_pct
    )

    assert layer.normal.wilting_point == pytest.approx(other.theta_1500, abs=1e-4)
    assert layer.normal.field_capacity == pytest.approx(other.theta_33, abs=1e-4)


def test_loose_topsoil_holds_more_and_dense_subsoil_less_than_a_normal_soil():
    top, *_, bottom = measured_layers()

    assert top.density < top.normal.density
    assert top.saturation > top.normal.saturation
    assert bottom.density > bottom.normal.density
    assert bottom.saturation < bottom.normal.saturation
    for layer in measured_layers():
        assert layer.wilting_point < layer.field_capacity < layer.saturation < 0.6


def test_a_layered_quantity_between_depths_is_weighed_by_thickness():
    wet = field_capacity_by_layer()

    assert over(0, 15, wet) == pytest.approx(wet[(0, 15)])
    assert over(0, 30, wet) == pytest.approx(0.5 * (wet[(0, 15)] + wet[(15, 30)]))
    assert over(50, 70, wet) == pytest.approx(0.5 * (wet[(30, 60)] + wet[(60, 90)]))
    assert over(90, 150, wet) == pytest.approx(wet[(60, 90)])
    assert (
        over(0, 90, wilting_point_by_layer())
        < over(0, 90, wet)
        < over(0, 90, saturation_by_layer())
    )


def test_plots_are_four_of_each_rotation():
    rotations = [plot.rotation for plot in plots_between(0, 30).values()]

    assert sorted(rotations) == [2, 2, 2, 2, 4, 4, 4, 4]


def test_on_a_day_with_every_sensor_the_mean_is_the_plain_mean():
    read, day = readings(45), date(2018, 6, 20)
    plain = [water for (when, _), water in read.items() if when == day]

    assert len(plain) == 8
    assert day_means(45)[day] == pytest.approx(fmean(plain), abs=1e-6)


def test_a_sensor_that_fails_moves_the_mean_far_less_than_it_would():
    """Plot 34 stands far above the others and fails from 12 July on."""
    read, means = readings(15), day_means(15)
    before, after = date(2018, 7, 11), date(2018, 7, 12)
    left = [water for (day, _), water in read.items() if day == after]
    plain = fmean(x for (day, _), x in read.items() if day == before) - fmean(left)
    same = [plot for day, plot in read if day == after]
    fall = fmean(read[(before, plot)] - read[(after, plot)] for plot in same)

    assert len(left) == 7
    assert abs(plain - fall) > 0.008
    assert abs(means[before] - means[after] - fall) < 0.5 * abs(plain - fall)


def test_sensor_days_begin_in_may_and_end_in_october():
    days = sensor_days()

    assert (min(days), max(days), len(days)) == (date(2018, 5, 19), date(2018, 10, 1), 136)
    assert {plots for _, _, plots in days.values()} <= {6, 7, 8}


@pytest.mark.parametrize("depth", [15, 45])
def test_sensors_dry_between_the_limits_of_the_soil_and_never_fill_its_pores(depth):
    end, full = wet_end(depth), over(depth - 0.1, depth + 0.1, saturation_by_layer())

    assert end.driest < end.after_rain < end.filled < end.plateau < full - 0.08


def test_weighed_cores_that_cannot_be_right_are_left_out():
    assert weighed("-0.029") is None
    assert weighed("0.597") is None
    assert weighed("NA") is None
    assert may_cores().cores == 25


def test_a_week_after_rain_the_soil_lies_between_wilting_point_and_field_capacity():
    cores = may_cores()

    assert over(0, 45, wilting_point_by_layer()) < cores.low
    assert cores.high < over(0, 45, field_capacity_by_layer())


def test_taken_even_or_tapered_the_root_zone_lacks_the_same_water():
    depths = np.linspace(0.0, 1.2, 4001)
    for taken in (even, tapered):
        lacking = [taken(60.0, 1.2, at) for at in depths]
        assert 1200.0 * np.mean(lacking) == pytest.approx(60.0, rel=1e-3)
    upper = [tapered(60.0, 1.2, at) for at in depths if at < 0.6]
    assert 600.0 * np.mean(upper) == pytest.approx(0.7 * 60.0, rel=1e-3)


def test_a_point_below_the_roots_reads_the_store_below_them():
    twin = Twin(depth=0.3, within=30.0, beyond=30.0, below=45.0, table=100.0)
    upper, lower = model_points(twin, measured_layers(), 1.2, even)
    wet = field_capacity_by_layer()

    assert upper == pytest.approx(0.5 * (wet[(0, 15)] + wet[(15, 30)]) - 0.1)
    assert lower == pytest.approx(wet[(30, 60)] - 0.05)


def test_a_fit_tells_a_shift_from_a_scatter():
    told = fit([0.2, 0.3, 0.25], [0.25, 0.35, 0.30])

    assert told.rmse == pytest.approx(0.05)
    assert told.bias == pytest.approx(0.05)
    assert told.unbiased == pytest.approx(0.0, abs=1e-9)
    assert told.correlation == pytest.approx(1.0)


def test_the_model_follows_the_sensors_but_for_their_level(model):
    assert model.fits["even"].unbiased < 0.04
    assert model.fits["even"].correlation > 0.6
    assert model.fits["even"].rmse < 0.075


def test_in_dry_july_the_model_dries_though_less_than_the_sensors(model):
    assert model.drawn_mm["sensors"] == pytest.approx(81.0, abs=2.0)
    assert 25.0 < model.drawn_mm["even"] < model.drawn_mm["tapered"] < 100.0


def test_the_section_has_a_number_wherever_one_belongs(model):
    told = section(model)

    assert "nan" not in told
    assert told.startswith("## ")
