"""One field: what is wrong with it is said in a sentence, all of it at once."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, date, datetime

import pytest

from rootbound_rules.season.values import FieldSeason
from rootbound_service.intake.fields import USUAL, field_record
from rootbound_service.records import FieldRecord, Person, SoilRecord

LAND = "give the place of the field in degrees, for example lat 42.03, lon -93.62"
PERSON = 'write the name and the mail address as "Name <name@example.org>"'

WRONG = {
    "in the ocean": (
        {"lat": "30", "lon": "-40"},
        f"lon: lat 30, lon -40 is in the ocean; {LAND}",
    ),
    "in antarctica": (
        {"lat": "-75", "lon": "-61"},
        f"lon: lat -75, lon -61 is in Antarctica or its sea; {LAND}",
    ),
    "swapped beyond the pole": (
        {"lat": "-93.62", "lon": "42.03"},
        (
            "lon: latitude and longitude look swapped: did you mean lat 42.03, lon -93.62?; "
            "latitude counts north of the equator, longitude east of Greenwich"
        ),
    ),
    "swapped into the southern sea": (
        {"lat": "-88.2", "lon": "40.1"},
        (
            "lon: latitude and longitude look swapped: did you mean lat 40.1, lon -88.2?; "
            "latitude counts north of the equator, longitude east of Greenwich"
        ),
    ),
    "beyond the pole": (
        {"lat": "99", "lon": "170"},
        "lat: 99 is beyond the pole; latitude is -90 to 90 degrees",
    ),
    "not finite": (
        {"lat": float("nan")},
        'lat: "nan" is not a finite number; latitude is -90 to 90 degrees',
    ),
    "planted in the future": (
        {"planted": "2026-07-15"},
        (
            "planted: 2026-07-15 is in the future (today is 2026-07-14); "
            "enrol the field on the day it is planted or after"
        ),
    ),
    "planted two years back": (
        {"planted": "2024-05-04"},
        (
            "planted: 2024-05-04 is 801 days back, the season it belongs to is over; "
            "give the planting day of this season, at most 300 days back"
        ),
    ),
    "not a day": (
        {"planted": "5/4/2026"},
        'planted: "5/4/2026" is not a day; write the day as year-month-day, for example 2026-05-04',
    ),
    "not in the calendar": (
        {"planted": "2026-02-30"},
        (
            'planted: "2026-02-30" is not in the calendar; '
            "write the day as year-month-day, for example 2026-05-04"
        ),
    ),
    "a negative rate": (
        {"row_spacing_cm": "-76"},
        "row_spacing_cm: -76 is negative; row spacing is 18 to 150 cm, never negative",
    ),
    "a decimal comma": (
        {"seed_depth_cm": "4,5"},
        'seed_depth_cm: "4,5" has a decimal comma; write 4.5 with a point',
    ),
    "thousands": (
        {"black_layer_gdd_f": "2,700"},
        (
            'black_layer_gdd_f: "2,700" has a comma; '
            "write 2.700 with a point, or 2700 if it is thousands"
        ),
    ),
    "rows in the wrong unit": (
        {"row_spacing_cm": "760"},
        "row_spacing_cm: 760 is above what it can be; row spacing is 18 to 150 cm",
    ),
    "rows in both units": (
        {"row_spacing_cm": "76", "row_spacing_in": "30"},
        "row_spacing_in: is given beside row_spacing_cm; give one of the two units, not both",
    ),
    "seed tag misread": (
        {"black_layer_gdd_f": "105"},
        (
            "black_layer_gdd_f: 105 is below what it can be; "
            "heat units to black layer is 1500 to 3600 (on the seed tag)"
        ),
    ),
    "unknown texture": (
        {"texture": "silty lome"},
        (
            'texture: "silty lome" is not a known soil texture; did you mean silt loam? '
            "known: sand, loamy sand, sandy loam, loam, silt loam, silt, sandy clay loam, "
            "clay loam, silty clay loam, sandy clay, silty clay, clay"
        ),
    ),
    "half a soil": (
        {"field_capacity": "0.3"},
        "wilting_point: is missing beside field_capacity; give both or neither",
    ),
    "soil upside down": (
        {"field_capacity": "0.15", "wilting_point": "0.32"},
        (
            "wilting_point: 0.32 is not below the field capacity, 0.15; "
            "a wilting point is smaller than the field capacity"
        ),
    ),
    "no name": ({"name": " "}, "name: is missing; give the field a name of 1 to 80 characters"),
    "name too long": (
        {"name": "x" * 81},
        "name: has 81 characters; a field name is text of 1 to 80 characters",
    ),
    "name with a line end": (
        {"name": "North\nBcc: all"},
        (
            'name: "North Bcc: all" holds a line end or a control character; '
            "a field name is text of 1 to 80 characters"
        ),
    ),
    "grower without name": (
        {"grower": "<ada@quill.example>"},
        f"grower: the name is missing before the mail address; {PERSON}",
    ),
    "grower without address": (
        {"grower": "Ada Quill"},
        f'grower: "Ada Quill" is not a name with a mail address; {PERSON}',
    ),
    "unknown key": (
        {"plantd": "2026-05-04"},
        "plantd: is not a known name; did you mean planted?",
    ),
    "unknown units": (
        {"units": "imperial"},
        'units: "imperial" is not a known unit system; known: us, metric',
    ),
    "neither yes nor no": (
        {"irrigated": "perhaps"},
        'irrigated: "perhaps" is neither yes nor no; write yes or no',
    ),
}


@pytest.mark.parametrize(("change", "told"), WRONG.values(), ids=WRONG.keys())
def test_a_wrong_value_is_refused_with_what_is_wrong_and_what_would_be_right(
    field_values, today, said, change, told
) -> None:
    values = field_values | change

    assert said(lambda: field_record(values, today=today)) == [told]


def test_every_problem_is_told_at_once(field_values, today, said) -> None:
    values = field_values | {"lat": "x", "planted": "x", "texture": "x", "clay_pct": "-1"}

    told = said(lambda: field_record(values, today=today))

    assert sorted(line.split(":")[0] for line in told) == ["clay_pct", "lat", "planted", "texture"]


def test_missing_values_are_named_with_what_is_wanted(today, said) -> None:
    told = said(lambda: field_record({"texture": "loam"}, today=today))

    assert told == [
        "planted: is missing; give the day, as 2026-05-04",
        "name: is missing; give the field a name of 1 to 80 characters",
        "lat: is missing; latitude is -90 to 90 degrees",
        "lon: is missing; longitude is -180 to 180 degrees",
        f"grower: is missing; {PERSON}",
    ]


def test_a_right_field_becomes_a_record_with_the_zone_of_its_place(field_values, today) -> None:
    field = field_record(field_values, today=today)

    assert field == FieldRecord(
        name="North Forty",
        lat=42.03,
        lon=-93.62,
        elevation_m=None,
        row_spacing_cm=76.0,
        time_zone="America/Chicago",
        grower=Person("Ada Quill", "ada@quill.example", "grower", "us", "America/Chicago"),
        adviser=None,
        soil=SoilRecord(texture="silt loam"),
        crop="maize",
        planted=date(2026, 5, 4),
        black_layer_gdd_f=None,
        seed_depth_cm=5.0,
    )


def test_what_is_not_given_is_what_the_rules_take(field_values, today) -> None:
    usual = {item.name: item.default for item in fields(FieldSeason)}

    field = field_record(field_values, today=today)

    assert usual == USUAL
    assert field.row_spacing_cm == usual["row_spacing_cm"]
    assert field.seed_depth_cm == usual["seed_depth_cm"]


def test_inches_are_kept_as_centimetres(field_values, today) -> None:
    values = field_values | {"row_spacing_in": "30", "seed_depth_in": "2"}

    field = field_record(values, today=today)

    assert (field.row_spacing_cm, field.seed_depth_cm) == (76.2, 5.08)


def test_soil_may_be_left_out_and_is_then_to_be_fetched(field_values, today) -> None:
    soil = field_record(field_values | {"texture": ""}, today=today).soil

    assert soil == SoilRecord()
    assert not soil.is_known


def test_part_of_a_soil_may_be_given_beside_what_is_fetched(field_values, today) -> None:
    values = field_values | {"texture": None, "water_table_m": "1.2"}

    assert field_record(values, today=today).soil == SoilRecord(water_table_m=1.2)


def test_soil_may_be_two_numbers_instead_of_a_texture(field_values, today) -> None:
    values = field_values | {"texture": "", "field_capacity": 0.32, "wilting_point": 0.15}

    soil = field_record(values, today=today).soil

    assert soil == SoilRecord(texture=None, field_capacity=0.32, wilting_point=0.15)


@pytest.mark.parametrize(("days_back", "accepted"), [(0, True), (300, True), (301, False)])
def test_a_season_is_at_most_300_days_old(field_values, today, said, days_back, accepted) -> None:
    planted = date.fromordinal(today.toordinal() - days_back)
    values = field_values | {"planted": planted}

    if accepted:
        assert field_record(values, today=today).planted == planted
    else:
        assert "301 days back" in said(lambda: field_record(values, today=today))[0]


def test_a_moment_is_read_on_the_calendar_of_the_field(field_values, said) -> None:
    late_evening = datetime(2026, 5, 4, 22, 0, tzinfo=UTC)
    at = {"planted": "2026-05-05", "lat": "-34.05", "lon": "150.7"}

    in_the_east = field_record(field_values | at, today=late_evening)
    in_iowa = said(
        lambda: field_record(field_values | {"planted": "2026-05-05"}, today=late_evening)
    )

    assert in_the_east.time_zone == "Australia/Sydney"
    assert in_iowa[0].startswith("planted: 2026-05-05 is in the future (today is 2026-05-04)")
