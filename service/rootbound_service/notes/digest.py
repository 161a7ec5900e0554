"""The weekly letter as a mail: all fields of a person, the most urgent first, and small enough."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from rootbound_service.notes.digest_letter import DigestLetter, digest_letter, who
from rootbound_service.notes.envelope import Postmark, enclose
from rootbound_service.notes.listing import cut
from rootbound_service.notes.occasion import DIGEST_LIFE
from rootbound_service.notes.order import by_urgency
from rootbound_service.notes.panels import panel, panels, with_picture
from rootbound_service.notes.speech import say, speaking
from rootbound_service.notes.week import Week
from rootbound_service.notes.weight import first_that_fits
from rootbound_service.telling.digest_day import week_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Contact, OutboxMessage, Person

PRIORITY = 7


class Cut(NamedTuple):
    """How much of a week a mail tells."""

    rows: int
    panels: int
    items: int
    """Of each list."""


CUTS = (
    Cut(24, 8, 10), Cut(24, 8, 5), Cut(24, 6, 4), Cut(20, 6, 3), Cut(16, 6, 3), Cut(12, 4, 2),
    Cut(8, 2, 2), Cut(5, 0, 1),
)  # fmt: skip
"""Mail programs cut letters over 100 kB: the first of these that stays under it is told."""


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
    ordered = by_urgency(fields)
    with speaking(person.language):
        whole = digest_letter(person, ordered, occasion, week or Week())
        letter, images = first_that_fits(
            "digest", CUTS, lambda most: _cut(whole, ordered, person, most)
        )
        week_name = week_of(ordered[0].night)
        mark = Postmark(
            dedupe_key=f"digest-{who(person)}-{week_name}",
            thread_key=f"digest-{who(person)}-{week_name[:4]}",
            priority=PRIORITY,
            life=DIGEST_LIFE,
        )
        return enclose("digest", person, letter, images, occasion, mark, contact)


def picture_name(facts: FieldFacts) -> str:
    """Content-ID of a field's panel.

    Parameters
    ----------
    facts
        The field.
    """
    return f"panel-{facts.field_id}-{facts.night}@rootbound"


def _cut(
    whole: DigestLetter, fields: Sequence[FieldFacts], person: Person, most: Cut
) -> tuple[DigestLetter, Mapping[str, bytes]]:
    """Cut a letter and its pictures to so much; the rest is counted, and on the page."""
    drawn, left = with_picture(fields, most.panels), max(len(fields) - most.rows, 0)
    letter = replace(
        whole,
        lines=whole.lines[: most.rows],
        more=left,
        news=tuple(cut(one, most.items) for one in whole.news),
        sections=tuple(cut(one, most.items) for one in whole.sections),
        pictures=panels(drawn, person.units, lambda facts, _: f"cid:{picture_name(facts)}"),
        onward=say.onward_line(left) if whole.page_url else "",
    )
    return letter, {picture_name(facts): panel(facts, person.units) for facts in drawn}
