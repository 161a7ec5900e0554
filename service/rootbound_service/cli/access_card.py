"""What ``rootbound access`` does and shows, in the store's terms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic_core import PydanticCustomError
from sqlalchemy import delete, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.intake.readers import read_reader
from rootbound_service.links import Links
from rootbound_service.notes.speech import languages
from rootbound_service.records import Person
from rootbound_service.secret import links_of
from rootbound_service.store.accounts import (
    members_of,
    new_account,
    put_member,
    put_operator,
)
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.invitations import open_invitations
from rootbound_service.store.people import add_person, find_person, list_people, person_with
from rootbound_service.store.schema import account
from rootbound_service.store.schema import operator as operators
from rootbound_service.store.sign_in import LASTS, MOST_AN_HOUR, new_link, who_may_enter
from rootbound_service.store.web_sessions import open_sessions

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.records import Role
    from rootbound_service.settings import Settings

HERE = "http://127.0.0.1:8040"
"""Where ``rootbound web`` answers if nobody says otherwise."""
MINUTES = int(LASTS.total_seconds() // 60)


def link_lines(conn: Connection, settings: Settings, email: str, now: datetime) -> list[str]:
    """Make a link that signs somebody in, and say what it does.

    Parameters
    ----------
    conn
        The caller's transaction.
    settings
        With what signs links, and the web address.
    email
        Of whom.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If nobody of this address may come in, or they had enough links within the hour.
    """
    who = who_may_enter(conn, email)
    if who is None:
        wanted = "see rootbound access list; rootbound access account makes an account"
        what = f"nobody with the address {email.strip()} may come in"
        raise RefusedInput((Problem("EMAIL", what, wanted),))
    number = new_link(conn, who.id, now)
    if number is None:
        what = f"{who.name} had {MOST_AN_HOUR} links within the hour"
        raise RefusedInput((Problem("EMAIL", what, "use the latest, or wait"),))
    log(conn, Actor(None, who.id, "command"), now, "link.make")
    links: Links = links_of(settings)
    way = links.way_in("enter", number)
    lines = [f"For {who.name}, once, for {MINUTES} minutes:"]
    if settings.base_url is not None:
        return [*lines, way]
    told = "Only this machine can open it: set ROOTBOUND_BASE_URL to the web address."
    return [*lines, f"{HERE}{way}", told]


def name_operator(
    conn: Connection, whom: str, zone: str | None, now: datetime, *, end: bool
) -> str:
    """Let somebody see the operator's pages, or no more; what was done in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    whom
        A name, a mail address, or ``Name <mail>`` of somebody new.
    zone
        Time zone of somebody new.
    now
        The time, aware.
    end
        Whether they are it no more.

    Raises
    ------
    RefusedInput
        If there is nobody of the name, or something is wrong with somebody new.
    """
    new = "<" in whom and not end
    who = _somebody(conn, whom, zone, "adviser", now) if new else find_person(conn, _bare(whom))
    if end:
        gone = conn.execute(delete(operators).where(operators.c.person_id == who.id)).rowcount
        done = "no longer sees" if gone else "did not see"
    else:
        put_operator(conn, who.id)
        done = "sees"
    log(conn, Actor(None, who.id, "command"), now, "operator.end" if end else "operator.name")
    return f"{who.name} {done} the operator's pages."


def open_account(conn: Connection, name: str, adviser: str, zone: str | None, now: datetime) -> str:
    """Make an account with an adviser, or let an adviser into one; said in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    name
        Of the account, or ``#`` and its number.
    adviser
        ``Name <mail>``, or a name or an address on record.
    zone
        Time zone of somebody new.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If something is wrong, or several accounts have the name.
    """
    number = _account(conn, name)
    known = number is not None
    if "<" in adviser:
        who = _somebody(conn, adviser, zone, "adviser", now)
    else:
        who = find_person(conn, adviser)
    if number is None:
        number = new_account(conn, name, now)
    put_member(conn, number, who.id, "adviser")
    log(conn, Actor(number, who.id, "command"), now, "member.role", person=who.id, role="adviser")
    of = conn.scalar(select(account.c.name).where(account.c.id == number))
    return f"{'Changed' if known else 'Made'}: account {of} #{number}, adviser {who.name}."


def access_rows(conn: Connection, now: datetime) -> list[tuple[str, str, str, str]]:
    """Give a row for each person of each account, who is invited, and the operators.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    now
        The time, aware.
    """
    rows: list[tuple[str, str, str, str]] = []
    for one in conn.execute(select(account).order_by(account.c.id)):
        of = f"{one.name} #{one.id}"
        rows += [
            (of, _named(who), may, _open(conn, who, now)) for who, may in members_of(conn, one.id)
        ]
        rows += [
            (of, f"{guest.name} <{guest.email}>", f"{guest.role}, invited", "-")
            for guest in open_invitations(conn, one.id, now)
        ]
    runs = conn.scalars(select(operators.c.person_id).order_by(operators.c.person_id)).all()
    for person_id in runs:
        who = person_with(conn, person_id)
        rows.append(("-", _named(who), "operator", _open(conn, who, now)))
    return rows


def _somebody(conn: Connection, given: str, zone: str | None, role: Role, now: datetime) -> Person:
    """Find who is named with an address, or enter them."""
    try:
        name, mail = read_person(given)
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("person", what, wanted),)) from None
    found = [one for one in list_people(conn) if one.email.casefold() == mail.casefold()]
    if found:
        return found[0]
    if zone is None:
        what, wanted = f"{name} is new and needs a time zone", "give --time-zone America/Chicago"
        raise RefusedInput((Problem("--time-zone", what, wanted),))
    reads = read_reader({"time_zone": zone}, languages())
    return add_person(conn, Person(name, mail, role, time_zone=reads["time_zone"]), now)


def _account(conn: Connection, name: str) -> int | None:
    """Number of the account that is meant; None for one that is not there yet."""
    plain = " ".join(name.split())
    if not plain:
        raise RefusedInput((Problem("NAME", "is empty", "give the account a name"),))
    every = conn.execute(select(account.c.id, account.c.name)).all()
    by_number = [one.id for one in every if f"#{one.id}" == plain]
    found = by_number or [one.id for one in every if one.name.casefold() == plain.casefold()]
    if plain.startswith("#") and not by_number:
        what, wanted = f"there is no account {plain}", "see rootbound access list"
        raise RefusedInput((Problem("NAME", what, wanted),))
    if len(found) > 1:
        wanted = f"give one of {', '.join(f'#{one}' for one in found)}"
        raise RefusedInput((Problem("NAME", f"{len(found)} accounts are called {plain}", wanted),))
    return found[0] if found else None


def _bare(whom: str) -> str:
    """The address of ``Name <mail>``; anything else as it is."""
    return whom.partition("<")[2].partition(">")[0] or whom


def _named(who: Person) -> str:
    return f"{who.name} #{who.id} <{who.email}>"


def _open(conn: Connection, who: Person, now: datetime) -> str:
    many = len(open_sessions(conn, who.id, now))
    return f"{many} time{'' if many == 1 else 's'}" if many else "-"
