"""Cone readings of Iowa beside the law of strength, and that law beside two others.

Outside sources: the Marsden farm near Ames, Iowa (public R package maRsden); da Silva & Kay
1997; Whalley et al. 2007; Silva, Tormena, Fidalski & Imhoff 2008.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from rootbound_rules.crop.wall import drying_exponent
from rootbound_rules.tables import load_table
from rootbound_rules.water.soil import soil_from_texture
from seasons.cone import READINGS, SENSOR_ERROR, law_mpa, probes, read_cone
from seasons.drying_laws import TEXTURES, drying_by, effects, exponents
from seasons.strength import measure, section

measured_here = pytest.mark.skipif(
    not READINGS.exists(), reason=f"there is no {READINGS}: real data are kept beside the project"
)


@pytest.fixture(scope="module")
def cone():
    return read_cone()


@pytest.mark.parametrize(
    ("clay", "carbon", "density", "water", "mpa"),
    [
        pytest.param(20, 2.0, 1.2, 0.308, 0.37, id="loose"),
        pytest.param(20, 2.0, 1.4, 0.305, 0.93, id="normal"),
        pytest.param(20, 2.0, 1.6, 0.302, 2.06, id="packed"),
        pytest.param(30, 2.5, 1.4, 0.370, 0.84, id="finer"),
        pytest.param(26, 2.0, 1.25, 0.300, 0.59, id="Iowa"),
    ],
)
def test_the_whole_equation_gives_the_values_worked_from_it(clay, carbon, density, water, mpa):
    """Worked by hand from the coefficients of da Silva & Kay 1997."""
    assert law_mpa(clay, carbon, density, water) == pytest.approx(mpa, abs=0.006)


def test_the_model_dries_as_the_whole_equation_does():
    wet, dry = law_mpa(27, 2.1, 1.3, 0.31), law_mpa(27, 2.1, 1.3, 0.22)

    assert math.log(dry / wet) / math.log(0.22 / 0.31) == pytest.approx(drying_exponent(27, 2.1))


def test_three_published_laws_agree_on_sandy_loam():
    assert exponents("sandy loam").factors == pytest.approx((1.0, 1.0), abs=0.12)


@pytest.mark.parametrize("texture", [name for name in TEXTURES if name != "sandy loam"])
def test_on_finer_soil_the_other_laws_have_about_half_the_exponent(texture):
    low, high = sorted(exponents(texture).factors)

    assert 0.4 < low < high < 0.75


@pytest.mark.parametrize("factor", [1.0, 0.7, 0.5])
def test_a_soil_can_be_given_a_share_of_its_exponent(factor):
    soil = soil_from_texture("clay loam")
    carbon = load_table("wall").number("wall.carbon_share") * soil.organic_matter_pct
    like = drying_by(soil, factor)

    assert drying_exponent(like.clay_pct, carbon) == pytest.approx(
        factor * drying_exponent(soil.clay_pct, carbon)
    )


@measured_here
def test_readings_of_may_2018_are_those_told_of_them(cone):
    """0.68 to 0.75 MPa from 10 to 20 cm, depth by depth."""
    by_depth = [
        np.mean(
            [push.kpa for push in probes((depth - 0.1, depth + 0.1)) if push.date == "2018-05-10"]
        )
        for depth in (10.16, 12.70, 15.24, 17.78, 20.32)
    ]

    assert [0.001 * kpa for kpa in by_depth] == pytest.approx(
        [0.68, 0.70, 0.73, 0.75, 0.75], abs=0.006
    )
    assert cone.days[0].mean == pytest.approx(0.73, abs=0.01)
    assert [day.plots for day in cone.days] == [8, 8, 8, 8]


@measured_here
def test_the_slope_between_cores_is_that_of_a_second_program(cone):
    stats = pytest.importorskip("scipy.stats")
    cores = [push for push in probes((10.0, 20.4)) if push.water is not None]
    other = stats.linregress(np.log([c.water for c in cores]), np.log([c.kpa for c in cores]))

    assert len(cores) == 25  # of 27 weighed, two cannot be right
    assert cone.slopes["10-20 cm"].slope == pytest.approx(other.slope)
    half = 0.5 * (cone.slopes["10-20 cm"].high - cone.slopes["10-20 cm"].low)
    assert half == pytest.approx(stats.t.ppf(0.975, 23) * other.stderr)


@measured_here
def test_cores_of_one_day_are_flatter_than_the_law(cone):
    for found in cone.slopes.values():
        assert found.low > cone.exponent


@measured_here
def test_the_change_from_may_to_july_is_within_what_the_sensors_leave_to_the_law(cone):
    most = ((cone.july_water - SENSOR_ERROR) / cone.may_water) ** cone.exponent
    least = ((cone.july_water + SENSOR_ERROR) / cone.may_water) ** cone.exponent

    assert least < cone.change["both"].low
    assert cone.change["both"].high < most


@measured_here
def test_the_law_is_harder_than_the_readings_by_half_at_most(cone):
    law = np.mean([of_law for of_law, _ in cone.law.values()])
    read = np.mean([of_cone for _, of_cone in cone.law.values()])

    assert 1.0 < law / read < 1.6


@measured_here
def test_a_wall_that_hardens_less_lets_more_roots_through():
    found = effects("loam", years=(1988, 1999))

    for wall_class in (1, 2, 3):
        through = [x.crossed for x in found if x.wall_class == wall_class]
        extra = [x.extra for x in found if x.wall_class == wall_class]
        assert all(fewer < more for fewer, more in pairwise(through))
        assert all(more > less - 0.05 for more, less in pairwise(extra))  # a firm wall costs none


@measured_here
def test_the_section_has_a_number_wherever_one_belongs():
    told = section(measure(years=(1988,)))

    assert "nan" not in told.replace("maRsden", "")
    assert told.count("\n| 2018-") == 4
