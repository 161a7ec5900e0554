"""Bad field files: every problem of them is told, in the words of the file."""

from __future__ import annotations

import pytest

WEATHER = ("date,tmax_c,tmin_c,rain_mm", "2021-05-05,20,10,0", "2021-05-06,21,11,3")
SHARE = "give the depleted share of the available water, 0 to 1"


def refused(desk, text: str) -> list[str]:
    """What is said of a field's file, which must be refused."""
    result = desk.trace(desk.field(text), desk.text(*WEATHER))

    assert (result.exit_code, result.stdout) == (1, "")
    return [line.removeprefix("rootbound: ") for line in result.stderr.splitlines()]


@pytest.mark.parametrize("value", ["1.4", "-0.1", "nan", "true", '"half"'])
def test_a_start_that_is_no_share_is_refused(desk, field_text, value) -> None:
    (said,) = refused(desk, f"{field_text}[start]\ndepletion_fraction = {value}\n")

    assert said.startswith("[start] depletion_fraction: is ")
    assert said.endswith(f"; {SHARE}")


def test_an_unknown_key_is_named_with_the_nearest(desk, field_text) -> None:
    said = refused(desk, field_text.replace("texture", "textur"))

    assert said == ["[soil] textur: is not a known name; did you mean texture?"]


def test_an_unknown_key_of_the_start_is_named(desk, field_text) -> None:
    said = refused(desk, f"{field_text}[start]\ndepletion = 0.3\n")

    assert said == ["[start] depletion: is not a known name; did you mean depletion_fraction?"]


def test_a_field_without_soil_is_refused(desk, field_text) -> None:
    (said,) = refused(desk, field_text.replace('[soil]\ntexture = "silt loam"\n', ""))

    wanted = "name a texture, for example silt loam, or give field_capacity and wilting_point"
    assert said == f"[soil] texture: no soil is given; {wanted}"


def test_a_pan_without_its_depth_is_refused(desk, field_text, dig_text) -> None:
    (said,) = refused(desk, f"{field_text}{dig_text}pan_class = 2\n")

    wanted = "say how deep the top of the pan lies, 2 to 80 cm"
    assert said == f"[[dig]] 1, pan_depth_cm: is missing for the pan; {wanted}"


def test_a_crop_without_a_table_is_refused_with_those_there_are(desk, field_text) -> None:
    said = refused(desk, field_text.replace("maize", "oats"))

    assert said == ['[season] crop: "oats" is not a known crop; known: maize, soybean, sorghum']


def test_a_misspelt_crop_is_guessed(desk, field_text) -> None:
    (said,) = refused(desk, field_text.replace("maize", "soyabean"))

    assert "did you mean soybean? known: " in said


def test_all_problems_of_season_and_digs_are_told_at_once(desk, field_text, dig_text) -> None:
    text = field_text.replace("lat = 41.0", "lat = 141.0").replace("2021-05-05", '"spring"')

    said = refused(desk, text + dig_text.replace("wall_class = 3", "wall_class = 7"))

    assert [line.split(":")[0] for line in said] == [
        "[season] planted",
        "[field] lat",
        "[[dig]] 1, wall_class",
    ]


def test_a_file_that_is_no_toml_is_refused(desk) -> None:
    (said,) = refused(desk, "name = \n")

    assert said.startswith("field.toml: is not a TOML file: ")
