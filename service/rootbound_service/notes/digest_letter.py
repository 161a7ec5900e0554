"""The words of a week, whole: what the mail cuts and the page shows in full."""

from __future__ import annotations

from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_service.links import STOP_MARK
from rootbound_service.notes.letter import Letter, Picture, Section
from rootbound_service.notes.sections import news_sections, sections
from rootbound_service.notes.speech import say
from rootbound_service.notes.views import field_view

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.notes.views import FieldView
    from rootbound_service.notes.week import Week
    from rootbound_service.records import Person


@dataclass(frozen=True, slots=True)
class Sheet:
    """One grower's fields, to be handed to them: nothing of anybody else is on it."""

    name: str
    headline: str
    summary: str
    lines: tuple[FieldView, ...]
    pictures: tuple[Picture, ...]
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class DigestLetter(Letter):
    """A letter with the news of the week above its pictures, and a sheet for each grower."""

    news: tuple[Section, ...] = ()
    sheets: tuple[Sheet, ...] = ()


def digest_letter(
    person: Person, fields: Sequence[FieldFacts], occasion: Occasion, week: Week
) -> DigestLetter:
    """Put the words of the week together, all of them.

    Parameters
    ----------
    person
        Whom it is for.
    fields
        The most urgent first; at least one.
    occasion
        The night.
    week
        What the week was like.

    Raises
    ------
    ValueError
        If there is no field to tell about.
    """
    if not fields:
        raise ValueError(f"no field for person {person.id}; a digest needs at least one")
    units, night = person.units, fields[0].night
    headline, text = say.summary(fields, units)
    number, adviser = night.isocalendar().week, person.role == "adviser"
    return DigestLetter(
        subject=say.digest_subject(fields, number),
        headline=headline,
        summary=text,
        preview=text,
        dateline=say.week_line(number, night, units),
        leaving=say.leaving_line(person, "digest", linked=occasion.linked),
        reason=say.reason_line(person, "digest"),
        show_grower=adviser,
        unit_word=say.unit_word(units),
        lines=views(fields, person, occasion),
        news=news_sections(fields, units, week, growers=adviser),
        sections=sections(fields, units, week),
        page_url=week.page_url,
        stop_url=STOP_MARK if occasion.linked else "",
    )


def views(
    fields: Sequence[FieldFacts], person: Person, occasion: Occasion
) -> tuple[FieldView, ...]:
    """Word each field for a line of a table.

    Parameters
    ----------
    fields, person, occasion
        As for :func:`digest_letter`.
    """
    return tuple(field_view(facts, person.units, occasion.members) for facts in fields)


def sheet(
    name: str,
    fields: Sequence[FieldFacts],
    person: Person,
    occasion: Occasion,
    week: Week,
) -> Sheet:
    """Word one grower's sheet, without pictures.

    Parameters
    ----------
    name
        The grower's.
    fields
        Theirs alone, the most urgent first.
    person
        The adviser, whose units and language it is in.
    occasion
        The night.
    week
        The adviser's; what only the adviser is told is left out.
    """
    headline, text = say.summary(fields, person.units)
    theirs = replace(week, unreached=(), silent={})
    news = news_sections(fields, person.units, theirs)
    told = (*news, *sections(fields, person.units, theirs))
    return Sheet(name, headline, text, views(fields, person, occasion), (), told)


def who(person: Person) -> str:
    """Return a name for keys: the id, or a hash where there is none yet. Never the address.

    Parameters
    ----------
    person
        The reader.
    """
    return str(person.id) if person.id else sha256(person.email.encode()).hexdigest()[:12]
