"""Pages behind the links in a real browser: no script, no sideways scrolling, one press acts."""

from __future__ import annotations

import socket
import threading

import pytest
import uvicorn

from browser.test_mail_pages import CHROMIUM, CONTRAST, FLAGS, LEAST_CONTRAST
from rootbound_service.store.acknowledgements import acknowledged_since
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.suppressions import suppressed
from service.web.conftest import NOW, scene  # noqa: F401  (a fixture is found by its name)

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="no Chromium at /usr/bin/chromium")


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture
def base(scene):  # noqa: F811  (the same fixture)
    """The application behind a real server on loopback."""
    door = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(scene.web.app, log_level="error", access_log=False))
    running = threading.Thread(target=server.run, args=([door],))
    running.start()
    yield f"http://127.0.0.1:{door.getsockname()[1]}"
    server.should_exit = True
    running.join(10)
    door.close()
    assert not running.is_alive()


@pytest.fixture
def show(browser, base):
    """Opens a page without scripts; what the browser complains of fails the test."""
    complaints, opened = [], []

    def open_page(path, width=320, scheme="light"):
        context = browser.new_context(
            viewport={"width": width, "height": 640}, color_scheme=scheme, java_script_enabled=False
        )
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.goto(f"{base}{path}")
        opened.append(context)
        return page

    yield open_page
    for context in opened:
        context.close()
    assert complaints == []


def paths(scene):  # noqa: F811
    return {
        "stop": scene.path("u", "stop", scene.mail.id, 1),
        "note": scene.path("n", "note", 1),
        "digest": scene.path("d", "digest", scene.digest),
    }


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["stop", "note"])
def test_pages_fit_a_phone_and_can_be_read(browser, base, scene, name, scheme):  # noqa: F811
    page = browser.new_page(viewport={"width": 320, "height": 640}, color_scheme=scheme)
    page.goto(f"{base}{paths(scene)[name]}")
    width = page.evaluate("document.documentElement.scrollWidth")
    found = page.evaluate(CONTRAST)
    ground = page.evaluate("getComputedStyle(document.querySelector('main')).backgroundColor")
    page.close()

    assert width == 320
    assert len(found) > 3
    assert [one for one in found if one[1] < LEAST_CONTRAST] == []
    assert (ground == "rgb(255, 255, 255)") == (scheme == "light")  # the style was let through


def test_a_reader_stops_notes_with_one_press_and_no_script(show, scene):  # noqa: F811
    page = show(paths(scene)["stop"])
    page.get_by_role("button", name="Stop notes on your fields").click()

    assert page.get_by_role("heading", name="Stopped").is_visible()
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", scene.mail.address) == {"note"}


def test_a_note_is_seen_and_its_field_silenced_by_name(show, scene):  # noqa: F811
    page = show(paths(scene)["note"])
    page.get_by_role("button", name="I have seen it").click()
    page.get_by_label("No notes on Long Acre for").select_option("14")
    page.get_by_role("button", name="Silence Long Acre").click()

    assert page.get_by_role("status").inner_text() == "No notes on Long Acre until July 27."
    with scene.service.engine.connect() as conn:
        assert acknowledged_since(conn, scene.field.season_id, NOW)
        assert scene.field.id in silenced_fields(conn, scene.person.id, NOW.date())


def test_the_note_stands_before_its_forms(show, scene):  # noqa: F811
    page = show(paths(scene)["note"])
    words = page.locator(".read, .words").bounding_box()
    form = page.locator(".silence").last.bounding_box()

    assert words["y"] + words["height"] <= form["y"]


def test_a_digest_is_shown_within_its_own_rules(show, scene):  # noqa: F811
    assert show(paths(scene)["digest"]).get_by_role("heading", name="Week 29").is_visible()
