"""Advice as a reader sees it: in their unit, short, with its caution and its source."""

from __future__ import annotations

import pytest

from rootbound_rules.risk.action_rows import load_actions
from rootbound_rules.risk.actions import actions_for
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.views import action_view
from service.notes import cast

UNITS = ("us", "metric")
LONGEST = {"text": 112, "why": 142, "caution": 120}
"""Characters once lengths stand in the reader's unit."""
MOST_PER_FIELD = 900
"""Characters of all advice of one field: half a page of a telephone's screen."""


@pytest.mark.parametrize("units", UNITS)
def test_every_row_reads_well_in_the_readers_unit(units):
    for action in load_actions():
        view = action_view(action, units, action.source)
        for cell, most in LONGEST.items():
            shown = getattr(view, cell)
            assert "[" not in shown, (action.id, shown)
            assert len(shown) <= most, (action.id, len(shown))
            assert not shown or shown[-1] in ".?", (action.id, shown)
        assert view.marks == ", ".join(str(n + 1) for n in range(len(action.source)))


@pytest.mark.parametrize(
    ("rung", "stage", "cause"),
    [(2, "V6", "wall"), (2, "V7", "pan"), (3, "V12", "wall"), (3, "R1", "wall"), (4, "R4", "pan")],
)
def test_the_advice_of_a_field_takes_no_more_than_half_a_screen(rung, stage, cause):
    rows = actions_for(rung, stage, held_is_reason=True, irrigated=True, cause=cause)
    views = [action_view(row, "us", row.source) for row in rows]
    told = " ".join(f"{view.text} {view.why} {view.caution}" for view in views)
    assert len(rows) == 3
    assert len(told) <= MOST_PER_FIELD, told


@pytest.mark.parametrize("person", [cast.MAREN, cast.TOBIAS])
@pytest.mark.parametrize("stage", ["V6", "V12", "R1", "R4"])
def test_a_note_shows_each_piece_of_advice_with_its_caution_in_full(person, stage):
    note = FieldNote(cast.field(stage=stage, series=None), "note-a", 1, irrigated=True)
    text = " ".join(compose_note(person, [note], Occasion(cast.NOW, 30)).text.split())
    views = [action_view(row, person.units, row.source) for row in load_actions()]
    shown = [view for view in views if f"{view.text} {view.why}" in text]
    assert 1 <= len(shown) <= 3
    for view in shown:
        whole = f"{view.text} {view.why} Mind: {view.caution}" if view.caution else view.text
        assert whole in text
