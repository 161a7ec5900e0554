"""The e-mail of a message: headers to the letter, the same bytes on every retry."""

from __future__ import annotations

import re
from email import message_from_bytes, policy

import pytest

from rootbound_service.channels.email import Letterhead, message_id
from rootbound_service.channels.email import to_email as write
from rootbound_service.links import NOTE_MARK, STOP_MARK, Links
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from service.channels.fakes import LINKS, message
from service.notes.cast import MAREN, NOW, field

HEAD = Letterhead("alerts@rootbound.example", "Rootbound", "desk@rootbound.example")


WEB = Links("a secret of the tests", "https://rootbound.example")


def to_email(one, head, first_key=None, links=LINKS):
    return write(one, head, first_key, links)


def composed():
    return compose_note(MAREN, [FieldNote(field(), "note-a", 5)], Occasion(NOW, members=30))


def received(mail):
    return message_from_bytes(mail.as_bytes(), policy=policy.default)


def test_the_same_message_gives_the_same_bytes():
    assert to_email(composed(), HEAD).as_bytes() == to_email(composed(), HEAD).as_bytes()


def test_every_header_is_there():
    mail = received(to_email(composed(), HEAD))

    assert mail["From"] == "Rootbound <alerts@rootbound.example>"
    assert mail["To"] == "Maren Holt <maren@holt.example>"
    assert mail["Reply-To"] == "desk@rootbound.example"
    assert mail["Subject"] == "Tight: Long Acre - 0.4 in of water in reach"
    assert mail["Date"].datetime == NOW
    assert mail["List-ID"] == "Field notes <notes.rootbound.example>"
    assert mail["List-Unsubscribe"] == "<mailto:desk@rootbound.example?subject=stop>"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["MIME-Version"] == "1.0"


def test_the_message_id_follows_from_the_key_and_does_not_show_it():
    mail = received(to_email(message(), HEAD))

    assert mail["Message-ID"] == message_id(message().dedupe_key, HEAD)
    assert mail["Message-ID"].endswith(".email@rootbound.example>")
    assert message().dedupe_key not in mail["Message-ID"]


def test_a_long_unsubscribe_address_is_not_encoded():
    """CPython issue 85725: a header that does not fit a line becomes encoded words."""
    head = Letterhead("alerts@rootbound.example", reply_to=f"{'d' * 60}@{'rootbound' * 6}.example")
    (line,) = [
        line
        for line in to_email(message(), head).as_bytes().splitlines()
        if line.startswith(b"List-Unsubscribe")
    ]

    assert b"=?" not in line
    assert line.endswith(b"?subject=stop>")


def test_one_click_to_stop_is_offered_as_rfc_8058_asks():
    """RFC 8058 sections 3.1 and 2: one HTTPS address and exactly this Post header."""
    own = message(id=7, contact_id=9)
    raw = to_email(own, HEAD, links=WEB).as_bytes()
    mail = message_from_bytes(raw, policy=policy.default)
    web, mailto = (part.strip(" <>") for part in mail["List-Unsubscribe"].split(","))

    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert WEB.read("stop", web.removeprefix("https://rootbound.example/u/")) == (9, 1)
    assert mailto == f"mailto:desk@rootbound.example?subject=stop-{web.rpartition('/')[2]}"
    header = raw.split(b"List-Unsubscribe: ")[1].split(b"\r\n")[0]
    assert b"=?" not in header
    assert header.endswith(b">")


def test_without_encryption_one_click_is_not_promised():
    plain = Links("a secret of the tests", "http://rootbound.example")
    mail = received(to_email(message(id=7, contact_id=9), HEAD, links=plain))

    assert mail["List-Unsubscribe-Post"] is None


def test_the_letters_own_links_are_put_in_and_are_the_same_on_every_retry():
    own = message(id=7, contact_id=9, text=f"Seen: {NOTE_MARK}\nStop: {STOP_MARK}\n", html="")
    first, again = (to_email(own, HEAD, links=WEB).get_content() for _ in range(2))

    assert first == again
    seen, stop = re.findall(r"https://rootbound\.example/([nu])/(\S+)", first)
    assert WEB.read("note", seen[1]) == (7,)
    assert WEB.read("stop", stop[1]) == (9, 1)
    assert "links.invalid" not in first


@pytest.mark.parametrize(
    ("kind", "said"), [("operator", "auto-generated"), ("answer", "auto-replied")]
)
def test_what_is_no_list_offers_no_way_to_leave_one(kind, said):
    """RFC 3834 section 5.1: an answer says that it is one."""
    mail = received(to_email(message(kind=kind, contact_id=9), HEAD, links=WEB))

    assert mail["List-Unsubscribe"] is None
    assert mail["Auto-Submitted"] == said


def test_later_messages_of_a_thread_point_to_its_first():
    first, later = message(1), message(2)
    mail = received(to_email(later, HEAD, first.dedupe_key))

    assert mail["References"] == mail["In-Reply-To"] == message_id(first.dedupe_key, HEAD)
    assert received(to_email(first, HEAD, first.dedupe_key))["References"] is None


def test_text_comes_before_the_page_and_pictures_belong_to_the_page():
    mail = received(to_email(composed(), HEAD))
    text, page = mail.iter_parts()
    html, picture = page.iter_parts()

    assert mail.get_content_type() == "multipart/alternative"
    assert page.get_content_type() == "multipart/related"
    assert text.get_content().splitlines() == composed().text.splitlines()
    assert html.get_content().splitlines() == composed().html.splitlines()
    assert picture.get_content() == next(iter(composed().images.values()))
    assert f"cid:{picture['Content-ID'][1:-1]}" in composed().html


def test_no_line_of_a_body_passes_the_limit_of_mail():
    """RFC 2045 6.7: lines of quoted-printable are at most 76 long."""
    parts = [
        part for part in received(to_email(composed(), HEAD)).walk() if not part.is_multipart()
    ]
    bodies = [part.get_payload() for part in parts]

    assert len(bodies) == 3
    assert max(len(line) for body in bodies for line in body.splitlines()) <= 76


@pytest.mark.parametrize(
    ("images", "html", "kind"),
    [({}, "", "text/plain"), ({}, "<p>Tight.</p>", "multipart/alternative")],
)
def test_a_message_without_pictures_or_page_is_simpler(images, html, kind):
    mail = received(to_email(message(images=images, html=html), HEAD))

    assert mail.get_content_type() == kind
    assert "Long Acre is tight." in mail.get_body(("plain",)).get_content()


def test_letters_beyond_ascii_arrive():
    mail = received(to_email(message(subject="Tight: Møllebunn", to_name="Åse Holt"), HEAD))

    assert mail["Subject"] == "Tight: Møllebunn"
    assert mail["To"].addresses[0].display_name == "Åse Holt"


@pytest.mark.parametrize("bad", ["a@b.example\r\nBcc: x@y.example", "no address", "@", ""])
def test_an_address_that_could_not_be_one_is_refused(bad):
    with pytest.raises(ValueError, match="not one that a letter can carry"):
        to_email(message(to_address=bad), HEAD)


def test_a_subject_cannot_add_a_header():
    with pytest.raises(ValueError, match=r"linefeed|newline"):
        to_email(message(subject="Tight\r\nBcc: x@y.example"), HEAD)
