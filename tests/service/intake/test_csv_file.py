"""Tables of fields: every bad row named by its line, every good one kept going."""

from __future__ import annotations

import pytest

from rootbound_service.intake.many import import_file

BROKEN = "give every column one cell and close every quotation mark"


def names_and_problems(path, today):
    report = import_file(path, today=today)
    return [field.name for field in report.good], [str(problem) for problem in report.problems]


def test_a_bad_row_is_named_by_its_line_and_the_others_go_on(write, csv_text, today) -> None:
    text = csv_text(
        {"name": "A"},
        {"name": "B", "lat": "30", "lon": "-40"},
        {"name": "C", "texture": "mud"},
        {"name": "D"},
    )

    report = import_file(write("fields.csv", text), today=today)

    assert [field.name for field in report.good] == ["A", "D"]
    assert report.places == ("line 2", "line 5")
    assert [problem.where for problem in report.problems] == ["line 3, lon", "line 4, texture"]
    assert (report.rows, report.refused) == (4, 2)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("B,42.03,-93.62", "line 3: the row is broken, it has 3 cells, the header has 6"),
        (
            'B,42.03,-93.62,2026-05-04,loam,"Ada <ada@quill.example>',
            "line 3: the row is broken, a quotation mark is opened and never closed",
        ),
        (
            '"B"x,42.03,-93.62,2026-05-04,loam,Ada <ada@quill.example>',
            "line 3: the row is broken, a quotation mark stands in the middle of a cell",
        ),
    ],
)
def test_a_broken_row_costs_itself_alone(write, csv_text, today, row, told) -> None:
    lines = csv_text({"name": "A"}, {"name": "C"}).splitlines()
    path = write("fields.csv", "\n".join([*lines[:2], row, *lines[2:]]))

    assert names_and_problems(path, today) == (["A", "C"], [f"{told}; {BROKEN}"])


def test_an_open_quote_that_meets_another_hides_no_row_between(write, csv_text, today) -> None:
    lines = csv_text({"name": "B"}, {"name": '"D"'}).splitlines()
    opened = lines[1].replace("B,", '"A,')
    path = write("fields.csv", "\n".join([lines[0], opened, *lines[1:]]))

    good, problems = names_and_problems(path, today)

    assert good == ["B", "D"]
    assert [problem.split(":")[0] for problem in problems] == ["line 2"]


def test_a_name_may_stand_once_for_a_grower(write, csv_text, today) -> None:
    text = csv_text(
        {"name": "Home"},
        {"name": " home "},
        {"name": "Home", "grower": "Cy Reed <cy@reed.example>"},
    )

    good, problems = names_and_problems(write("fields.csv", text), today)

    assert good == ["Home", "Home"]
    assert problems == [
        (
            'line 3, name: "home" is already the name of this grower\'s field on line 2; '
            "give each field of a grower its own name"
        )
    ]


def test_semicolons_quotes_blank_lines_and_a_byte_order_mark_are_understood(write, today) -> None:
    text = (
        "\ufeff\r\nName;LAT;lon;planted;texture;grower\r\n\r\n"
        '"North; Forty";42.03;-93.62;2026-05-04;loam;"Ada <ada@quill.example>"\r\n;;;;;\r\n'
    )

    assert names_and_problems(write("fields.csv", text), today) == (["North; Forty"], [])


def test_a_decimal_comma_is_told_apart(write, today) -> None:
    text = (
        "name;lat;lon;planted;texture;grower\n"
        "A;42,03;-93.62;2026-05-04;loam;Ada <ada@quill.example>\n"
    )

    assert names_and_problems(write("fields.csv", text), today)[1] == [
        'line 2, lat: "42,03" has a decimal comma; write 42.03 with a point'
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "fields.csv: is empty"),
        ("name,lat,lon,planted,grower\n", "fields.csv: has no row under its header"),
        (
            "name,lat,long,planted,grower\nA,1,2,3,4\n",
            "line 1, long: is not a known name; did you mean lon?",
        ),
        (
            "name,lat,lon,planted,grower,lat\nA,1,2,3,4,5\n",
            "line 1, lat: stands twice; name each column once",
        ),
        ("name,lat,lon,grower\nA,1,2,3\n", "line 1: the column planted is missing from the header"),
    ],
)
def test_a_table_nobody_can_read_is_refused_as_a_whole(write, today, said, text, told) -> None:
    path = write("fields.csv", text)

    assert said(lambda: import_file(path, today=today))[0].startswith(told)


def test_each_row_is_counted_as_it_is_done(write, csv_text, today) -> None:
    done: list[int] = []
    path = write("fields.csv", csv_text({"name": "A"}, {"name": "B"}, {"lat": "x"}))

    import_file(path, today=today, progress=done.append)

    assert done == [1, 2, 3]


def test_another_kind_of_file_is_refused_by_its_name(write, today, said) -> None:
    assert said(lambda: import_file(write("fields.xlsx", "x"), today=today)) == [
        (
            "fields.xlsx: is neither CSV nor GeoJSON; "
            "give a table as .csv or outlines as .geojson; one field as TOML goes to enroll"
        )
    ]
