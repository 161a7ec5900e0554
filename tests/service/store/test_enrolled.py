"""What an account has already: its own fields, and whose addresses are of elsewhere."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rootbound_service.records import Person
from rootbound_service.store.accounts import new_account
from rootbound_service.store.enrolled import named, outsiders, seasons_named
from rootbound_service.store.fields import add_field

PETRA = Person("Petra Nystad", "petra@sable.example", "grower")


def test_only_somebody_on_record_outside_the_account_is_an_outsider(store, a_field):
    with store.begin() as conn:
        mine, theirs = new_account(conn, "Mine", None), new_account(conn, "Theirs", None)
        add_field(conn, a_field(account_id=mine))
        add_field(conn, a_field(account_id=theirs, grower=PETRA))
        asked = ("ADA@quill.example", " Petra@Sable.example", "nobody@new.example")

        assert outsiders(conn, mine, asked) == {"petra@sable.example"}
        assert outsiders(conn, theirs, asked) == {"ada@quill.example"}


def test_seasons_are_found_by_grower_and_name_within_the_account_only(store, a_field):
    with store.begin() as conn:
        mine, theirs = new_account(conn, "Mine", None), new_account(conn, "Theirs", None)
        one = a_field(account_id=mine)
        add_field(conn, replace(one, planted=date(2025, 5, 1)))
        add_field(conn, replace(one, planted=date(2026, 5, 2)))
        add_field(conn, replace(one, account_id=theirs, planted=date(2024, 5, 3)))
        key = named(one.grower.email.upper(), " north  FORTY ")

        assert seasons_named(conn, mine, {key}) == {
            key: {2025: date(2025, 5, 1), 2026: date(2026, 5, 2)}
        }
        assert seasons_named(conn, mine, {named(PETRA.email, one.name)}) == {}
