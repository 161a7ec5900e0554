"""The digest as a page and on paper: all fields, and a sheet a grower with nobody else on it."""

from __future__ import annotations

import io
from functools import cache
from html.parser import HTMLParser

import pytest

from rootbound_service.notes.digest_page import PANELS, SHEET_PANELS, compose_page
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.pdf import pdf_of
from service.notes.cast import INES, MAREN, NOW, TOBIAS, alder_county, field
from service.notes.many import GROWERS, a_week, four_hundred

OCCASION = Occasion(NOW, members=30, linked=True)
URL = "https://rootbound.example/d/1-1.abc"
POINTS = {"us": (612, 792), "metric": (595, 842)}
"""Paper of US letter and ISO 216 A4 size. [1/72 in]"""


class Outline(HTMLParser):
    """Collect the text of each sheet, and every address the page names."""

    def __init__(self, html):
        super().__init__()
        self.sheets, self.addresses, self.pictures = [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        named = dict(attrs)
        if tag == "section":
            self.sheets.append("")
        if tag == "img":
            self.pictures.append((len(self.sheets) - 1, named["alt"]))
        self.addresses += [named[key] for key in ("src", "href") if key in named]

    def handle_data(self, data):
        if self.sheets:
            self.sheets[-1] += f" {' '.join(data.split())}"


@cache
def page(person=INES, count=0):
    fields = four_hundred(count) if count else alder_county()
    mine = [one for one in fields if person is INES or one.grower_name == person.name]
    return compose_page(person, mine, OCCASION, a_week(tuple(mine), URL))


def test_every_field_is_on_the_page_of_an_adviser():
    sheets = Outline(page(count=48)).sheets

    assert all(any(one.field_name in text for text in sheets[1:]) for one in four_hundred(48))


def test_each_grower_has_a_sheet_and_no_other_grower_or_their_field_is_on_it():
    first, *sheets = Outline(page(count=48)).sheets
    fields = four_hundred(48)

    assert "By grower" in first
    assert len(sheets) == len(GROWERS)
    for sheet in sheets:
        (owner,) = [name for name in GROWERS if f"fields of {name} " in sheet]
        there = {one.grower_name for one in fields if f" {one.field_name} " in sheet}
        assert there == {owner}
        assert sum(name in sheet for name in GROWERS) == 1


def test_what_only_the_adviser_is_told_stays_off_the_growers_sheets():
    first, *sheets = Outline(page()).sheets

    for title in ("Notes that did not reach you", "Silent at your wish"):
        assert title in first
        assert not any(title in sheet for sheet in sheets)


def test_each_sheet_has_the_cautions_and_says_who_handed_it_on():
    for sheet in Outline(page()).sheets[1:]:
        assert "promise no yield" in sheet
        assert "Handed on by Ines Varga." in sheet
    assert "call 811" in Outline(page()).sheets[1]  # a field of theirs is to be dug


def test_a_grower_has_one_sheet_with_their_pictures():
    outline = Outline(page(MAREN))

    assert len(outline.sheets) == 1
    assert len(outline.pictures) == 5
    assert "Tobias Reyl" not in page(MAREN)


def test_pictures_are_drawn_to_a_number():
    fields = [field(f"Field {n}", field_id=n) for n in range(PANELS + 3)]
    grown = Outline(compose_page(MAREN, fields, OCCASION))
    two = [*fields[:9], field("Elsewhere", grower_name=TOBIAS.name)]
    advised = Outline(compose_page(INES, two, OCCASION))

    assert len(grown.pictures) == PANELS
    assert [place for place, _ in advised.pictures] == [1] + [2] * SHEET_PANELS


def test_the_page_needs_nothing_from_elsewhere_and_runs_nothing():
    outline = Outline(page())

    assert all(
        one.startswith("data:image/png;base64,") for one in outline.addresses if one != f"{URL}.pdf"
    )
    assert outline.addresses.count(f"{URL}.pdf") == 1
    assert "<script" not in page()
    assert "url(" not in page()


def test_a_name_cannot_break_out_of_the_page():
    html = compose_page(INES, [field('<b onclick="x">', grower_name='"><i>')], OCCASION)

    assert "<b onclick" not in html
    assert "<i>" not in html


def test_the_same_week_is_the_same_page():
    again = compose_page(INES, alder_county(), OCCASION, a_week(alder_county(), URL))
    assert again == page()


def test_a_page_about_nothing_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        compose_page(INES, [], OCCASION)


@pytest.mark.parametrize("person", [MAREN, TOBIAS], ids=["letter", "A4"])
def test_paper_has_the_size_of_the_readers_country(person):
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("weasyprint")
    first = pypdf.PdfReader(io.BytesIO(pdf_of(page(person)))).pages[0]

    assert (round(first.mediabox.width), round(first.mediabox.height)) == POINTS[person.units]


def test_on_paper_each_grower_begins_a_new_sheet_and_every_sheet_says_whose_it_is():
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("weasyprint")
    leaves = [leaf.extract_text() for leaf in pypdf.PdfReader(io.BytesIO(pdf_of(page()))).pages]

    for name, other in ((MAREN.name, TOBIAS.name), (TOBIAS.name, MAREN.name)):
        theirs = [leaf for leaf in leaves if f"fields of {name}" in leaf]
        assert theirs
        assert not any(other in leaf for leaf in theirs)
    assert all("Rootbound digest" in leaf for leaf in leaves)
    assert f"{len(leaves)} of {len(leaves)}" in leaves[-1]
