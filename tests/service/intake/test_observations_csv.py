"""A table of observations: every bad cell is told, good rows are kept where that is wanted."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.observations_csv import read_observations
from rootbound_service.intake.observations_keep import keep_table
from rootbound_service.records import FieldRecord, ObservationRecord, Person, SoilRecord
from rootbound_service.store.fields import add_field, list_fields

NOW = datetime(2026, 7, 14, 16, 0, tzinfo=UTC)
ADA = Person("Ada Quill", "ada@quill.example", "grower", "us", "America/Chicago")
FIELD = FieldRecord(
    name="North Forty",
    lat=42.0,
    lon=-93.6,
    elevation_m=None,
    row_spacing_cm=76.2,
    time_zone="America/Chicago",
    grower=ADA,
    adviser=None,
    soil=SoilRecord("loam"),
    crop="maize",
    planted=date(2026, 5, 4),
    black_layer_gdd_f=None,
    seed_depth_cm=5.0,
)
HEADER = "field,date,by,rain,irrigation,rolled,note\n"
GOOD = "North Forty,2026-07-10,Ada,0.8 in,,no,\n"


@pytest.fixture
def fields(store: Engine) -> Engine:
    """A store with two fields."""
    with store.begin() as conn:
        add_field(conn, FIELD)
        add_field(conn, replace(FIELD, name="South Forty"))
    return store


@pytest.fixture
def table(tmp_path: Path):
    """Write a table."""

    def write(text: str) -> Path:
        path = tmp_path / "seen.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def stored(store: Engine) -> list[tuple[ObservationRecord, ...]]:
    with store.connect() as conn:
        return [one.observations for one in list_fields(conn)]


def test_every_filled_cell_of_a_row_is_an_observation(fields: Engine, table) -> None:
    text = HEADER + GOOD + "#2,2026-07-11,Ben,,25 mm,,pivot\n"
    report = keep_table(fields, table(text), NOW, keep_good=False)
    north, south = stored(fields)

    assert (report.problems, report.rows) == ((), 2)
    assert [(one.kind, one.by) for one in north] == [("rain", "Ada"), ("rolled", "Ada")]
    assert [(one.kind, one.value, one.note) for one in south] == [("irrigation", 25.0, "pivot")]


def test_a_table_given_twice_is_stored_once(fields: Engine, table) -> None:
    for _ in range(2):
        report = keep_table(fields, table(HEADER + GOOD), NOW, keep_good=False)

    assert report.problems == ()
    assert len(stored(fields)[0]) == 2


def test_every_bad_cell_is_told_with_its_line_and_nothing_is_stored(fields: Engine, table) -> None:
    text = (
        HEADER
        + GOOD
        + (
            "East Forty,2026-07-10,Ada,1 in,,,\n"
            "North Forty,2026-07-32,Ada,99 in,,perhaps,\n"
            ",2026-07-10,Ada,1 in,,,\n"
            "North Forty,2026-07-10,,1 in,,,\n"
            "North Forty,2026-07-10,Ada,1 in\n"
            "North Forty,2026-07-10,Ada,,,,all quiet\n"
        )
    )
    report = keep_table(fields, table(text), NOW, keep_good=False)

    assert [one.where for one in report.problems] == [
        "line 3, field",
        "line 4, date",
        "line 4, rain",
        "line 4, rolled",
        "line 5, field",
        "line 6, by",
        "line 7",
        "line 8, rain",
    ]
    assert "no field is called East Forty" in report.problems[0].what
    assert (report.good, stored(fields)) == ((), [(), ()])


def test_the_good_rows_are_kept_where_that_is_wanted(fields: Engine, table) -> None:
    text = HEADER + "North Forty,2026-07-10,Ada,99 in,,,\n" + GOOD
    report = keep_table(fields, table(text), NOW, keep_good=True)

    assert [row.place for row in report.good] == ["line 3"]
    assert len(report.problems) == 1
    assert len(stored(fields)[0]) == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "seen.csv: is empty; the first line names the columns: field, date, by and of rain"),
        (HEADER, "seen.csv: has no row under its header"),
        ("field,date,rain\nNorth,2026-07-10,1\n", "the column by is missing from the header"),
        ("field,date,by,rane\nNorth,2026-07-10,Ada,1\n", "line 1, rane: is not a known name; did"),
        ("field,date,by,rain,rain\na,b,c,d,e\n", "line 1, rain: stands twice"),
        ("field,date,by,\na,b,c,d\n", "line 1: column 4 has no name"),
    ],
)
def test_a_header_in_doubt_is_refused(table, text, told) -> None:
    with pytest.raises(RefusedInput) as refused:
        read_observations(table(text))

    assert told in str(refused.value)
