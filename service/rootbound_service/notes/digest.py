"""The weekly letter: all fields of a person, the most urgent first; as mail and as a page."""

from __future__ import annotations

import base64
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_service.links import STOP_MARK
from rootbound_service.notes.envelope import Postmark, enclose
from rootbound_service.notes.letter import Letter, Picture, render_page
from rootbound_service.notes.listing import FEWER, MANY, MOST, cut
from rootbound_service.notes.occasion import DIGEST_LIFE
from rootbound_service.notes.order import by_urgency
from rootbound_service.notes.panels import panels_alt, panels_chart, with_picture
from rootbound_service.notes.sections import sections
from rootbound_service.notes.speech import say, speaking
from rootbound_service.notes.views import field_view
from rootbound_service.notes.week import Week
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Contact, Person

ROWS, PANELS = 24, 8
"""So many fields the mail lists and draws: mail programs cut letters over 100 kB."""
PAGE_PANELS, PAGE_PICTURES = 4, 12
"""So many fields a picture of the page, and so many pictures."""
PICTURE = "season-panels@rootbound"
PRIORITY = 7


def compose_digest(
    person: Person,
    fields: Sequence[FieldFacts],
    occasion: Occasion,
    week: Week | None = None,
    contact: Contact | None = None,
) -> OutboxMessage:
    """Write the digest of one person as a mail.

    Parameters
    ----------
    person
        Whom it is for: a grower gets their fields, an adviser those of all growers.
    fields
        The facts of the latest night, ``previous_rung`` being that of a week ago; any order.
    occasion
        The night.
    week
        What the week was like.
    contact
        The way it goes; None: to the person's own e-mail.

    Returns
    -------
    OutboxMessage
        Its key holds person and week: a second digest in the same week is the same message.

    Raises
    ------
    ValueError
        If there is no field to tell about.
    """
    _some(person, fields)
    ordered, told = by_urgency(fields), week or Week()
    year, number, _ = ordered[0].night.isocalendar()
    with speaking(person.language):
        drawn = with_picture(ordered, PANELS)
        images = {PICTURE: panels_chart(drawn, person.units)} if drawn else {}
        letter = _for_mail(_letter(person, ordered, occasion, told), len(ordered))
        if drawn:
            picture = Picture(f"cid:{PICTURE}", panels_alt(drawn, person.units))
            letter = replace(letter, pictures=(picture,))
        mark = Postmark(
            dedupe_key=f"digest-{_who(person)}-{year}-W{number:02d}",
            thread_key=f"digest-{_who(person)}-{year}",
            priority=PRIORITY,
            life=DIGEST_LIFE,
        )
        return enclose("digest", person, letter, images, occasion, mark, contact)


def compose_page(
    person: Person, fields: Sequence[FieldFacts], occasion: Occasion, week: Week | None = None
) -> str:
    """Write the same digest as a page with all fields, for the screen and for paper.

    Parameters
    ----------
    person, fields, occasion, week
        As for :func:`compose_digest`.

    Returns
    -------
    str
        HTML that needs nothing from elsewhere.
    """
    _some(person, fields)
    ordered = by_urgency(fields)
    with speaking(person.language):
        letter = _letter(person, ordered, occasion, week or Week())
        drawn = with_picture(ordered, PAGE_PANELS * PAGE_PICTURES)
        parts = [drawn[i : i + PAGE_PANELS] for i in range(0, len(drawn), PAGE_PANELS)]
        pictures = tuple(
            Picture(_data(panels_chart(part, person.units)), panels_alt(part, person.units))
            for part in parts
        )
        return render_page(replace(letter, pictures=pictures, page_url="", stop_url=""), person)


def _some(person: Person, fields: Sequence[FieldFacts]) -> None:
    if not fields:
        raise ValueError(f"no field for person {person.id}; a digest needs at least one")


def _data(png: bytes) -> str:
    return f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"


def _who(person: Person) -> str:
    """Return a name for keys: the id, or a hash where there is none yet. Never the address."""
    return str(person.id) if person.id else sha256(person.email.encode()).hexdigest()[:12]


def _letter(person: Person, fields: Sequence[FieldFacts], occasion: Occasion, week: Week) -> Letter:
    """Put the words of the week together, all of them."""
    units, night = person.units, fields[0].night
    headline, text = say.summary(fields, units)
    number = night.isocalendar().week
    return Letter(
        subject=say.digest_subject(fields, number),
        headline=headline,
        summary=text,
        preview=text,
        dateline=say.week_line(number, night, units),
        leaving=say.leaving_line(person, "digest", linked=occasion.linked),
        reason=say.reason_line(person, "digest"),
        show_grower=person.role == "adviser",
        unit_word=say.unit_word(units),
        lines=tuple(field_view(facts, units, occasion.members) for facts in fields),
        sections=sections(fields, units, week, growers=person.role == "adviser"),
        page_url=week.page_url,
        stop_url=STOP_MARK if occasion.linked else "",
    )


def _for_mail(letter: Letter, fields: int) -> Letter:
    """Cut a letter so that mail programs show it whole; the rest is on the page."""
    most, left = (FEWER if fields > MANY else MOST), max(fields - ROWS, 0)
    return replace(
        letter,
        lines=letter.lines[:ROWS],
        more=left,
        sections=tuple(cut(one, most) for one in letter.sections),
        onward=say.onward_line(left) if letter.page_url else "",
    )
