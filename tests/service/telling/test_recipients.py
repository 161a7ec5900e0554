"""Who hears of what: every reason for leaving somebody out, and when the message goes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from rootbound_service.records import Contact
from rootbound_service.telling.again import Earlier
from rootbound_service.telling.book import Book
from rootbound_service.telling.recipients import Left, left_out, told

MAIL = Contact(1, "email", "maren@alder.example", id=3)
PHONE = Contact(1, "text", "+15155550121", least_rung=2, id=4)
BOOK = Book({1: (MAIL, PHONE)}, agreed=frozenset({3, 4}))
NIGHT = datetime(2026, 7, 14, 9, 30, tzinfo=UTC)
"""4:30 in Chicago."""
CHICAGO = "America/Chicago"


@pytest.mark.parametrize(
    ("book", "contact", "why"),
    [
        (BOOK, MAIL, None),
        (replace(BOOK, stopped={3: frozenset({"all"})}), MAIL, Left.STOPPED),
        (replace(BOOK, stopped={3: frozenset({"note"})}), MAIL, Left.STOPPED),
        (replace(BOOK, stopped={3: frozenset({"digest"})}), MAIL, None),
        (replace(BOOK, agreed=frozenset()), PHONE, Left.NOT_AGREED),
        (replace(BOOK, agreed=frozenset()), MAIL, None),
        (BOOK, replace(MAIL, notes=False), Left.NO_NOTES),
        (BOOK, replace(MAIL, field_ids=(8, 9)), Left.OTHER_FIELDS),
        (BOOK, replace(MAIL, field_ids=(7,)), None),
        (replace(BOOK, silent={1: {7: date(2026, 7, 20)}}), MAIL, Left.SILENT),
        (replace(BOOK, silent={1: {8: date(2026, 7, 20)}}), MAIL, None),
        (BOOK, replace(PHONE, least_rung=3), Left.BELOW),
    ],
)
def test_everybody_left_out_is_left_out_for_a_named_reason(book, contact, why):
    assert left_out(book, contact, 7, 2, 1) is why


@pytest.mark.parametrize(
    ("rung", "before", "hears"),
    [
        (2, 1, True),
        (1, None, False),
        (1, 2, True),
        (0, 3, True),
        (None, 2, True),
        (None, None, False),
    ],
)
def test_whoever_was_told_of_a_rung_hears_that_it_eased(rung, before, hears):
    assert (left_out(BOOK, PHONE, 7, rung, before) is None) is hears


def test_a_field_without_an_answer_is_told_to_whoever_hears_all():
    assert left_out(BOOK, MAIL, 7, None, None) is None


def test_a_message_of_the_night_waits_for_the_morning():
    how = told(BOOK, MAIL, 2, CHICAGO, NIGHT)

    assert how.available_at == datetime(2026, 7, 14, 13, 0, tzinfo=UTC)
    assert how.status == "pending"


@pytest.mark.parametrize(("worst", "day"), [(2, 15), (None, 15), (3, 14), (4, 14)])
def test_a_second_message_about_one_night_waits_a_day_unless_it_is_bad(worst, day):
    again = replace(BOOK, earlier={3: Earlier(gone=frozenset({"a"}))})

    assert told(again, MAIL, worst, CHICAGO, NIGHT).available_at.day == day
    assert told(again, MAIL, worst, CHICAGO, NIGHT, anew=True).available_at.day == day


@pytest.mark.parametrize(("anew", "day"), [(True, 14), (False, 15)])
def test_what_takes_the_place_of_a_waiting_message_goes_at_its_hour(anew, day):
    again = replace(BOOK, earlier={3: Earlier((9,), 1, {"a": 5})})

    assert told(again, MAIL, 2, CHICAGO, NIGHT, anew=anew).available_at.day == day


@pytest.mark.parametrize(("anew", "status"), [(True, "pending"), (False, "folded")])
def test_a_text_that_is_written_anew_is_counted_once(anew, status):
    book = replace(BOOK, texts={4: 2}, earlier={4: Earlier((9,), 1, {"a": 5})})

    assert told(book, PHONE, 2, CHICAGO, NIGHT, anew=anew).status == status


@pytest.mark.parametrize(
    ("texts", "worst", "status"),
    [(1, 2, "pending"), (2, 2, "folded"), (2, 3, "folded"), (2, 4, "pending"), (9, None, "folded")],
)
def test_two_texts_a_week_are_the_limit_unless_it_is_failing(texts, worst, status):
    book = replace(BOOK, texts={4: texts})

    assert told(book, PHONE, worst, CHICAGO, NIGHT).status == status
    assert told(book, MAIL, worst, CHICAGO, NIGHT).status == "pending"
