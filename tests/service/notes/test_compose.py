"""One note a person and night, the most urgent field first, safe and complete."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from rootbound_service.notes.compose import CUTS, FieldNote, compose_note
from rootbound_service.notes.letter import render_preview
from rootbound_service.notes.occasion import Occasion
from service.notes.cast import INES, MAREN, NOW, TOBIAS, alder_county, field, unrated

OCCASION = Occasion(NOW, members=30)


def note(facts, key="note-a", **more):
    return FieldNote(facts, key, season_id=5, **more)


def shown(html: str) -> str:
    """Text of a letter as a reader sees it."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", re.sub(r"(?s)<style.*?</style>", "", html)))


def test_the_subject_names_the_worst_field_and_counts_the_others():
    worse = field("Mill Bottom", field_id=12, rung=3, water_in_reach_mm=2.1)
    message = compose_note(INES, [note(field()), note(worse, "note-b")], OCCASION)

    assert message.subject == "Short: Mill Bottom and 1 more - 0.1 in of water in reach"
    assert message.note_keys == ("note-b", "note-a")
    assert message.priority == 2


def test_good_news_is_told_as_good_news():
    eased = field(rung=0, previous_rung=2, water_in_reach_mm=47.0, reason="fell_after_wetting")
    message = compose_note(MAREN, [note(eased)], OCCASION)

    assert message.subject == "Back to ample: Long Acre - 1.9 in of water in reach"
    assert "Good news" in " ".join(message.text.split())
    assert message.priority == 4


def test_an_eased_field_that_is_not_ample_says_how_far_it_eased():
    eased = field(rung=1, previous_rung=3)
    assert compose_note(MAREN, [note(eased)], OCCASION).subject.startswith("Eased to drawing down:")


@pytest.mark.parametrize(
    ("person", "numbers"),
    [
        (MAREN, ("0.4 in", "1.6 in", "6 days", "4 to 9", "19 of 30", "24 within", "58%", "2 tight",
                 "10 plants", "June 3", "July 14", "8 days", "V15", "2 days old")),
        (TOBIAS, ("10 mm", "41 mm", "6 days", "4 to 9", "19 of 30", "3 June", "14 July")),
    ],
)  # fmt: skip
def test_text_and_page_both_have_every_number(person, numbers):
    message = compose_note(person, [note(field())], OCCASION)
    text = " ".join(message.text.split())

    assert [number for number in numbers if number not in text] == []
    assert [number for number in numbers if number not in shown(message.html)] == []


def test_no_line_of_the_text_passes_72_columns():
    notes = [note(facts, f"note-{facts.field_id}", irrigated=True) for facts in alder_county()]
    message = compose_note(INES, notes, OCCASION)

    assert max(len(line) for line in message.text.splitlines()) < 72


def test_names_are_escaped_in_the_page_and_plain_in_the_text():
    facts = field("O'Hara & Sons <b>", grower_name="<script>alert(1)</script>")
    message = compose_note(INES, [note(facts)], OCCASION)

    assert "<script" not in message.html
    assert "& Sons <b>" not in message.html
    assert "O'Hara & Sons <b>" in message.text
    assert "O'Hara & Sons <b>" in message.subject


def test_the_picture_stands_in_the_page_with_its_numbers_as_alt_text():
    message = compose_note(MAREN, [note(field())], OCCASION)
    (name,) = message.images

    assert f'src="cid:{name}"' in message.html
    assert 'alt="Long Acre, 2 tight, 0.4 in of water in reach, free roots 1.6 in' in message.html


def test_a_preview_needs_no_other_file():
    message = compose_note(MAREN, [note(field())], OCCASION)
    page = render_preview(message.html, message.images)

    assert "cid:" not in page
    assert "data:image/png;base64," in page


def test_advice_comes_with_caution_and_source_and_never_more_than_three():
    message = compose_note(MAREN, [note(field(), irrigated=True)], OCCASION)
    told = " ".join(message.text.split())

    assert "Water this field first" in told
    assert "Mind: Keep to your water permit" in told
    assert "Kelley, Hall 2016, July/August corn water needs" in told
    assert "  4. " not in message.text


def test_a_field_without_a_dig_is_advised_to_be_dug_and_nothing_else_about_roots():
    message = compose_note(MAREN, [note(unrated(stage="V5"))], OCCASION)
    told = " ".join(message.text.split())

    assert "What you can do: 1. Dig up a few good and a few poor plants" in told
    assert "buried lines" in told
    assert "held roots get there sooner" not in told
    assert message.subject == "Not dug: Gravel Piece - free roots would be drawing down"


def test_no_letter_promises_a_yield():
    notes = [note(facts, f"note-{facts.field_id}") for facts in alder_county()]
    told = compose_note(INES, notes, OCCASION).text.lower()

    assert "promise no yield" in " ".join(told.split())
    assert not re.search(r"bushel|bu/ac|t/ha|% loss|yield loss", told)


def test_beyond_three_fields_the_others_are_lines():
    most = CUTS[0].cards
    notes = [note(field(f"Field {n}", field_id=n), f"note-{n}") for n in range(most + 3)]
    message = compose_note(INES, notes, OCCASION)

    assert len(message.images) == CUTS[0].pictures
    assert "Also tonight" in message.text
    assert all(f"Field {n}" in message.text for n in range(most + 3))


def test_the_key_follows_from_person_and_notes_whatever_their_order():
    pair = [note(field(), "note-a"), note(field("Mill Bottom", field_id=12), "note-b")]
    first, again = compose_note(MAREN, pair, OCCASION), compose_note(MAREN, pair[::-1], OCCASION)

    assert first == again
    assert first.dedupe_key != compose_note(MAREN, pair[:1], OCCASION).dedupe_key
    assert first.dedupe_key != compose_note(TOBIAS, pair, OCCASION).dedupe_key
    assert "holt" not in first.dedupe_key


def test_a_note_is_worth_sending_for_a_day_and_a_half():
    message = compose_note(MAREN, [note(field())], OCCASION)

    assert message.not_after == NOW + timedelta(hours=36)
    assert message.created_at == NOW


def test_a_note_about_nothing_is_refused():
    with pytest.raises(ValueError, match="at least one field"):
        compose_note(MAREN, [], OCCASION)
