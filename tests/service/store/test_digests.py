"""The archive of letters: one page a person and week, kept as it was first written."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from rootbound_service.store.digests import digest_page, digests_of, keep_page, reserve_digest
from rootbound_service.store.people import add_person
from service.store.conftest import ADVISER, GROWER

NOW = datetime(2026, 7, 13, 13, tzinfo=UTC)
NIGHT = date(2026, 7, 13)


@pytest.fixture
def readers(store):
    with store.begin() as conn:
        return [add_person(conn, one).id for one in (GROWER, ADVISER)]


def keep(conn, person, week, page):
    number = reserve_digest(conn, person, week, NIGHT, NOW)
    keep_page(conn, number, page)
    return number


def test_a_page_comes_back_as_it_was(store, readers):
    with store.begin() as conn:
        number = keep(conn, readers[0], "2026-W29", "<p>33 °, über</p>")
        assert digest_page(conn, number) == "<p>33 °, über</p>"


def test_a_week_has_one_number_and_its_first_page_stays(store, readers):
    with store.begin() as conn:
        first = keep(conn, readers[0], "2026-W29", "first")
        second = keep(conn, readers[0], "2026-W29", "second")

        assert first == second
        assert digest_page(conn, first) == "first"


def test_a_number_without_a_page_is_no_letter_yet(store, readers):
    with store.begin() as conn:
        number = reserve_digest(conn, readers[0], "2026-W29", NIGHT, NOW)

        assert digest_page(conn, number) is None
        assert digest_page(conn, number + 999) is None
        assert digests_of(conn) == []


def test_the_archive_is_listed_latest_first_and_by_reader(store, readers):
    grower, adviser = readers
    with store.begin() as conn:
        for person, week in ((grower, "2026-W28"), (grower, "2026-W29"), (adviser, "2026-W29")):
            keep(conn, person, week, "page")

        assert [(one.week, one.person_id) for one in digests_of(conn)] == [
            ("2026-W29", grower), ("2026-W29", adviser), ("2026-W28", grower),
        ]  # fmt: skip
        assert [one.week for one in digests_of(conn, grower)] == ["2026-W29", "2026-W28"]
        assert digests_of(conn, grower)[0].written_at == NOW
