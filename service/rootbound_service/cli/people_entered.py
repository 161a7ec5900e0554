"""People entered and changed by hand: who they are, how they read, whose second contact."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.intake.readers import read_reader
from rootbound_service.notes.speech import languages
from rootbound_service.records import Person, Units
from rootbound_service.store.fields import find_field
from rootbound_service.store.people import add_person, change_person, find_person, list_people
from rootbound_service.store.seconds import end_second, put_second

if TYPE_CHECKING:
    import datetime as dt

    from sqlalchemy import Connection


def new_person(conn: Connection, who: str, given: Mapping[str, object], now: dt.datetime) -> str:
    """Enter somebody who looks after no field, as a second contact; said in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    who
        ``Name <mail>``.
    given
        As for ``read_reader``; the time zone has to be among it.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If something is wrong, or somebody has this address.
    """
    try:
        name, mail = read_person(who)
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("person", what, wanted),)) from None
    reads = {"units": "us", "language": "en"} | read_reader(given, languages())
    if "time_zone" not in reads:
        wanted = "give it as --time-zone America/Chicago"
        raise RefusedInput((Problem("--time-zone", "nights need a time zone", wanted),))
    key = mail.casefold()
    if any(key == one.email.casefold() for one in list_people(conn)):
        raise RefusedInput((Problem("person", f"{mail} is on record", "see people change"),))
    units = cast("Units", reads["units"])
    new = Person(name, mail, "grower", units, reads["time_zone"], language=reads["language"])
    return f"Entered: {name} #{add_person(conn, new, now).id}."


def change_reader(conn: Connection, name: str, given: Mapping[str, object]) -> str:
    """Change how somebody reads; what holds now in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    name
        Of the person.
    given
        As for ``read_reader``.

    Raises
    ------
    RefusedInput
        If something is wrong or nothing is given.
    """
    who, reads = find_person(conn, name), read_reader(given, languages())
    if not reads:
        wanted = "give --units, --time-zone or --language"
        raise RefusedInput((Problem("people change", "nothing is to change", wanted),))
    now = change_person(conn, who.id, reads)
    return f"{now.name} reads {now.language}, {now.units} units, by the clock of {now.time_zone}."


def second_contact(conn: Connection, field: str, name: str, *, end: bool) -> str:
    """Name a field's second contact, or end it; what was done in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    field, name
        Of the field and the person.
    end
        Whether they are it no more.

    Raises
    ------
    RefusedInput
        If it is the grower, who hears first.
    """
    found, who = find_field(conn, field), find_person(conn, name)
    if end:
        was = end_second(conn, found.id, who.id)
        return (
            f"{who.name} {'is no longer' if was else 'was not'} the second contact of {found.name}."
        )
    if who.id == found.grower.id:
        wanted = "name somebody else"
        raise RefusedInput((Problem("PERSON", f"{who.name} is the grower", wanted),))
    put_second(conn, found.id, who.id)
    return f"{who.name} is the second contact of {found.name}."
