"""Tables of cited numbers: read as they stand, refused by name where they do not."""

from __future__ import annotations

import pytest

from rootbound_rules import tables
from rootbound_rules.errors import TableError
from rootbound_rules.tables import Row, Table, load_table

NAMES = ["ladder", "maize", "season", "soils", "wall"]


def row(value=1.0, low=None, high=None):
    return Row("k", value, "mm", ("somebody_2020",), "choice", low, high, "")


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_a_unit_a_source_a_tag_and_lies_in_its_range(name):
    wrong = [
        entry.key
        for entry in load_table(name).rows.values()
        if not entry.unit
        or not all(entry.source)
        or not entry.source
        or entry.tag not in {"verified", "second-hand", "memory", "choice"}
        or (entry.low is not None and not entry.low <= entry.number <= entry.high)
    ]
    assert wrong == []


@pytest.mark.parametrize("name", NAMES)
def test_every_choice_says_why(name):
    silent = [
        entry.key
        for entry in load_table(name).rows.values()
        if entry.tag == "choice" and not entry.why
    ]
    assert silent == []


def test_a_missing_row_is_refused_with_those_there_are():
    with pytest.raises(TableError, match=r"no row 'wall\.colour' in wall\.toml.*wall\.slot_cm"):
        load_table("wall").row("wall.colour")


def test_a_missing_table_is_refused_by_name():
    with pytest.raises(TableError, match="no table 'moon_grass'"):
        load_table("moon_grass")


def test_a_list_is_no_single_number():
    with pytest.raises(TableError, match="list of 4 numbers"):
        load_table("wall").number("wall.resistance_mpa")


def test_a_single_number_can_be_read_as_a_list_of_one():
    assert row(2.0).numbers == (2.0,)
    assert row((1.0, 2.0)).numbers == (1.0, 2.0)


def test_a_share_of_a_range_goes_from_its_low_to_its_high_end():
    ranged = row(1.0, low=0.5, high=2.5)
    assert [ranged.within(share) for share in (0.0, 0.5, 1.0)] == [0.5, 1.5, 2.5]
    assert row(1.0).within(0.3) == 1.0


def test_a_table_knows_what_it_holds():
    table = Table("made", {"k": row()})
    assert "k" in table
    assert "other" not in table


def test_rows_are_found_however_deep_they_stand():
    document = {
        "a": {"value": 1, "source": "x", "range": [0, 2]},
        "b": {"c": {"d": {"values": [1, 2], "source": ["x", "y"]}}, "note": "no row"},
    }
    found = dict(tables._rows(document, ""))
    assert set(found) == {"a", "b.c.d"}
    assert found["a"].value == 1.0
    assert (found["a"].low, found["a"].high) == (0, 2)
    assert found["b.c.d"].value == (1.0, 2.0)
    assert found["b.c.d"].source == ("x", "y")


def test_a_table_is_read_once():
    assert load_table("wall") is load_table("wall")
