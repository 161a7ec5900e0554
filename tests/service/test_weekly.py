"""The week from the night's figures to letter, page and archive, on a service of its own."""

from __future__ import annotations

import gzip
from datetime import date, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service import weekly
from rootbound_service.notes.digest_page import compose_page
from rootbound_service.records import Contact, Silence
from rootbound_service.secret import links_of
from rootbound_service.store.contacts import put_contact
from rootbound_service.store.digests import digest_page, digests_of
from rootbound_service.store.fields import find_field
from rootbound_service.store.people import find_person
from rootbound_service.store.schema import digest, outbox
from rootbound_service.store.silences import put_silence
from rootbound_service.weekly import night_of_week, write_digests
from service.nights.rig import DRY, INES, MAREN, TOBIAS, YEAR, a_field, a_rig

FIRST, NIGHT = date(YEAR, 6, 28), date(YEAR, 7, 6)
PAGES = {"ROOTBOUND_BASE_URL": "https://rootbound.example"}


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY, **PAGES) as made:
        made.enrol(
            a_field("Long Acre"),
            a_field("Mill Bottom", grower=TOBIAS),
            a_field("Not Dug", digs=()),
        )
        made.bring(FIRST)
        yield made


def letters(rig):
    with rig.service.engine.connect() as conn:
        rows = conn.execute(select(outbox).where(outbox.c.kind == "digest")).mappings()
        return {row["to_address"]: " ".join(row["text"].split()) for row in rows}


def test_letter_and_page_tell_the_same_week_and_the_letter_links_to_the_page(rig):
    rig.night(NIGHT)
    assert write_digests(rig.service.parts, NIGHT) == 3

    with rig.service.engine.connect() as conn:
        kept = {one.person_id: one for one in digests_of(conn)}
        ines = find_person(conn, INES.email)
        page = digest_page(conn, kept[ines.id].id)
    token = links_of(rig.service.settings).token("digest", kept[ines.id].id)
    assert f"https://rootbound.example/d/{token}" in letters(rig)[INES.email]
    for name in ("Long Acre", "Mill Bottom", "Not Dug"):
        assert name in page
        assert name in letters(rig)[INES.email]
    assert "Mill Bottom" not in letters(rig)[MAREN.email]


def test_last_weeks_warnings_are_told_with_what_came_of_them(rig):
    nights = [FIRST + timedelta(days=n) for n in range((NIGHT - FIRST).days + 1)]
    for night in nights:
        rig.night(night)
    warned = [one for one in rig.notes() if (one.to_rung or 0) > (one.from_rung or 0)]
    write_digests(rig.service.parts, NIGHT)

    assert any(one.night >= NIGHT - weekly.BACK for one in warned)
    text = letters(rig)[INES.email]
    assert "What last week's warnings came to" in text
    assert "stress since" in text or "so far it has not come" in text


def test_a_note_that_was_given_up_is_told_in_the_letter_instead(rig):
    rig.night(NIGHT)
    with rig.service.engine.begin() as conn:
        maren = find_person(conn, MAREN.email)
        mine = (outbox.c.kind == "note") & (outbox.c.person_id == maren.id)
        assert conn.execute(update(outbox).where(mine).values(status="expired")).rowcount
    write_digests(rig.service.parts, NIGHT)

    assert "Notes that did not reach you" in letters(rig)[MAREN.email]
    assert "it came too late to be sent" in letters(rig)[MAREN.email]
    assert "Notes that did not reach you" not in letters(rig)[TOBIAS.email]


def test_a_silenced_field_is_told_as_silent_to_whoever_silenced_it(rig):
    rig.night(NIGHT)
    with rig.service.engine.begin() as conn:
        maren, field = find_person(conn, MAREN.email), find_field(conn, "Long Acre")
        until = NIGHT + timedelta(days=9)
        put_silence(conn, Silence(maren.id, field.id, until, rig.clock.now(), "command"))
    write_digests(rig.service.parts, NIGHT)

    assert "Long Acre: No notes until July 15." in letters(rig)[MAREN.email]
    assert "Silent at your wish" not in letters(rig)[INES.email]


def test_nothing_is_locked_while_pages_are_composed(rig, monkeypatch):
    written = []

    def compose_and_write(*words):
        # another writer, as the sender or a reply would be, gets its turn meanwhile
        with rig.service.engine.begin() as conn:
            written.append(conn.execute(update(outbox).values(priority=outbox.c.priority)).rowcount)
        return compose_page(*words)

    rig.night(NIGHT)
    monkeypatch.setattr(weekly, "compose_page", compose_and_write)

    assert write_digests(rig.service.parts, NIGHT) == 3
    assert len(written) == 3


def test_a_letter_that_fails_half_way_leaves_no_page_in_the_archive(rig, monkeypatch):
    rig.night(NIGHT)
    with monkeypatch.context() as patch:
        patch.setattr(weekly, "compose_page", lambda *_: 1 / 0)
        assert write_digests(rig.service.parts, NIGHT) == 0
    with rig.service.engine.connect() as conn:
        assert digests_of(conn) == []

    assert write_digests(rig.service.parts, NIGHT) == 3
    with rig.service.engine.connect() as conn:
        assert len(digests_of(conn)) == 3
        assert all(gzip.decompress(page) for page in conn.scalars(select(digest.c.page)))


def test_two_addresses_of_one_person_get_a_letter_each_and_share_the_page(rig):
    rig.night(NIGHT)
    with rig.service.engine.begin() as conn:
        maren = find_person(conn, MAREN.email)
        put_contact(conn, Contact(maren.id, "email", "office@alder.example", digest_day=4), None)
    count = write_digests(rig.service.parts, NIGHT)

    told = letters(rig)
    assert count == 4
    assert told["office@alder.example"] == told[MAREN.email]
    with rig.service.engine.connect() as conn:
        assert len(digests_of(conn)) == 3


def test_no_letter_goes_to_a_phone_or_to_whoever_wants_none(rig):
    rig.night(NIGHT)
    with rig.service.engine.begin() as conn:
        maren = find_person(conn, MAREN.email)
        put_contact(conn, Contact(maren.id, "email", MAREN.email, digest_day=None), None)
        put_contact(conn, Contact(maren.id, "text", "+15155550121", digest_day=0), None)
    write_digests(rig.service.parts, NIGHT)

    assert set(letters(rig)) == {INES.email, TOBIAS.email}


@pytest.mark.parametrize(
    ("week", "night"),
    [
        (None, date(2026, 7, 8)),
        ("2026-W28", date(2026, 7, 8)),
        ("2026-W27", date(2026, 7, 5)),
        ("2020-W53", date(2021, 1, 3)),
    ],
)
def test_a_week_is_told_as_of_its_sunday_or_today(week, night):
    assert night_of_week(week, date(2026, 7, 8)) == night
