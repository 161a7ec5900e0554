"""The digest's page in a real browser: readable on a phone and a desk, by day and by night."""

from __future__ import annotations

import pytest

from browser.test_mail_pages import ALT_CONTRAST, CHROMIUM, CONTRAST, FLAGS, LEAST_CONTRAST
from rootbound_service.notes.digest import compose_digest
from rootbound_service.notes.digest_page import compose_page
from rootbound_service.notes.letter import render_preview
from rootbound_service.notes.occasion import Occasion
from service.notes.cast import INES, NOW, alder_county
from service.notes.fullest import fullest
from service.notes.many import a_week

FIELDS = (*alder_county(), fullest(field_id=99))
OCCASION = Occasion(NOW, members=30, linked=True)
WEEK = a_week(FIELDS, "https://rootbound.example/d/1-1.abc")

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="no Chromium at /usr/bin/chromium")
# How many pictures stand beside the first one.
BESIDE = """
() => { const all = [...document.querySelectorAll("img")].map((one) => one.getBoundingClientRect());
        return all.filter((one) => one.top === all[0].top).length; }
"""


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="module")
def documents():
    mail = compose_digest(INES, FIELDS, OCCASION, WEEK)
    page = compose_page(INES, FIELDS, OCCASION, WEEK)
    return {"mail": render_preview(mail.html, mail.images), "page": page}


@pytest.fixture
def show(browser, documents):
    def opened(which, width, scheme="light"):
        page = browser.new_page(viewport={"width": width, "height": 640}, color_scheme=scheme)
        pages.append(page)
        page.set_content(documents[which])
        return page

    pages = []
    yield opened
    for page in pages:
        page.close()


@pytest.mark.parametrize("which", ["mail", "page"])
@pytest.mark.parametrize("width", [320, 640, 1000])
def test_nothing_scrolls_sideways_whatever_the_names(show, which, width):
    assert show(which, width).evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 960])
def test_all_text_of_the_page_can_be_read_on_its_background(show, width, scheme):
    page = show("page", width, scheme)
    found = page.evaluate(CONTRAST) + page.evaluate(ALT_CONTRAST)

    assert len(found) > 100
    assert [one for one in found if one[1] < LEAST_CONTRAST] == []


@pytest.mark.parametrize(
    ("which", "width", "beside"),
    [("mail", 320, 1), ("mail", 640, 2), ("page", 320, 1), ("page", 960, 3)],
)
def test_pictures_stand_side_by_side_where_there_is_room(show, which, width, beside):
    assert show(which, width).evaluate(BESIDE) == beside


@pytest.mark.parametrize("which", ["mail", "page"])
def test_words_in_a_picture_are_at_least_ten_pixels_high_on_the_narrowest_phone(show, which):
    scale = show(which, 320).evaluate(
        "(() => { const one = document.querySelector('img');"
        " return one.getBoundingClientRect().width / one.naturalWidth; })()"
    )
    assert scale * 9.5 / 72 * 110 >= 10  # the smallest type is of 9.5 points at 110 to the inch


def test_a_tables_line_spans_the_phone(show):
    widths = show("page", 320).evaluate(
        "[...document.querySelectorAll('td.line')].map((one) => one.getBoundingClientRect().width)"
    )
    assert widths
    assert min(widths) > 250
