"""The weekly letter as a page, for the screen and for paper: all fields, a sheet a grower."""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import TYPE_CHECKING

from rootbound_service.notes.digest_letter import DigestLetter, Sheet, digest_letter, sheet
from rootbound_service.notes.letter import render_page
from rootbound_service.notes.listing import by_grower, cut
from rootbound_service.notes.order import by_urgency
from rootbound_service.notes.panels import panels, with_picture
from rootbound_service.notes.speech import speaking
from rootbound_service.notes.week import Week

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.letter import Picture
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Person

PANELS, SHEET_PANELS = 24, 6
"""So many fields are drawn on a page of one grower, and on each sheet of a page of many."""
ROWS, ITEMS = 40, 12
"""So many fields, and names in a list, stand before the sheets, which have them all."""


def compose_page(
    person: Person, fields: Sequence[FieldFacts], occasion: Occasion, week: Week | None = None
) -> str:
    """Write a digest as a page with all fields.

    An adviser of several growers reads the most urgent of all first; then each grower has a
    sheet of their own that can be torn off and handed over.

    Parameters
    ----------
    person, fields, occasion, week
        As for :func:`rootbound_service.notes.digest.compose_digest`.

    Returns
    -------
    str
        HTML that needs nothing from elsewhere.

    Raises
    ------
    ValueError
        If there is no field to tell about.
    """
    ordered, told = by_urgency(fields), week or Week()
    with speaking(person.language):
        letter = replace(digest_letter(person, ordered, occasion, told), stop_url="")
        growers = by_grower(ordered)
        if person.role == "adviser" and len(growers) > 1:
            sheets = tuple(
                _drawn(sheet(name, mine, person, occasion, told), mine, person)
                for name, mine in growers.items()
            )
            return render_page(_before_sheets(replace(letter, sheets=sheets)), person)
        return render_page(replace(letter, pictures=_pictures(ordered, person, PANELS)), person)


def _drawn(one: Sheet, fields: Sequence[FieldFacts], person: Person) -> Sheet:
    """Put the pictures of its first fields on a sheet."""
    return replace(one, pictures=_pictures(fields, person, SHEET_PANELS))


def _pictures(fields: Sequence[FieldFacts], person: Person, most: int) -> tuple[Picture, ...]:
    """Draw the first fields, each picture within the page."""
    return panels(with_picture(fields, most), person.units, lambda _, png: _data(png))


def _data(png: bytes) -> str:
    """Return the address of a picture that holds all of it."""
    return f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"


def _before_sheets(letter: DigestLetter) -> DigestLetter:
    """Cut what is on the sheets as well; the growers are all named."""
    return replace(
        letter,
        lines=letter.lines[:ROWS],
        more=max(len(letter.lines) - ROWS, 0),
        news=tuple(cut(one, max(ITEMS, len(letter.sheets))) for one in letter.news),
        sections=tuple(cut(one, ITEMS) for one in letter.sections),
    )
