"""Rows of advice: cited, short, with a caution where people can get hurt, no promise."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

import pytest

from rootbound_rules.errors import TableError
from rootbound_rules.risk.action_rows import action_of, load_actions
from rootbound_rules.risk.lookalikes import load_lookalikes
from rootbound_rules.tables import cite

ROW = {
    "id": "look",
    "kind": "look",
    "rungs": [1],
    "stages": ["V3", "VT"],
    "text": "Look.",
    "why": "It helps.",
    "source": "somebody_2020",
    "tag": "verified",
}
LONGEST = {"text": 110, "why": 140, "caution": 120}
"""Characters that fit a note."""
DIGGING = re.compile(r"\b(dig|pit|spade|knife|loosen)\b", re.IGNORECASE)
OUT_IN_THE_HEAT = re.compile(r"\b(walk|noon|watch how|open ears)\b", re.IGNORECASE)
CHEMICAL = re.compile(r"sidedress|foliar|potash|fertili[sz]er|insecticide|hunger", re.IGNORECASE)
LABEL = re.compile(r"\blabel\b", re.IGNORECASE)
MACHINES = re.compile(r"\b(cultivate|gauge wheels|push or pinch)\b", re.IGNORECASE)
PROMISE = re.compile(
    r"bushel|bu/ac|will yield|guarantee|more yield|raises? yield|will save|\bwill pay|t/ha",
    re.IGNORECASE,
)


def advice(action):
    return f"{action.text} {action.why}"


def without(pattern, wanted, of=lambda a: a.text):
    """Rows that a pattern finds and whose caution lacks what is wanted."""
    return [a.id for a in load_actions() if pattern.search(of(a)) and not wanted.search(a.caution)]


def test_every_row_names_works_that_are_described():
    for row in (*load_actions(), *load_lookalikes()):
        assert row.source, row.id
        assert all(cite(key) for key in row.source), row.id


def test_a_verified_row_rests_on_a_work_that_was_read():
    path = files("rootbound_rules").joinpath("data", "sources.toml")
    works = tomllib.loads(path.read_text(encoding="utf-8"))
    unread = [
        row.id
        for row in (*load_actions(), *load_lookalikes())
        if row.tag == "verified" and all(works[key]["status"] != "verified" for key in row.source)
    ]
    assert unread == []


def test_no_row_is_our_own_idea_or_from_memory():
    """Advice is given where a source supports it, else none."""
    rows = (*load_actions(), *load_lookalikes())
    assert {row.tag for row in rows} == {"verified", "second-hand"}


def test_every_row_is_short_enough_for_a_note():
    long = [
        (action.id, cell, len(getattr(action, cell)))
        for action in load_actions()
        for cell, most in LONGEST.items()
        if len(getattr(action, cell)) > most
    ]
    assert long == []


def test_whoever_digs_is_warned_of_buried_lines():
    lines = re.compile("buried lines")
    asked = {
        a.id for a in load_actions() if DIGGING.search(a.text) and not a.text.startswith("Floppy")
    }
    warned = {a.id for a in load_actions() if lines.search(a.caution)}
    assert len(asked) >= 8
    assert asked - warned == set()


def test_whoever_digs_in_a_growing_crop_is_told_of_re_entry_intervals():
    bare = [
        a.id
        for a in load_actions()
        if "buried lines" in a.caution and "re-entry" not in a.caution and a.id != "next_pan"
    ]
    assert bare == []


def test_whoever_walks_in_summer_is_warned_of_the_heat():
    assert without(OUT_IN_THE_HEAT, re.compile("heat")) == []


def test_whatever_is_spread_or_sprayed_carries_the_label():
    fed = [a for a in load_actions() if a.id.startswith(("sidedress", "foliar"))]
    assert len(fed) == 3
    assert [a.id for a in fed if not LABEL.search(a.caution)] == []


def test_ammonia_is_for_trained_people_with_goggles_gloves_and_water():
    named = [a for a in load_actions() if "Ammonia" in a.caution]
    assert {a.id for a in named} == {"sidedress_held", "sidedress_dry"}
    for action in named:
        for word in ("trained people", "goggles", "gloves", "water at hand", "injure roots"):
            assert word in action.caution, action.id


def test_who_works_beside_machines_is_warned():
    assert without(MACHINES, re.compile("machine|engine off")) == []


def test_who_fills_a_silo_is_warned_of_its_gas_and_who_feeds_of_nitrate():
    for action in load_actions():
        if "nitrate" in action.text:
            assert re.search("silo gas", action.caution, re.IGNORECASE), action.id


def test_watering_keeps_to_the_permit():
    bare = [a.id for a in load_actions() if a.kind == "water" and "permit" not in a.caution]
    assert bare == ["water_no_more"]


def test_no_row_promises_a_yield():
    rows = [(a.id, advice(a)) for a in load_actions()]
    rows += [(row.id, f"{row.looks} {row.tell}") for row in load_lookalikes()]
    assert [name for name, text in rows if PROMISE.search(text)] == []


def test_lengths_are_written_so_that_the_readers_unit_can_be_shown():
    bare = re.compile(r"(?<!\[)\b\d+(\.\d+)? ?(mm|cm|in|inch(es)?|ft)\b")
    rows = load_actions()
    assert [a.id for a in rows if bare.search(f"{advice(a)} {a.caution}")] == []
    assert any("[13 mm]" in a.why for a in rows)


@pytest.mark.parametrize("cell", ["id", "kind", "rungs", "stages", "text", "why", "source", "tag"])
def test_a_row_without_a_needed_cell_is_refused_by_name(cell):
    with pytest.raises(TableError, match=f"has no {cell}"):
        action_of({key: value for key, value in ROW.items() if key != cell})


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"tag": "sure"}, "has tag 'sure'"),
        ({"kind": "buy"}, "has kind 'buy'"),
        ({"statuses": ["asleep"]}, "has status 'asleep'"),
        ({"found": ["stones"]}, "has found 'stones'"),
        ({"stages": ["VT", "V3"]}, "ends"),
    ],
)
def test_a_row_that_cannot_be_right_is_refused(change, told):
    with pytest.raises(TableError, match=told):
        action_of(ROW | change)
