"""A letter as values, and how it becomes HTML and text: one layout for note and digest."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from rootbound_service.notes.plain import FILTERS
from rootbound_service.notes.speech import say, spoken

if TYPE_CHECKING:
    from collections.abc import Mapping

    import css_inline
    import jinja2

    from rootbound_service.notes.views import FieldView
    from rootbound_service.records import Person


PAPER = {"us": "Letter", "metric": "A4"}


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a section: a field and what is said of it."""

    name: str
    grower: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """A titled list in the digest; ``more`` counts what was left off."""

    title: str
    intro: str
    items: tuple[Item, ...]
    more: int = 0


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture by its address, and its numbers in words."""

    source: str
    alt: str


@dataclass(frozen=True, slots=True)
class Letter:
    """Everything a template may show."""

    subject: str
    headline: str
    summary: str
    preview: str
    """What an inbox shows after the subject."""
    dateline: str
    leaving: str
    """Why the reader gets this and how to stop it, for the foot."""
    reason: str
    """The first half of that, for the top."""
    show_grower: bool
    unit_word: str = "inches"
    cards: tuple[FieldView, ...] = ()
    lines: tuple[FieldView, ...] = ()
    more: int = 0
    sections: tuple[Section, ...] = ()
    pictures: tuple[Picture, ...] = ()
    sources: tuple[tuple[int, str], ...] = ()
    cautions: tuple[str, ...] = field(default_factory=lambda: say.CAUTIONS)
    stop_url: str = ""
    """Where one stops such letters; empty: there is no web address."""
    page_url: str = ""
    """The letter as a page."""
    onward: str = ""
    """What the link to the page says."""
    note_url: str = ""
    """Page on which one says "seen" or silences a field; empty likewise."""

    @property
    def source_text(self) -> str:
        """The sources of the advice in one line."""
        return "; ".join(f"{number} {key}" for number, key in self.sources)


def render(kind: str, letter: Letter) -> tuple[str, str]:
    """Render a letter.

    Parameters
    ----------
    kind
        ``note`` or ``digest``: the name of its templates.
    letter
        What to show.

    Returns
    -------
    tuple of str
        HTML with inlined styles, and plain text under 72 columns.
    """
    return _rendered(kind, letter, spoken())


@lru_cache(maxsize=8)  # a letter is weighed first and enclosed then
def _rendered(kind: str, letter: Letter, language: str) -> tuple[str, str]:
    """Render it once."""
    templates = _templates(language)
    html = templates.get_template(f"{kind}.html.j2").render(letter=letter)
    text = templates.get_template(f"{kind}.txt.j2").render(letter=letter)
    return _inliner().inline(html), text.strip() + "\n"


def render_page(letter: Letter, person: Person) -> str:
    """Render a digest as a page for the screen and for paper.

    Parameters
    ----------
    letter
        What to show, whole.
    person
        The reader: their name stands on it, their units say what paper they have.
    """
    page = _templates(spoken()).get_template("page.html.j2")
    return page.render(letter=letter, person=person, paper=PAPER[person.units])


def render_preview(html: str, images: Mapping[str, bytes]) -> str:
    """Put pictures into a letter so that it opens as a file.

    Parameters
    ----------
    html
        HTML of a message, pictures by ``cid:``.
    images
        PNG bytes by Content-ID.
    """
    for name, png in images.items():
        data = base64.b64encode(png).decode("ascii")
        html = html.replace(f'"cid:{name}"', f'"data:image/png;base64,{data}"')
    return html


@cache
def _templates(language: str) -> jinja2.Environment:
    """Return the templates of a language: HTML escaped, text not."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader(f"rootbound_service.notes.{language}", "templates"),
        autoescape=jinja2.select_autoescape(("html.j2",), default=False),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(FILTERS)
    return environment


@cache
def _inliner() -> css_inline.CSSInliner:
    """Return the inliner; it keeps the style sheet, whose media queries cannot be inlined."""
    import css_inline

    return css_inline.CSSInliner(
        keep_style_tags=True, remove_inlined_selectors=True, load_remote_stylesheets=False
    )
