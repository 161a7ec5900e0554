"""Texts: one part where that is enough, two at most, whatever the field is called."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.risk.rungs import RUNG_NAMES, Reason
from rootbound_service import gsm
from rootbound_service.notes.compose import FieldNote
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.texting import compose_text, fitted
from rootbound_service.records import Contact
from service.notes.cast import MAREN, NIGHT, NOW, TOBIAS, field, unknown, unrated

PHONE = Contact(1, "text", "+15155550121", id=9)
OCCASION = Occasion(NOW, members=30)
LONGEST = "The Long Acre behind the Old Mill at the Church near Stone Gate and Heron Piece 9"


def text(*facts, person=MAREN):
    notes = [FieldNote(one, f"note-{n}", 5 + n) for n, one in enumerate(facts)]
    return compose_text(person, PHONE, notes, OCCASION)


def test_a_rise_says_field_number_rung_water_and_how_to_answer():
    assert text(field()).text == (
        "Rootbound: Long Acre #11 is 2 tight, up from 1. 0.4 in of water in reach. "
        "The roots are why. Reply OK. STOP ends these."
    )


def test_a_reader_with_metric_units_reads_millimetres():
    said = text(field(), person=TOBIAS).text

    assert "10 mm of water in reach" in said
    assert " in of" not in said


def test_several_fields_are_one_text_the_worst_first():
    worse = field("Mill Bottom", field_id=12, rung=3, water_in_reach_mm=2.1)
    said = text(field(), worse, unrated()).text

    assert said.startswith("Rootbound: Mill Bottom #12 is 3 short")
    assert "Also #11 tight, #11 not dug." in said


def test_of_many_fields_two_are_named_beside_the_worst_and_the_rest_is_counted():
    many = [field(f"Piece {n}", field_id=n, rung=n % 3 + 1) for n in range(1, 10)]
    said = text(*many).text

    assert ", +6 more." in said
    assert gsm.size(said).parts == 1


@pytest.mark.parametrize("rung", range(5))
@pytest.mark.parametrize("before", [None, 0, 1, 2, 3, 4])
@pytest.mark.parametrize("person", [MAREN, TOBIAS], ids=["us", "metric"])
def test_no_rung_takes_more_than_one_part_but_for_a_long_name(rung, before, person):
    short = text(field(rung=rung, previous_rung=before), person=person).text
    long = text(field(LONGEST, rung=rung, previous_rung=before), person=person).text

    assert gsm.size(short).parts == 1
    assert gsm.size(long).parts <= 2
    assert RUNG_NAMES[rung] in short
    assert "STOP ends these." in short
    assert not gsm.size(long).wide


@pytest.mark.parametrize("news", [Reason.GROWN_FREE, Reason.HELD_AGAIN])
def test_news_of_the_roots_are_told_as_such(news):
    said = text(field(rung=0, previous_rung=0, news=str(news))).text

    assert "roots" in said
    assert "STOP ends these." in said


@pytest.mark.parametrize("facts", [unknown(), unrated(), field(status="finished", rung=None)])
def test_a_field_without_a_rung_is_never_called_fine(facts):
    said = text(facts).text

    assert "ample" not in said or "free roots would be ample" in said
    assert gsm.size(said).parts == 1


@given(st.text(min_size=1, max_size=80), st.integers(1, 10**9), st.integers(0, 4))
def test_whatever_a_field_is_called_a_text_stays_within_two_parts(name, number, rung):
    said = text(replace(field(), field_name=name, field_id=number, rung=rung)).text

    assert gsm.size(said).parts <= 2
    assert not gsm.size(said).wide


@given(
    st.text(max_size=200), st.lists(st.text(max_size=60), max_size=5),
    st.lists(st.text(min_size=1, max_size=30), min_size=1, max_size=2),
)  # fmt: skip
def test_what_must_be_said_always_is_and_the_end_stands_at_the_end(must, may, ends):
    said = fitted(must, may, ends)

    assert said.startswith(gsm.plain(must))
    assert said.endswith(gsm.plain(ends[-1]))


def test_a_text_and_its_letter_are_two_messages_about_the_same_notes():
    from rootbound_service.notes.compose import compose_note

    notes = [FieldNote(field(), "note-a", 5)]
    letter, said = compose_note(MAREN, notes, OCCASION), compose_text(MAREN, PHONE, notes, OCCASION)

    assert letter.dedupe_key != said.dedupe_key
    assert letter.note_keys == said.note_keys
    assert (said.contact_id, said.quiet_zone) == (9, MAREN.time_zone)
    assert said.not_after == said.available_at + timedelta(hours=36)
    assert NIGHT.isoformat() in said.dedupe_key
