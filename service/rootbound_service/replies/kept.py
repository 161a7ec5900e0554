"""What comes in is kept once, whatever it is; nothing of it is ever changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from sqlalchemy import func, select, update

from rootbound_service.replies.machines import header
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import inbound
from rootbound_service.store.suppressions import address_hash

if TYPE_CHECKING:
    from email.message import EmailMessage

    from sqlalchemy import Connection

    from rootbound_service.records import Channel, Contact

MOST_ANSWERS, A_DAY = 10, timedelta(hours=24)
"""Whoever gets more answers in a day is a machine that does not say so; "stop" is still heard."""
ONE_HELP = timedelta(hours=24)
"""What is not understood is answered once in so long: two machines must not talk forever."""


@dataclass(frozen=True, slots=True)
class Came:
    """Something that came, with whom it is from or about."""

    name: str
    """Of a letter from :func:`name_of`, of a text as the gateway calls it."""
    at: datetime
    contact_id: int | None
    address: str
    body: str
    meaning: str
    channel: Channel = "email"


def name_of(mail: EmailMessage, raw: bytes) -> str:
    """Give the name under which a letter is kept: its Message-ID, else one made of its bytes.

    Parameters
    ----------
    mail, raw
        The letter, read and as it came.
    """
    own = header(mail, "Message-ID").strip()
    return own if 0 < len(own) <= 250 else sha256(raw).hexdigest()  # noqa: PLR2004  (a line's worth)


def keep(conn: Connection, came: Came) -> int | None:
    """Keep what came; None where it was told before.

    Parameters
    ----------
    conn
        The caller's transaction.
    came
        What it is.
    """
    values = {
        "channel": came.channel,
        "provider_id": came.name,
        "received_at": came.at,
        "contact_id": came.contact_id,
        "address_hash": address_hash(came.channel, came.address),
        "body": came.body,
        "meaning": came.meaning,
        "answer": "",
    }
    new = insert_into(conn, inbound).values(values)
    new = new.on_conflict_do_nothing(index_elements=["channel", "provider_id"])
    number: int | None = conn.scalar(new.returning(inbound.c.id))
    return number


def keep_answer(conn: Connection, number: int, answer: str) -> None:
    """Keep what somebody was answered.

    Parameters
    ----------
    conn
        The caller's transaction.
    number
        Of what came in.
    answer
        In words.
    """
    conn.execute(update(inbound).where(inbound.c.id == number).values(answer=answer))


def may_answer(conn: Connection, contact: Contact, meaning: str, now: datetime) -> bool:
    """Tell whether one more answer is right: help once a day, and never without end.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact
        Who wrote.
    meaning
        What they mean.
    now
        The time, aware.
    """
    mine = (inbound.c.contact_id == contact.id) & (inbound.c.answer != "")
    given = select(func.count()).select_from(inbound).where(mine)
    lately = conn.scalar(given.where(inbound.c.received_at > now - A_DAY)) or 0
    return lately < MOST_ANSWERS and not (meaning == "unclear" and was_helped(conn, contact, now))


def was_helped(conn: Connection, contact: Contact, now: datetime) -> bool:
    """Tell whether somebody was told lately how to answer.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact
        Who wrote.
    now
        The time, aware.
    """
    helped = select(inbound.c.id).where(
        inbound.c.contact_id == contact.id,
        inbound.c.meaning == "unclear",
        inbound.c.answer != "",
        inbound.c.received_at > now - ONE_HELP,
    )
    return conn.scalar(helped.limit(1)) is not None
