"""Whatever stands in a cell, a key or a file: a person is told, nothing breaks."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.digs import dig_record
from rootbound_service.intake.fields import field_record
from rootbound_service.intake.geojson import read_geojson
from rootbound_service.intake.many import import_file
from rootbound_service.intake.report import report_on
from rootbound_service.intake.sections import DIG_KEYS, FIELD_KEYS
from rootbound_service.intake.toml_file import field_from_toml
from rootbound_service.records import FieldRecord

TODAY = date(2026, 7, 14)
FIELD = {
    "name": "North Forty",
    "lat": "42.03",
    "lon": "-93.62",
    "planted": "2026-05-04",
    "texture": "silt loam",
    "grower": "Ada Quill <ada@quill.example>",
}
NUMBER_LIKE = st.text("0123456789.,eE+-_ ", max_size=12)
ANYTHING = st.one_of(
    st.text(st.characters(), max_size=90),
    NUMBER_LIKE,
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.none(),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)
SOME = settings(max_examples=300, deadline=None)


def told_or_right(action) -> None:
    """Either it is taken or every problem says where, what and what would be right."""
    try:
        result, problems = action(), ()
    except RefusedInput as refused:
        result, problems = None, refused.problems
    assert result or problems
    for problem in problems:
        assert problem.where
        assert problem.what
        assert problem.wanted
        assert "\n" not in str(problem)


@SOME
@given(key=st.sampled_from(FIELD_KEYS), value=ANYTHING)
def test_anything_in_any_cell_of_a_field_is_taken_or_told(key, value) -> None:
    told_or_right(lambda: field_record(FIELD | {key: value}, today=TODAY))


@SOME
@given(values=st.dictionaries(st.sampled_from(DIG_KEYS), ANYTHING))
def test_anything_on_a_dig_card_is_taken_or_told(values) -> None:
    told_or_right(lambda: dig_record(values, planted=date(2026, 5, 4), today=TODAY))


@SOME
@given(
    values=st.dictionaries(st.text(st.characters(), max_size=12), ANYTHING, max_size=4),
    lat=st.floats(-200, 200),
    lon=st.floats(-200, 200),
)
def test_any_keys_and_any_place_are_taken_or_told(values, lat, lon) -> None:
    told_or_right(lambda: field_record(FIELD | {"lat": lat, "lon": lon} | values, today=TODAY))


@SOME
@given(text=st.text(st.characters(codec="utf-8"), max_size=200), at=st.integers(0, 200))
def test_any_text_in_a_table_is_told_by_row(tmp_path_factory, text, at) -> None:
    right = ",".join(FIELD) + "\n" + ",".join(FIELD.values()) + "\n"
    path = written(tmp_path_factory, "any.csv", right[:at] + text + right[at:])

    told_or_right(lambda: import_file(path, today=TODAY))


@SOME
@given(
    text=st.text(st.characters(codec="utf-8"), max_size=100),
    head=st.sampled_from(["", "[field]\n", "[[dig]]\n"]),
)
def test_any_text_as_a_toml_file_is_told(tmp_path_factory, text, head) -> None:
    path = written(tmp_path_factory, "any.toml", head + text)

    told_or_right(lambda: field_from_toml(path, today=TODAY))


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)


@SOME
@given(
    kind=st.sampled_from(["Point", "Polygon", "MultiPolygon"]),
    coordinates=JSON,
    properties=JSON,
)
def test_any_geometry_and_properties_are_told_by_feature(
    tmp_path_factory, kind, coordinates, properties
) -> None:
    geometry = {"type": kind, "coordinates": coordinates}
    feature = {"type": "Feature", "geometry": geometry, "properties": properties}
    document = {"type": "FeatureCollection", "features": [feature, properties]}
    path = written(tmp_path_factory, "any.geojson", json.dumps(document))

    report = report_on(read_geojson(path), today=TODAY)

    assert report.rows == 2
    assert report.problems


def written(tmp_path_factory, name: str, text: str) -> Path:
    """A file of the one folder that all examples share."""
    folder = tmp_path_factory.getbasetemp() / "any"
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text(text, encoding="utf-8", newline="")
    return path


def test_the_right_field_is_right() -> None:
    assert isinstance(field_record(FIELD, today=TODAY), FieldRecord)
