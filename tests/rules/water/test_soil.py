"""The soil of a field, from a texture's name or from measured water contents."""

from __future__ import annotations

import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.water.soil import soil_from_numbers, soil_from_texture, texture_names


@pytest.mark.parametrize("texture", texture_names())
def test_every_texture_makes_a_soil_a_season_can_run_on(texture):
    soil = soil_from_texture(texture)

    assert soil.texture == texture
    assert 0.0 < soil.wilting_point < soil.field_capacity < 0.6
    assert 0.0 < soil.rew_mm < 1000.0 * (soil.field_capacity - 0.5 * soil.wilting_point) * 0.1
    assert soil.diffusivity_cm2_d > 0.0
    assert soil.water_table_m is None


@pytest.mark.parametrize("spelling", ["Silty Clay Loam", "silty_clay_loam", " silty  clay-loam "])
def test_a_texture_is_known_in_any_spelling(spelling):
    assert soil_from_texture(spelling).texture == "silty clay loam"


def test_an_unknown_texture_is_refused_with_the_nearest_name_and_all_names():
    with pytest.raises(RulesError) as refused:
        soil_from_texture("silty lome")

    assert "'silty lome'" in str(refused.value)
    assert "did you mean" in str(refused.value)
    assert all(name in str(refused.value) for name in texture_names())


@pytest.mark.parametrize(
    ("field_capacity", "wilting_point"), [(0.15, 0.15), (0.10, 0.20), (0.30, 0.0), (0.75, 0.2)]
)
def test_water_contents_that_cannot_be_are_refused_with_what_is_wanted(
    field_capacity, wilting_point
):
    with pytest.raises(RulesError, match="wanted 0 < wilting point < field capacity"):
        soil_from_numbers(field_capacity, wilting_point)


@pytest.mark.parametrize("texture", texture_names())
def test_measured_numbers_of_a_class_borrow_the_rest_from_that_class(texture):
    known = soil_from_texture(texture)

    measured = soil_from_numbers(known.field_capacity, known.wilting_point)

    assert measured.texture == ""
    assert measured.rew_mm == known.rew_mm
    assert measured.curve_number == known.curve_number
    assert measured.diffusivity_cm2_d == known.diffusivity_cm2_d


def test_measured_numbers_with_a_texture_keep_both():
    soil = soil_from_numbers(0.33, 0.16, clay_pct=26.0, texture="clay loam", water_table_m=1.1)

    assert (soil.field_capacity, soil.wilting_point) == (0.33, 0.16)
    assert (soil.texture, soil.clay_pct, soil.water_table_m) == ("clay loam", 26.0, 1.1)


def test_more_organic_matter_and_more_clay_show_in_the_soil():
    assert soil_from_texture("loam", organic_matter_pct=5.0).field_capacity > (
        soil_from_texture("loam").field_capacity
    )
    assert soil_from_texture("loam", clay_pct=26.0).wilting_point > (
        soil_from_texture("loam").wilting_point
    )


def test_a_shallow_profile_is_kept():
    assert soil_from_texture("loam", profile_depth_m=0.9).profile_depth_m == 0.9
