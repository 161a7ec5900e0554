"""From layers to the values of our soil: weights worked out by hand, and a sentence for each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rootbound_rules.water.retention import retention
from rootbound_service.public.http import Unavailable
from rootbound_service.soil.mix import values_of
from rootbound_service.soil.profile import Layer, Profile

TOP = Layer(0, 20, 37, 39, 24, organic_matter_pct=3.5, field_capacity=0.271, wilting_point=0.149)
MIDDLE = Layer(
    20, 84, 38, 36, 26, organic_matter_pct=0.8, field_capacity=0.264, wilting_point=0.152
)
DEEP = Layer(84, 203, 42, 37, 21, field_capacity=0.23, wilting_point=0.121)
PROFILE = Profile("survey", "Clarion in Clarion loam", 80.0, (TOP, MIDDLE, DEEP))


def mixed(profile=PROFILE, **changes):
    """The values by name."""
    return {one.name: one for one in values_of(replace(profile, **changes), "USDA soil survey")}


def test_water_contents_are_weighted_by_depth_down_to_a_metre_and_a_half():
    found = mixed()

    # 20, 64 and 66 cm of the three layers
    capacity = (20 * 0.271 + 64 * 0.264 + 66 * 0.23) / 150
    wilting = (20 * 0.149 + 64 * 0.152 + 66 * 0.121) / 150
    assert found["field_capacity"].value == pytest.approx(capacity, abs=1e-4)
    assert found["wilting_point"].value == pytest.approx(wilting, abs=1e-4)
    assert found["field_capacity"].origin == (
        "USDA soil survey, Clarion in Clarion loam (80 % of the map unit): "
        "water at 33 kPa, mean over 150 of 150 cm, as stated"
    )


def test_clay_matter_and_texture_are_those_of_the_top_30_cm():
    found = mixed()

    assert found["clay_pct"].value == pytest.approx((20 * 24 + 10 * 26) / 30, abs=0.01)
    assert found["organic_matter_pct"].value == pytest.approx((20 * 3.5 + 10 * 0.8) / 30, abs=0.01)
    assert found["texture"].value == "loam"
    assert "37 % sand, 38 % silt, 25 % clay" in found["texture"].origin


def test_every_value_names_its_source_and_nothing_is_said_of_what_is_not_known():
    found = mixed()

    assert {one.source for one in found.values()} == {"survey"}
    assert "profile_depth_m" not in found
    assert "water_table_m" not in found


def test_a_layer_that_stops_roots_ends_the_profile_and_the_mean():
    found = mixed(restriction_cm=60.0)

    assert found["profile_depth_m"].value == 0.6
    assert "a layer that stops roots lies at 60 cm" in found["profile_depth_m"].origin
    capacity = (20 * 0.271 + 40 * 0.264) / 60
    assert found["field_capacity"].value == pytest.approx(capacity, abs=1e-4)


def test_a_layer_below_the_usual_profile_changes_nothing():
    assert mixed(restriction_cm=180.0).keys() == mixed().keys()


def test_a_stop_too_shallow_to_compute_with_is_taken_at_the_least_and_said():
    found = mixed(restriction_cm=12.0)["profile_depth_m"]

    assert found.value == 0.3
    assert "lies at 12 cm; taken as 0.3 m, the least we compute with" in found.origin


def test_a_spring_water_table_says_that_drains_are_not_counted():
    found = mixed(water_table_cm=130.0)["water_table_m"]

    assert found.value == 1.3
    assert found.origin.endswith("shallowest in spring, 130 cm as mapped, without drains")


def test_ground_that_is_wet_in_spring_is_taken_as_drained_and_that_is_said():
    found = mixed(water_table_cm=15.0)["water_table_m"]

    assert found.value == 1.0
    assert "15 cm as mapped, without drains; taken as 1 m, the usual depth of drains" in (
        found.origin
    )


def test_without_stated_water_contents_they_follow_from_grains_and_matter():
    bare = tuple(replace(one, field_capacity=None, wilting_point=None) for one in (TOP, MIDDLE))

    found = mixed(layers=bare)

    top, middle = retention(37, 24, 3.5), retention(38, 26, 0.8)
    capacity = (20 * top.field_capacity + 64 * middle.field_capacity) / 84
    assert found["field_capacity"].value == pytest.approx(capacity, abs=1e-4)
    assert found["field_capacity"].origin.endswith(
        "mean over 84 of 150 cm, from sand, clay and organic matter by Saxton & Rawls 2006"
    )


def test_of_a_thin_description_only_the_texture_is_taken():
    found = mixed(layers=(TOP,))

    assert found["texture"].value == "loam"
    assert "field_capacity" not in found


def test_the_surveys_own_word_stands_in_for_grains():
    layer = Layer(0, 30, texture="Loamy very fine sand")

    assert mixed(layers=(layer,))["texture"].value == "loamy sand"


@pytest.mark.parametrize(
    "layers",
    [
        (Layer(0, 100),),
        (Layer(0, 100, texture="Muck"),),
        # peat: more water than any mineral soil, and no grains
        (Layer(0, 150, organic_matter_pct=70, field_capacity=0.85, wilting_point=0.4),),
        (Layer(0, 150, field_capacity=0.1, wilting_point=0.3),),
        (Layer(0, 100, sand_pct=10, silt_pct=10, clay_pct=10),),
    ],
)
def test_layers_that_nothing_follows_from_are_refused(layers):
    with pytest.raises(Unavailable, match="neither water contents nor a texture") as refused:
        mixed(layers=layers)

    assert not refused.value.retry_later


def test_what_the_equations_do_not_bear_is_taken_at_their_limit_and_said():
    heavy = Layer(0, 150, 5, 25, 70, organic_matter_pct=12)

    found = mixed(layers=(heavy,))

    assert (found["clay_pct"].value, found["organic_matter_pct"].value) == (60.0, 8.0)
    assert "70.0 %, taken as the 60 % that the equations bear" in found["clay_pct"].origin
    assert found["texture"].value == "clay"


def test_grains_that_were_rounded_apart_are_brought_together():
    layer = Layer(0, 150, 40, 41, 21)

    assert mixed(layers=(layer,))["texture"].value == "loam"
