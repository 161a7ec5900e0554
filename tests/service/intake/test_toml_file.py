"""A field's TOML file: read whole, its unknown names refused with the nearest known."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.intake.seasons import season_from
from rootbound_service.intake.toml_file import field_from_toml, read_field_toml
from rootbound_service.records import SoilRecord


def test_a_file_becomes_a_field_with_its_digs_by_day(write, toml_text, today) -> None:
    field = field_from_toml(write("field.toml", toml_text), today=today)

    assert field.adviser is not None
    assert (field.name, field.crop, field.irrigated) == ("North Forty", "maize", True)
    assert (field.row_spacing_cm, field.seed_depth_cm) == (76.2, 4.5)
    assert field.soil == SoilRecord(texture="silt loam", clay_pct=22.0, water_table_m=1.8)
    assert (field.grower.units, field.adviser.email) == ("metric", "ben@marsh.example")
    assert [dig.dug_on for dig in field.digs] == [date(2026, 6, 10), date(2026, 6, 20)]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "clay_pct",
            "clay_pc",
            "[soil] clay_pc: is not a known name; did you mean clay_pct?",
        ),
        ("[soil]", "[sole]", "[sole]: is not a known name; did you mean soil?"),
        (
            "plants = 6",
            "plant = 6",
            "[[dig]] 2, plant: is not a known name; did you mean plants?",
        ),
        ("[people]", "[[people]]", "people: is a value; start a table with [people]"),
    ],
)
def test_an_unknown_name_is_refused_with_the_nearest(
    write, toml_text, today, said, old, new, told
) -> None:
    path = write("field.toml", toml_text.replace(old, new))

    assert said(lambda: field_from_toml(path, today=today)) == [told]


def test_problems_of_field_and_digs_are_told_together_where_they_stand(
    write, toml_text, today, said
) -> None:
    text = toml_text.replace("lat = 42.03", "lat = true").replace("= 2026-06-20", "= 2026-05-01")
    text = text.replace("held = 21", "held = -1").replace("Silt-Loam", "mud")

    told = said(lambda: field_from_toml(write("field.toml", text), today=today))

    assert [line.split(":")[0] for line in told] == [
        "[soil] texture",
        "[field] lat",
        "[[dig]] 2, held",
    ]


def test_a_dig_before_planting_is_refused_in_its_place(write, toml_text, today, said) -> None:
    text = toml_text.replace("date = 2026-06-20", "date = 2026-05-01")

    assert said(lambda: field_from_toml(write("field.toml", text), today=today)) == [
        "[[dig]] 1, date: 2026-05-01 is before planting (2026-05-04); dig after planting"
    ]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"[field\n", "is not a TOML file"),
        (b"\xff\xfe\x00", "is not UTF-8 text (byte 0)"),
        (b"x = " + b"[" * 20000, "is not a TOML file"),
        (
            b"lat = 1\n[field]\n",
            "lat: stands outside its table; put it under its table, [field] lat",
        ),
    ],
)
def test_a_file_that_is_no_field_is_refused(tmp_path, today, said, content, told) -> None:
    path = tmp_path / "field.toml"
    path.write_bytes(content)

    assert told in said(lambda: field_from_toml(path, today=today))[0]


def test_a_file_that_is_not_there_is_named(tmp_path, said) -> None:
    assert said(lambda: read_field_toml(tmp_path / "none.toml")) == [
        "none.toml: is not there; give the name of a file"
    ]


def test_a_past_season_needs_no_people_and_no_longitude(write, said) -> None:
    text = """
    [field]
    lat = 42.03
    [season]
    planted = 1988-05-05
    [soil]
    field_capacity = 0.32
    wilting_point = 0.15
    [[dig]]
    date = 1988-06-01
    wall_class = 2
    """
    wrong = text.replace("0.15", "0.5").replace("= 2", "= 7")

    form, digs = season_from(read_field_toml(write("field.toml", text)))
    told = said(lambda: season_from(read_field_toml(write("wrong.toml", wrong))))

    assert (form.planted, form.lat, form.crop) == (date(1988, 5, 5), 42.03, "maize")
    assert [dig.wall_class for dig in digs] == [2]
    assert [line.split(":")[0] for line in told] == [
        "[soil] wilting_point",
        "[[dig]] 1, wall_class",
    ]
