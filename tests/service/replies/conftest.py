"""Two fields of one grower, with a phone and a sent note about one of them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service.channels.email import message_id
from rootbound_service.links import Links
from rootbound_service.records import ConsentEvent, Contact, NoteRecord
from rootbound_service.replies.text import TextIn, take_text
from rootbound_service.store.contacts import contacts_of, put_contact
from rootbound_service.store.engine import make_engine
from rootbound_service.store.fields import add_field
from rootbound_service.store.observations import every_observation
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes
from rootbound_service.store.schema import outbox
from service.channels.fakes import HEAD, message
from service.feeds.scene import a_field
from tables import put_tables

NOON = datetime(2026, 7, 14, 17, 30, tzinfo=UTC)
"""12:30 in Chicago."""
NUMBER = "+15155550121"


class Desk:
    """A store and what was written to it."""

    def __init__(self, engine):
        self.engine, self.links, self.count = engine, Links("a secret of the tests"), 0
        with engine.begin() as conn:
            self.first = add_field(conn, a_field("Long Acre", 0, season_id=0), NOON)
            self.second = add_field(conn, a_field("West Ridge", 0, season_id=0), NOON)
            person = self.first.grower.id
            agreed = ConsentEvent(0, "given", NOON, "command", "I agree to texts.", "yes")
            self.phone = put_contact(conn, Contact(person, "text", NUMBER), agreed)
            self.mail = next(one for one in contacts_of(conn) if one.channel == "email")
            note = NoteRecord(self.first.season_id, date(2026, 7, 14), 1, 2, "ample", {}, "note-a")
            save_notes(conn, [note])
            whose = {"person_id": person, "note_keys": ("note-a",)}
            text = {"channel": "text", "to_address": NUMBER, "contact_id": self.phone.id}
            mail = {"to_address": self.mail.address, "contact_id": self.mail.id}
            enqueue(conn, [message(1, **whose, **text), message(2, **whose, **mail)])
            conn.execute(update(outbox).values(status="sent", sent_at=NOON, created_at=NOON))

    def letters(self, many):
        """Write more letters to the same address; their numbers."""
        whose = {"person_id": self.mail.person_id, "contact_id": self.mail.id}
        keys = [f"letter-{one}" for one in range(many)]
        with self.engine.begin() as conn:
            more = {"to_address": self.mail.address, "kind": "digest", "created_at": NOON, **whose}
            enqueue(conn, [message(1, dedupe_key=key, **more) for key in keys])
            query = select(outbox.c.id).where(outbox.c.dedupe_key.in_(keys))
            return conn.scalars(query.order_by(outbox.c.id)).all()

    def name_of(self, number):
        """Give the Message-ID of a letter."""
        with self.engine.connect() as conn:
            key = conn.scalar(select(outbox.c.dedupe_key).where(outbox.c.id == number))
        return message_id(key, HEAD)

    def text(self, body, at=NOON, number=NUMBER, name=None):
        self.count += 1
        with self.engine.begin() as conn:
            return take_text(
                conn, TextIn(number, body, name or f"in-{self.count}", at), "the office"
            )

    def seen(self, field):
        with self.engine.connect() as conn:
            return every_observation(conn, field.season_id)

    def answers(self):
        with self.engine.connect() as conn:
            return conn.execute(select(outbox).where(outbox.c.kind == "answer")).all()


@pytest.fixture
def desk(tmp_path):
    engine = make_engine(f"sqlite:///{put_tables(tmp_path)}")
    yield Desk(engine)
    engine.dispose()


LATER = NOON + timedelta(hours=1)
