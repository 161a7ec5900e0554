"""Letters in a real browser: no sideways scrolling on a phone, readable rungs in light and dark."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.digest import compose_digest
from rootbound_service.notes.letter import render_preview
from rootbound_service.notes.occasion import Occasion
from service.notes.cast import INES, NOW, alder_county, field

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3, for text of ordinary size."""

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="no Chromium at /usr/bin/chromium")

# Contrast as WCAG 2.2 defines it: relative luminance of text against the nearest background.
CONTRAST = """
() => {
  const light = (rgb) => rgb.slice(0, 3).map((c) => c / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const parts = (css) => css.match(/[\\d.]+/g).map(Number);
  const ground = (node) => {
    for (; node; node = node.parentElement) {
      const rgb = parts(getComputedStyle(node).backgroundColor);
      if (rgb.length < 4 || rgb[3] > 0) return rgb;
    }
    return [255, 255, 255];
  };
  const texts = [...document.querySelectorAll("body *")].filter((node) =>
    node.offsetParent && [...node.childNodes].some((c) => c.nodeType === 3 && c.data.trim()));
  return texts.map((node) => {
    const [a, b] = [light(parts(getComputedStyle(node).color)), light(ground(node))];
    return [node.className, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05)];
  });
}
"""


# A picture that is not shown has its own words on its own background.
ALT_CONTRAST = CONTRAST.replace(
    "return texts.map", "return [...document.querySelectorAll('img')].map"
).replace("return [node.className,", "return [node.alt,")
# What a phone shows of a letter before anybody scrolls; 640 px high, as small phones are.
GLANCE = """
() => [...document.querySelectorAll("h1, h3, .chip, .advice, .lead a")]
  .filter((node) => node.getBoundingClientRect().bottom <= 640).map((node) => node.innerText)
"""


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="module", params=["note", "digest"])
def letter(request):
    occasion = Occasion(NOW, members=30)
    fields = [field("A name that is rather long for a field", field_id=99), *alder_county()]
    if request.param == "digest":
        message = compose_digest(INES, fields, occasion)
    else:
        notes = [FieldNote(facts, f"note-{facts.field_id}", 5, irrigated=True) for facts in fields]
        message = compose_note(INES, notes, occasion)
    return render_preview(message.html, message.images)


@pytest.fixture
def page(browser, letter):
    def show(width, scheme="light"):
        opened = browser.new_page(viewport={"width": width, "height": 640}, color_scheme=scheme)
        pages.append(opened)
        opened.set_content(letter)
        return opened

    pages = []
    yield show
    for opened in pages:
        opened.close()


@pytest.mark.parametrize("width", [320, 360, 720])
def test_a_letter_does_not_scroll_sideways(page, width):
    assert page(width).evaluate("document.documentElement.scrollWidth") == width


def test_a_rung_never_wraps_on_the_narrowest_phone(page):
    heights = page(320).evaluate(
        "[...document.querySelectorAll('.chip')].map((chip) => chip.getClientRects().length)"
    )
    assert heights
    assert set(heights) == {1}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_with_images_off_the_words_in_their_place_can_be_read(page, scheme):
    found = page(320, scheme).evaluate(ALT_CONTRAST)

    assert found
    assert min(ratio for _, ratio in found) >= LEAST_CONTRAST
    assert all(re.search(r"\d (in|mm)\b", words) for words, _ in found)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_can_be_read_on_its_background(page, scheme):
    found = page(360, scheme).evaluate(CONTRAST)
    rungs = {name.split()[-1] for name, _ in found if name.startswith("chip")}

    assert {"r0", "r1", "r2", "r3", "none"} <= rungs
    assert [entry for entry in found if entry[1] < LEAST_CONTRAST] == []


def test_the_letter_is_no_wider_than_mail_programs_expect(page):
    width = page(1200).evaluate("document.querySelector('.sheet').getBoundingClientRect().width")
    assert width == 640


def test_a_note_says_state_rung_first_step_and_how_to_stop_at_first_glance(browser):
    note = FieldNote(field(), "note-a", 5, irrigated=True)
    opened = browser.new_page(viewport={"width": 320, "height": 640})
    opened.set_content(compose_note(INES, [note], Occasion(NOW, 30, linked=True)).html)
    seen = opened.evaluate(GLANCE)
    opened.close()

    assert seen[0] == "Long Acre is tight, with 0.4 in of water in reach."
    assert "2 tight" in seen
    assert "Stop these letters" in seen
    assert "What you can do" in seen
    assert any(one.startswith("Water this field first") and "Mind:" in one for one in seen)
