"""The dig card in a real browser: with script and without."""

from __future__ import annotations

import pytest

from browser.app_browser import NEEDS_CHROMIUM, PHONE, a_browser, served
from browser.app_scene import JPEG, an_app
from browser.dig_phone import READ, digs, fill, go, keep, until
from browser.test_mail_pages import CONTRAST, LEAST_CONTRAST
from rootbound_service.web.access.reader import PLAIN_COOKIE

pytestmark = NEEDS_CHROMIUM


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("dig")) as opened:
        yield opened


@pytest.fixture(scope="module")
def base(scene):
    with served(scene) as address:
        yield address


@pytest.fixture(scope="module")
def browser():
    with a_browser() as running:
        yield running


@pytest.fixture
def open_as(browser, base, scene):
    """Opens a phone of somebody; a new one each time."""
    opened = []

    def phone(word="adviser", who=None, **more):
        context = browser.new_context(viewport={"width": PHONE, "height": 740}, **more)
        key = (who or scene.who[word]).key
        context.add_cookies([{"name": PLAIN_COOKIE, "value": key, "url": base}])
        context.set_default_timeout(40_000)
        opened.append(context)
        return context

    yield phone
    for context in opened:
        context.close()


def test_a_card_is_filled_in_plant_by_plant_with_a_thumb(open_as, base, scene):
    field = scene.fields[3]
    page = open_as().new_page()
    page.goto(f"{base}/fields/{field.id}/dig")
    assert not page.get_by_role("button", name="Keep the card").is_visible()  # cautions first
    page.get_by_role("button", name=READ).click()
    for _ in range(3):
        page.get_by_role("button", name="One more: Roots held, plant 1").click()
    page.get_by_role("button", name="One more: Roots crossing, plant 1").click()
    page.get_by_role("button", name="One less: Roots held, plant 1").click()
    page.locator("label:has(#w-1-1)").click()
    page.get_by_role("button", name="Next plant").click()
    assert page.locator("#c-1").is_hidden()
    page.locator("#c-2").fill("2")
    page.locator("#h-2").fill("6")
    page.locator("label:has(#w-2-3)").click()
    assert "3 roots cross, 8 are held" in page.locator("form#dig").inner_text()
    keep(page)
    page.wait_for_url("**/dig/*")

    assert page.get_by_text("It counts from tonight").is_visible()
    (found,) = digs(scene, field)
    assert (found.plants, found.crossing, found.held, found.wall_class) == (2, 3, 8, 3)


def test_a_card_is_kept_without_any_script(open_as, base, scene):
    field = scene.fields[7]
    page = open_as(java_script_enabled=False).new_page()
    page.goto(f"{base}/fields/{field.id}/dig")
    assert page.get_by_label("Roots crossing").nth(4).is_visible()  # five plants in a row
    fill(page, wall=3)
    page.locator("#d-photo").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": JPEG}
    )
    keep(page)

    assert page.get_by_role("heading", name="What the dig of").is_visible()
    assert page.get_by_alt_text("Photo 1 of the dig").count() == 1
    assert [one.wall_class for one in digs(scene, field)] == [3]


def test_pressing_twice_keeps_one_card(open_as, base, scene):
    field = scene.fields[11]
    page = open_as().new_page()
    go(page, base, field)
    fill(page)
    page.evaluate("""() => { const form = document.querySelector('form#dig');
        form.requestSubmit(); form.requestSubmit(); }""")
    page.wait_for_url("**/dig/*")

    assert len(digs(scene, field)) == 1


def test_what_is_wrong_is_said_beside_its_plant_and_nothing_is_lost(open_as, base, scene):
    field = scene.fields[0]
    before = len(digs(scene, field))
    page = open_as().new_page()
    go(page, base, field)
    fill(page, held="")
    page.locator("#d-note").fill("stony headland")
    page.locator("#d-shot").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": JPEG}
    )
    keep(page)
    page.get_by_role("alert").get_by_role("link", name="plant 1, held").click()

    assert page.locator("#h-1").get_attribute("aria-invalid") == "true"
    assert page.evaluate("document.activeElement.id") == "h-1"
    assert page.locator("#d-note").input_value() == "stony headland"
    assert len(digs(scene, field)) == before
    page.locator("#h-1").fill("4")
    keep(page)
    page.wait_for_url("**/dig/*")
    assert page.get_by_alt_text("Photo 1 of the dig").count() == 1  # the photo was not lost either
    assert digs(scene, field)[-1].note == "stony headland"


def test_a_plant_that_is_folded_away_is_shown_when_it_is_wrong(open_as, base, scene):
    page = open_as().new_page()
    go(page, base, scene.fields[10])
    fill(page, held="x")
    page.get_by_role("button", name="Next plant").click()
    keep(page)
    page.get_by_role("alert").get_by_role("link", name="plant 1, Roots held").click()

    assert page.locator("#h-1").is_visible()
    assert page.evaluate("document.activeElement.id") == "h-1"
    assert "NaN" not in page.locator("form#dig").inner_text()


def test_what_was_typed_is_there_after_the_page_is_loaded_again(open_as, base, scene):
    page = open_as().new_page()
    go(page, base, scene.fields[8])
    fill(page)
    until(
        page,
        "async () => Boolean(await self.digCards.draft(`${document.querySelector('form#dig')"
        ".dataset.person}-${document.querySelector('form#dig').dataset.field}`))",
    )
    page.reload()
    page.get_by_text("is here again").wait_for()

    assert page.locator("#h-1").input_value() == "4"
    assert page.locator("#w-1-2").is_checked()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_card_fits_a_phone_and_can_be_read(open_as, base, scene, scheme):
    page = open_as(color_scheme=scheme).new_page()
    go(page, base, scene.fields[9])
    fill(page)
    found = page.evaluate(CONTRAST)
    small = page.evaluate("""() => [...document.querySelectorAll('main button, .card, main select')]
        .filter((one) => one.offsetParent && one.getBoundingClientRect().height < 44)
        .map((one) => one.textContent)""")

    assert page.evaluate("document.documentElement.scrollWidth") == PHONE
    assert [one for one in found if one[1] < LEAST_CONTRAST] == []
    assert small == []
