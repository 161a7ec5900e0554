"""Secret addresses of feeds: shown once, kept as a hash, ended for good."""

from __future__ import annotations

from sqlalchemy import select

from rootbound_service.records import Person
from rootbound_service.store.feed_keys import end_feed_keys, make_feed_key, reader_of_key
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import feed_key


def two(conn, clock):
    return [
        add_person(conn, Person(name, f"{name.casefold()}@quill.example", "grower"), clock.now())
        for name in ("Ada", "Tobias")
    ]


def test_a_key_leads_to_its_person_alone(store, clock):
    with store.begin() as conn:
        ada, tobias = two(conn, clock)
        keys = {one.name: make_feed_key(conn, one.id, clock.now()) for one in (ada, tobias)}

        assert reader_of_key(conn, keys["Ada"]) == ada
        assert reader_of_key(conn, keys["Tobias"]) == tobias
        assert reader_of_key(conn, keys["Ada"][:-1]) is None
        assert reader_of_key(conn, "") is None


def test_nobody_can_read_a_key_from_the_store(store, clock):
    with store.begin() as conn:
        ada, _ = two(conn, clock)
        key = make_feed_key(conn, ada.id, clock.now())
        (row,) = conn.execute(select(feed_key)).all()

    assert len(key) >= 32  # 24 random bytes: nobody guesses them
    assert not any(key in str(value) for value in row)


def test_ending_ends_all_of_a_person_and_of_nobody_else(store, clock):
    with store.begin() as conn:
        ada, tobias = two(conn, clock)
        mine = [make_feed_key(conn, ada.id, clock.now()) for _ in range(2)]
        other = make_feed_key(conn, tobias.id, clock.now())

        assert end_feed_keys(conn, ada.id, clock.now()) == 2
        assert [reader_of_key(conn, one) for one in mine] == [None, None]
        assert reader_of_key(conn, other) == tobias
        assert end_feed_keys(conn, ada.id, clock.now()) == 0
        assert reader_of_key(conn, make_feed_key(conn, ada.id, clock.now())) == ada
