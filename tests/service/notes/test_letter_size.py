"""The longest letters stay whole in mail programs, pictures and all, as they go over the wire."""

from __future__ import annotations

import re
from dataclasses import replace
from email import message_from_bytes, policy

import pytest

from rootbound_service.channels.email import Letterhead, to_email
from rootbound_service.links import Links
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.weight import ROOM, wire_bytes
from service.notes.cast import INES, NOW
from service.notes.fullest import FIELD_NAME, fullest, noisy

MOST = 90_000
"""Gmail cuts HTML over 102 kB (from memory); 90 kB of everything leaves room for headers that
relays add."""
HEAD = Letterhead("notes@rootbound.example.org", bounces="bounces@rootbound.example.org")
LINKS = Links("a secret for tests only, as long as real ones", "https://rootbound.example.org")


def longest(fields: int) -> bytes:
    """Write the letter of so many fields of which everything is told."""
    notes = [
        FieldNote(
            fullest(field_id=n, field_name=f"{FIELD_NAME} {n}", series=noisy(10.0 + n, 50.0, n)),
            f"note-{n}", n, irrigated=n % 2 == 0,
        )
        for n in range(1, fields + 1)
    ]  # fmt: skip
    message = compose_note(INES, notes, Occasion(NOW, 30, linked=True))
    return to_email(replace(message, id=9, contact_id=3), HEAD, None, LINKS).as_bytes()


@pytest.mark.parametrize("fields", [1, 2, 3, 6, 15, 40])
def test_the_longest_letter_is_under_ninety_kilobytes_on_the_wire(fields):
    assert len(longest(fields)) < MOST


def test_a_letter_too_heavy_tells_fewer_fields_and_counts_the_others():
    mail = message_from_bytes(longest(40), policy=policy.default)
    told = " ".join(mail.get_body(("plain",)).get_content().split())
    named = set(re.findall(rf"{FIELD_NAME} (\d+)", told))
    left = int(re.search(r"and (\d+) more\. ", told).group(1))

    assert 5 <= len(named) < 40
    assert len(named) + left == 40
    assert "promise no yield" in told  # the foot came through


def test_what_is_weighed_is_what_goes_over_the_wire():
    raw = longest(3)
    mail = message_from_bytes(raw, policy=policy.default)
    html, text = (mail.get_body((kind,)).get_content() for kind in ("html", "plain"))
    images = {
        p["Content-ID"]: p.get_content() for p in mail.walk() if "png" in p.get_content_type()
    }

    assert 0 < len(raw) - wire_bytes(html, text, images) < MOST - ROOM
