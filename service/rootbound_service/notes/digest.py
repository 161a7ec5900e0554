"""The weekly letter: all fields of a person, the most urgent first."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_service.notes.envelope import Postmark, enclose
from rootbound_service.notes.letter import Letter
from rootbound_service.notes.occasion import DIGEST_LIFE
from rootbound_service.notes.order import by_urgency
from rootbound_service.notes.panels import panels_alt, panels_chart, with_picture
from rootbound_service.notes.sections import sections
from rootbound_service.notes.speech import say
from rootbound_service.notes.units import day, unit_word
from rootbound_service.notes.views import field_view
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Person

ROWS = 60
"""So many fields are listed: mail programs cut letters over 100 kB."""
PICTURE = "season-panels@rootbound"
PRIORITY = 7


def compose_digest(
    person: Person,
    fields: Sequence[FieldFacts],
    occasion: Occasion,
    digs: DigList | None = None,
) -> OutboxMessage:
    """Write the digest of one person.

    Parameters
    ----------
    person
        Whom it is for: a grower gets their fields, an adviser those of all growers.
    fields
        The facts of the latest night, ``previous_rung`` being that of a week ago; any order.
    occasion
        The night.
    digs
        What there is to dig that night, of these and perhaps other fields.

    Returns
    -------
    OutboxMessage
        Its key holds person and week: a second digest in the same week is the same message.

    Raises
    ------
    ValueError
        If there is no field to tell about.
    """
    if not fields:
        raise ValueError(f"no field for person {person.id}; a digest needs at least one")
    ordered = by_urgency(fields)
    year, week, _ = ordered[0].night.isocalendar()
    drawn = with_picture(ordered)
    images = {PICTURE: panels_chart(drawn, person.units)} if drawn else {}
    letter = _letter(person, ordered, drawn, week, occasion, digs)
    mark = Postmark(
        dedupe_key=f"digest-{_who(person)}-{year}-W{week:02d}",
        thread_key=f"digest-{_who(person)}-{year}",
        priority=PRIORITY,
        life=DIGEST_LIFE,
    )
    return enclose("digest", person, letter, images, occasion, mark)


def _who(person: Person) -> str:
    """Return a name for keys: the id, or a hash where there is none yet. Never the address."""
    return str(person.id) if person.id else sha256(person.email.encode()).hexdigest()[:12]


def _letter(
    person: Person,
    fields: Sequence[FieldFacts],
    drawn: Sequence[FieldFacts],
    week: int,
    occasion: Occasion,
    digs: DigList | None,
) -> Letter:
    """Put the words of the week together."""
    units = person.units
    headline, text = say.summary(fields, units)
    night = fields[0].night
    return Letter(
        subject=say.digest_subject(fields, week),
        headline=headline,
        summary=text,
        preview=text,
        dateline=f"Week {week}, night of {day(night, units)}, {night.year}",
        leaving=say.leaving_line(person, "digest"),
        show_grower=person.role == "adviser",
        unit_word=unit_word(units),
        lines=tuple(field_view(facts, units, occasion.members) for facts in fields[:ROWS]),
        more=max(len(fields) - ROWS, 0),
        sections=sections(fields, units, digs),
        picture=PICTURE if drawn else "",
        picture_alt=panels_alt(drawn, units) if drawn else "",
    )
