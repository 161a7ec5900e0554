"""Whatever a soil service answers: the right values, or Unavailable and nothing else."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.public.http import Reply, Unavailable
from rootbound_service.soil.mix import values_of
from rootbound_service.soil.profile import Profile
from rootbound_service.soil.soilgrids_answer import properties, read_layers
from rootbound_service.soil.survey_answer import main_component
from rootbound_service.soil.survey_query import HORIZON_COLUMNS
from rootbound_service.soil.survey_table import read_table

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
LIMITS = {"field_capacity": (0, 0.7), "wilting_point": (0, 0.7), "clay_pct": (0, 60)}
LIMITS |= {"organic_matter_pct": (0, 8), "profile_depth_m": (0.3, 1.5)}
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(allow_nan=False),
    st.text(max_size=8),
    st.sampled_from(["12", "-3", "1e400", "0", "101", "  7 ", "Loam", "R", "Yes", "٣"]),
)
ANYTHING = st.recursive(
    SCALARS,
    lambda part: (
        st.lists(part, max_size=3) | st.dictionaries(st.text(max_size=6), part, max_size=3)
    ),
    max_leaves=6,
)


def shape(name: str) -> Any:
    """One recorded answer."""
    return json.loads((SHAPES / f"{name}.json").read_text(encoding="utf-8"))


def survey(content: bytes, kind: str = "application/json", status: int = 200) -> Profile:
    rows = read_table(Reply(status, content, kind), "survey", HORIZON_COLUMNS)
    soil, remarks = main_component(rows, "survey")
    return Profile("survey", soil.name, soil.share_pct, soil.layers, remarks=remarks)


def grids(content: bytes, kind: str = "application/json", status: int = 200) -> Profile:
    layers = read_layers(
        Reply(status, content, kind), "SoilGrids", properties(1.724), (42.03, -93.62)
    )
    return Profile("soilgrids", "cell", None, layers)


READERS = {"sda_horizons": survey, "soilgrids_properties_query": grids}


def read(name: str, content: bytes) -> None:
    """Read an answer: whatever comes of it is sound."""
    try:
        profile = READERS[name](content)
        found = {one.name: one.value for one in values_of(profile, "title")}
    except Unavailable:
        return
    for upper, lower in zip(profile.layers, profile.layers[1:], strict=False):
        assert 0 <= upper.top_cm < upper.bottom_cm <= lower.top_cm
    for key, (low, high) in LIMITS.items():
        if key in found:
            assert math.isfinite(found[key])
            assert low <= found[key] <= high
    if "field_capacity" in found:
        assert found["wilting_point"] < found["field_capacity"]


def spots(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every value of a document."""
    found = [path] if path else []
    if isinstance(node, dict):
        return found + [one for key in node for one in spots(node[key], (*path, key))]
    if isinstance(node, list):
        return found + [one for at in range(len(node)) for one in spots(node[at], (*path, at))]
    return found


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_one_thing_of_an_answer_changed_to_anything(name: str, data: st.DataObject) -> None:
    document = shape(name)
    for _ in range(data.draw(st.integers(1, 3))):
        ways = spots(document)
        if not ways:
            break
        *path, last = data.draw(st.sampled_from(ways))
        at = document
        for step in path:
            at = at[step]
        if data.draw(st.booleans()):
            at[last] = data.draw(ANYTHING)
        else:
            del at[last]

    read(name, json.dumps(document).encode())


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_an_answer_cut_short_or_with_a_byte_changed(name: str, data: st.DataObject) -> None:
    content = bytearray(json.dumps(shape(name)).encode())
    at = data.draw(st.integers(0, len(content) - 1))
    if data.draw(st.booleans()):
        del content[at:]
    else:
        content[at] = data.draw(st.integers(0, 255))

    read(name, bytes(content))


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=200, deadline=None)
@given(content=st.binary(max_size=60) | ANYTHING.map(lambda one: json.dumps(one).encode()))
def test_any_bytes_and_any_json(name: str, content: bytes) -> None:
    read(name, content)


PER_CENT = st.floats(0, 100).map(lambda one: round(one, 1))
OFTEN = PER_CENT | st.none()


@settings(max_examples=200, deadline=None)
@given(rows=st.lists(st.tuples(OFTEN, OFTEN, OFTEN, OFTEN, OFTEN, OFTEN), min_size=1, max_size=6))
def test_the_values_of_a_sound_answer_come_back_as_they_are(rows: list[Any]) -> None:
    document = shape("sda_horizons")
    names, types, first = document["Table"][:3]
    columns = ("sandtotal_r", "silttotal_r", "claytotal_r", "om_r", "wthirdbar_r", "wfifteenbar_r")
    document["Table"] = [names, types]
    for number, cells in enumerate(rows):
        row = list(first)
        row[names.index("chkey")] = str(number)
        row[names.index("hzdept_r")], row[names.index("hzdepb_r")] = (
            str(20 * number),
            str(20 * number + 20),
        )
        for column, cell in zip(columns, cells, strict=True):
            row[names.index(column)] = None if cell is None else str(cell)
        document["Table"].append(row)

    layers = survey(json.dumps(document).encode()).layers

    assert [
        (one.sand_pct, one.silt_pct, one.clay_pct, one.organic_matter_pct) for one in layers
    ] == [tuple(cells[:4]) for cells in rows]
    for layer, cells in zip(layers, rows, strict=True):
        for found, said in ((layer.field_capacity, cells[4]), (layer.wilting_point, cells[5])):
            assert found == (None if said is None else pytest.approx(said / 100, abs=1e-6))
