"""A service with one sent note, one digest and one phone, behind the web application."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import update

from rootbound_service.clock import SetClock
from rootbound_service.records import ConsentEvent, Contact, NoteRecord
from rootbound_service.secret import links_of
from rootbound_service.settings import load_settings
from rootbound_service.store.contacts import contacts_of, put_contact
from rootbound_service.store.digests import keep_page, reserve_digest
from rootbound_service.store.fields import add_field
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes
from rootbound_service.store.schema import outbox
from rootbound_service.web.app import make_app
from rootbound_service.wiring import open_service
from service.channels.fakes import message
from service.feeds.scene import a_field
from tables import put_tables

NOW = datetime(2026, 7, 14, 15, 0, tzinfo=UTC)
NUMBER = "+15155550121"
HOOK = "a shared secret"
GATEWAY = """
[send]
url = "https://texts.example/v1"
sender = "+15155550199"
body = "{{ text }}"
[proof]
scheme = "signed"
header = "X-Proof"
"""


class Scene:
    """The service, its application and what stands in its store."""

    def __init__(self, service, clock):
        self.service, self.clock = service, clock
        self.links = links_of(service.settings)
        self.web = TestClient(make_app(service), base_url="https://rootbound.example")
        with service.engine.begin() as conn:
            field = add_field(conn, a_field(id=0, season_id=0), NOW)
            self.person, self.field = field.grower, field
            agreed = ConsentEvent(0, "given", NOW, "command", "I agree.", "yes")
            phone = Contact(field.grower.id, "text", NUMBER, least_rung=2)
            self.phone = put_contact(conn, phone, agreed)
            self.mail = next(one for one in contacts_of(conn) if one.channel == "email")
            note = NoteRecord(field.season_id, date(2026, 7, 14), 1, 2, "ample", {}, "note-a")
            save_notes(conn, [note])
            letter = message(
                contact_id=self.mail.id, person_id=field.grower.id, note_keys=("note-a",)
            )
            enqueue(conn, [letter])
            conn.execute(update(outbox).values(status="sent", sent_at=NOW, provider_id="m-1"))
            self.digest = reserve_digest(conn, field.grower.id, "2026-W29", NOW.date(), NOW)
            keep_page(conn, self.digest, "<html><body><h1>Week 29</h1></body></html>")

    def path(self, kind, purpose, *numbers):
        return f"/{kind}/{self.links.token(purpose, *numbers)}"


@pytest.fixture
def scene(tmp_path):
    gateway = tmp_path / "gateway.toml"
    gateway.write_text(GATEWAY, encoding="utf-8")
    env = {
        "ROOTBOUND_DATA_DIR": str(tmp_path / "data"),
        "ROOTBOUND_BASE_URL": "https://rootbound.example",
        "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
        "ROOTBOUND_TEXT_GATEWAY_FILE": str(gateway),
        "ROOTBOUND_TEXT_HOOK_SECRET": HOOK,
    }
    clock = SetClock(NOW)
    put_tables(tmp_path / "data")
    with open_service(load_settings(env), clock) as service:
        yield Scene(service, clock)
