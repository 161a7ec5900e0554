"""What not to mistake a field for: cited rows with a way to tell."""

from __future__ import annotations

import itertools
import re

import pytest

from rootbound_rules.errors import RulesError, TableError
from rootbound_rules.risk.lookalikes import (
    MOST,
    load_lookalikes,
    lookalike_of,
    lookalikes_for,
)
from rules.risk.situations import CAUSES, stages_of

ROW = {
    "id": "ghost",
    "rank": 1,
    "stages": ["V3", "VT"],
    "causes": ["roots"],
    "looks": "A ghost.",
    "tell": "Look through it.",
    "source": "somebody_2020",
    "tag": "verified",
}


def ids(stage, cause=None, **named):
    return [row.id for row in lookalikes_for(stage, cause, **named)]


def test_at_most_five_are_shown_the_likeliest_first():
    for stage, cause in itertools.product(stages_of(), CAUSES):
        ranks = [row.rank for row in lookalikes_for(stage, cause)]
        assert len(ranks) <= MOST
        assert ranks == sorted(ranks)


def test_every_row_is_shown_somewhere():
    shown = {
        name
        for stage, cause in itertools.product(stages_of(), CAUSES)
        for name in ids(stage, cause)
    }
    assert [row.id for row in load_lookalikes() if row.id not in shown] == []


def test_held_roots_are_told_from_a_drought_and_a_drought_from_held_roots():
    assert ids("V8", "wall")[0] == "general_drought"
    assert ids("V8", "drought")[0] == "held_roots"
    assert "held_roots" not in ids("V8", "pan")


def test_a_crop_without_sources_of_its_own_is_told_nothing():
    assert ids("V6", "wall", crop="soybean") == []
    with pytest.raises(RulesError, match="is no stage of sorghum"):
        lookalikes_for("V6", crop="sorghum")
    with pytest.raises(RulesError, match="'general' is no cause"):
        lookalikes_for("V6", "general")


def test_who_is_told_to_dig_is_warned_of_buried_lines():
    dug = [row for row in load_lookalikes() if re.search(r"\bdig\b", row.tell)]
    assert len(dug) >= 2
    assert [row.id for row in dug if "buried lines" not in row.caution] == []


def test_every_row_is_short_enough_to_be_read():
    assert [row.id for row in load_lookalikes() if max(len(row.looks), len(row.tell)) > 110] == []


@pytest.mark.parametrize(
    "cell", ["id", "rank", "stages", "causes", "looks", "tell", "source", "tag"]
)
def test_a_row_without_a_needed_cell_is_refused_by_name(cell):
    with pytest.raises(TableError, match=f"has no {cell}"):
        lookalike_of({key: value for key, value in ROW.items() if key != cell})


@pytest.mark.parametrize(
    ("change", "told"), [({"tag": "sure"}, "has tag"), ({"causes": ["luck"]}, "has cause")]
)
def test_a_row_with_a_word_nobody_knows_is_refused(change, told):
    with pytest.raises(TableError, match=told):
        lookalike_of(ROW | change)
