"""Dig cards where there is no network: kept on the phone, sent once, never lost."""

from __future__ import annotations

from browser.app_browser import NEEDS_CHROMIUM
from browser.app_scene import JPEG
from browser.dig_phone import READ, digs, fill, go, keep, ready_for_no_network, until
from browser.test_dig_card import (  # noqa: F401  (fixtures are found by their names)
    base,
    browser,
    open_as,
    scene,
)
from rootbound_service.web.access.reader import PLAIN_COOKIE

pytestmark = NEEDS_CHROMIUM
WAITS = "1 card waits on this phone"


def test_a_card_filled_in_without_network_is_sent_once_when_there_is_one(open_as, base, scene):  # noqa: F811  (fixtures)
    field = scene.fields[1]
    before = len(digs(scene, field))
    phone = open_as()
    page = phone.new_page()
    ready_for_no_network(page, base, field)
    phone.set_offline(True)
    page.goto(f"{base}/fields/{field.id}/dig")  # opened where there is no network
    fill(page)
    page.locator("#d-date").fill("2026-07-08")  # the phone's own day is not the scene's
    page.locator("#d-photo").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": JPEG}
    )
    keep(page)
    page.get_by_text(WAITS).wait_for()
    page.goto(f"{base}/dig-list")
    page.get_by_text(WAITS).wait_for()  # it outlives the page
    assert len(digs(scene, field)) == before

    phone.set_offline(False)
    page.get_by_text("Kept: the card of").wait_for()
    page.get_by_role("link", name="What it means").first.click()
    page.wait_for_url("**/dig/*")
    assert len(digs(scene, field)) == before + 1
    assert page.get_by_alt_text("Photo 1 of the dig").count() == 1
    page.goto(f"{base}/dig-list")
    assert page.get_by_text(WAITS).count() == 0


def test_two_tabs_send_a_waiting_card_once(open_as, base, scene):  # noqa: F811  (fixtures)
    field = scene.fields[2]
    before = len(digs(scene, field))
    phone = open_as()
    one, two = phone.new_page(), phone.new_page()
    ready_for_no_network(one, base, field)
    two.goto(f"{base}/dig-list")
    phone.set_offline(True)
    fill(one)
    keep(one)
    one.get_by_text(WAITS).wait_for()
    two.get_by_text(WAITS).wait_for()  # the other tab hears of it
    phone.set_offline(False)
    one.evaluate("() => self.waitingShown.send()")
    two.evaluate("() => self.waitingShown.send()")
    until(one, "async () => (await self.digCards.all()).length === 0")

    assert len(digs(scene, field)) == before + 1


def test_a_refused_card_stays_on_the_phone_with_its_reason(open_as, base, scene):  # noqa: F811  (fixtures)
    field = scene.fields[4]
    before = len(digs(scene, field))
    phone = open_as()
    page = phone.new_page()
    ready_for_no_network(page, base, field)
    phone.set_offline(True)
    fill(page, held="400")
    keep(page)
    page.get_by_text(WAITS).wait_for()
    phone.set_offline(False)
    page.get_by_role("heading", name="could not be kept").wait_for()
    assert "is no count of roots" in page.locator("#waiting").inner_text()
    assert len(digs(scene, field)) == before

    page.get_by_role("button", name="Correct it").click()
    page.get_by_role("alert").get_by_role("link", name="plant 1, held").wait_for()
    assert page.locator("#h-1").input_value() == "400"
    page.locator("#h-1").fill("4")
    if page.get_by_role("button", name=READ).is_visible():
        page.get_by_role("button", name=READ).click()
    keep(page)
    page.wait_for_url("**/dig/*")
    assert len(digs(scene, field)) == before + 1


def test_a_card_outlives_the_session_and_is_sent_after_signing_in(open_as, base, scene):  # noqa: F811  (fixtures)
    field = scene.fields[5]
    before = len(digs(scene, field))
    who = scene.sign_in("adviser")
    phone = open_as(who=who)
    page = phone.new_page()
    go(page, base, field)
    fill(page)
    phone.clear_cookies()
    keep(page)
    page.get_by_role("link", name="Sign in").wait_for()
    assert page.get_by_text(WAITS).is_visible()
    assert len(digs(scene, field)) == before

    again = {"name": PLAIN_COOKIE, "value": scene.sign_in("other adviser").key, "url": base}
    phone.add_cookies([again])
    page.goto(f"{base}/dig-list")
    page.get_by_text("somebody else's").wait_for()
    assert len(digs(scene, field)) == before  # nobody sends another's card
    phone.add_cookies([again | {"value": scene.sign_in("adviser").key}])
    page.goto(f"{base}/dig-list")
    page.get_by_text("Kept: the card of").wait_for()
    assert len(digs(scene, field)) == before + 1


def test_signing_out_asks_before_a_waiting_card_is_dropped(open_as, base, scene):  # noqa: F811  (fixtures)
    field = scene.fields[6]
    phone = open_as(who=scene.sign_in("adviser"), service_workers="block")
    page = phone.new_page()
    go(page, base, field)
    page.route("**/dig", lambda route: route.abort())
    fill(page)
    keep(page)
    page.get_by_text(WAITS).wait_for()
    page.goto(f"{base}/me")
    if not page.evaluate("() => 'waitingShown' in self"):
        for name in ("waiting.js", "waiting_shown.js"):
            page.add_script_tag(url=f"/s/{name}")
    asked = []
    page.once("dialog", lambda one: (asked.append(one.message), one.dismiss()))
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.wait_for_timeout(300)
    assert "1 card waits" in asked[0]
    assert page.url.endswith("/me")
    assert page.evaluate("() => self.digCards.all().then((cards) => cards.length)") == 1

    page.once("dialog", lambda one: one.accept())
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.wait_for_url(lambda address: not address.endswith("/me"))
    page.goto(f"{base}/dig-list")
    assert "/sign-in" in page.url


def test_a_page_that_is_not_kept_says_what_is(open_as, base, scene):  # noqa: F811  (fixtures)
    phone = open_as()
    page = phone.new_page()
    ready_for_no_network(page, base, scene.fields[0])
    phone.set_offline(True)
    page.goto(f"{base}/today")

    assert page.get_by_role("heading", name="No network here").is_visible()
    assert page.get_by_role("link", name=f"Dig in {scene.fields[0].name}").is_visible()
