"""Enrolling on a phone: in a minute of taps, with and without scripts, and a list with errors."""

from __future__ import annotations

import socket
import threading

import pytest
import uvicorn

from browser.test_mail_pages import CHROMIUM, CONTRAST, FLAGS, LEAST_CONTRAST
from rootbound_service.store.shapes import shape_of
from rootbound_service.web.access.reader import PLAIN_COOKIE
from service.web.pages.enrol_scene import an_enrol_scene

pytestmark = [
    pytest.mark.skipif(not CHROMIUM.exists(), reason="no Chromium at /usr/bin/chromium"),
]
WIDTH, LEAST_TARGET = 360, 44
MOST_STEPS = 8
"""Boxes filled and buttons pressed: some seven seconds each make a minute."""
SMALL = """
(least) => [...document.querySelectorAll("main :is(button, .button, input, select, summary)")]
  .filter((one) => one.offsetParent && !["checkbox", "radio", "hidden"].includes(one.type))
  .map((one) => [one.name || one.innerText, one.getBoundingClientRect().height])
  .filter(([, high]) => high < least)
"""
LIST = """name,lat,lon,planted,grower
Ash End,41.71,-94.71,2026-04-30,Maren Holt <maren@alder.example>
Cliff End,41.73,-194.73,2026-05-01,Maren Holt <maren@alder.example>
"""


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_enrol_scene(tmp_path_factory.mktemp("enrol")) as opened:
        yield opened


@pytest.fixture(scope="module")
def base(scene):
    """The application behind a real server on loopback."""
    door = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(scene.app.app, log_level="error", access_log=False))
    running = threading.Thread(target=server.run, args=([door],))
    running.start()
    yield f"http://127.0.0.1:{door.getsockname()[1]}"
    server.should_exit = True
    running.join(10)
    door.close()
    assert not running.is_alive()


@pytest.fixture
def show(browser, base, scene):
    """Opens a page as the adviser; what the browser complains of fails the test."""
    complaints, opened = [], []

    def open_page(path, *, script=True, scheme="light", **more):
        context = browser.new_context(
            viewport={"width": WIDTH, "height": 720},
            color_scheme=scheme,
            java_script_enabled=script,
            **more,
        )
        key = scene.app.who["adviser"].key
        context.add_cookies([{"name": PLAIN_COOKIE, "value": key, "url": base}])
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda said: complaints.append(said.text) if "422" not in said.text else None,
        )
        page.goto(f"{base}{path}")
        opened.append(context)
        return page

    yield open_page
    for context in opened:
        context.close()
    assert complaints == []


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_field_is_enrolled_in_under_a_minute_of_taps(show, scene, script):
    name = f"Quick Field {script}"
    page = show("/fields/new", script=script)
    steps = [
        lambda: page.get_by_label("Name", exact=True).first.fill(name),
        lambda: page.get_by_label("Grower", exact=True).select_option(label="Maren Holt"),
        lambda: page.get_by_label("Latitude", exact=True).fill("41.7"),
        lambda: page.get_by_label("Longitude", exact=True).fill("-94.7"),
        lambda: page.get_by_label("Planted").fill("2026-04-30"),
        lambda: page.get_by_role("button", name="Show its soil").click(),
        lambda: page.get_by_role("button", name=f"Enrol {name}").click(),
    ]
    for step in steps:
        step()

    assert len(steps) <= MOST_STEPS
    assert page.get_by_role("status").inner_text() == "Enrolled. From tonight on it is followed."
    assert page.get_by_role("heading", name=name).is_visible()
    assert len(scene.fields(name)) == 1


def test_the_phones_place_is_taken_with_its_accuracy(show):
    here = {"latitude": 41.71, "longitude": -94.71, "accuracy": 12}
    page = show("/fields/new", geolocation=here, permissions=["geolocation"])
    page.get_by_role("button", name="Use this phone's place").click()
    page.get_by_text("known to 12 m").wait_for()

    assert page.get_by_label("Latitude", exact=True).input_value() == "41.710000"
    assert page.get_by_label("Longitude", exact=True).input_value() == "-94.710000"


def test_a_rough_place_of_the_phone_is_called_rough(show):
    here = {"latitude": 41.71, "longitude": -94.71, "accuracy": 1900}
    page = show("/fields/new", geolocation=here, permissions=["geolocation"])
    page.get_by_role("button", name="Use this phone's place").click()

    page.get_by_text("known to 1900 m. That is rough").wait_for()


def test_a_place_that_the_phone_does_not_give_is_typed_instead(show):
    page = show("/fields/new")
    page.get_by_role("button", name="Use this phone's place").click()

    page.get_by_text("Type it, or tap on the map.").wait_for()


def test_taps_on_the_map_draw_an_outline_that_is_kept(show, scene):
    page = show("/fields/new")
    page.get_by_label("Name", exact=True).first.fill("Tapped Field")
    page.get_by_label("Grower", exact=True).select_option(label="Maren Holt")
    page.get_by_label("Planted").fill("2026-04-30")
    page.get_by_label("Latitude", exact=True).fill("41.7")
    page.get_by_label("Longitude", exact=True).fill("-94.7")
    page.get_by_label("the next corner").check()
    tap = page.locator("svg.tap")
    for _ in range(7):
        page.get_by_role("button", name="Nearer").click()
    for x, y in ((100, 100), (200, 100), (200, 190), (100, 190), (20, 20)):
        tap.click(position={"x": x, "y": y})
    page.get_by_role("button", name="Take the last corner back").click()
    assert len(page.locator("#e-corners").input_value().split()) == 4
    page.get_by_role("button", name="Show its soil").click()
    page.get_by_role("button", name="Enrol Tapped Field").click()
    (stored,) = scene.fields("Tapped Field")
    with scene.engine.connect() as conn:
        shape, area = shape_of(conn, stored.id)

    assert len(shape["coordinates"][0]) == 5
    assert area > 0.05
    # the place of the middle that the map turned around
    assert abs(stored.lat - 41.7) < 0.05
    assert abs(stored.lon + 94.7) < 0.05


def test_a_tap_sets_the_very_place_that_it_touches(show):
    page = show("/fields/new")
    page.get_by_label("Latitude", exact=True).fill("41.7")
    page.get_by_label("Longitude", exact=True).fill("-94.7")
    for _ in range(4):
        page.get_by_role("button", name="Nearer").click()
    box = page.locator("svg.tap .middle").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    assert float(page.get_by_label("Latitude", exact=True).input_value()) == pytest.approx(
        41.7, abs=2e-3
    )
    assert float(page.get_by_label("Longitude", exact=True).input_value()) == pytest.approx(
        -94.7, abs=3e-3
    )


def test_a_problem_leads_to_its_box(show):
    page = show("/fields/new")
    page.get_by_label("Name", exact=True).first.fill("Wrong Field")
    page.get_by_label("Grower", exact=True).select_option(label="Maren Holt")
    page.get_by_label("Latitude", exact=True).fill("95.5")
    page.get_by_label("Longitude", exact=True).fill("-94.7")
    page.get_by_label("Row spacing").fill("300")
    page.get_by_role("button", name="Show its soil").click()
    page.get_by_role("link", name="Row spacing").click()

    focused = page.evaluate("document.activeElement.name || location.hash")
    assert focused in {"row_spacing", "#e-row_spacing"}
    assert page.get_by_label("Row spacing").get_attribute("aria-invalid") == "true"
    assert page.get_by_label("Name", exact=True).first.input_value() == "Wrong Field"


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_list_with_errors_is_looked_through_and_its_good_row_enrolled(show, scene, script):
    rows = LIST.replace("End", f"End {script}")
    page = show("/fields/import", script=script)
    file = {"name": "list.csv", "mimeType": "text/csv", "buffer": rows.encode()}
    page.get_by_label("CSV, GeoJSON").set_input_files(file)
    page.get_by_role("button", name="Look it through").click()

    page.get_by_role("heading", name="1 of 2 rows are ready").wait_for()
    assert "longitude is -180 to 180" in page.locator("td.bad").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") == WIDTH
    page.get_by_role("button", name="Enrol the 1 good field").click()
    assert "1 field is enrolled" in page.get_by_role("status").inner_text()
    assert len(scene.fields(f"Ash End {script}")) == 1
    assert scene.fields(f"Cliff End {script}") == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", ["/fields/new", "/fields/import", "/fields/1/change"])
def test_the_pages_fit_a_phone_and_can_be_read_and_touched(show, path, scheme):
    """WCAG 2.2, 1.4.3 contrast and 1.4.10 reflow; targets as 2.5.5 of level AAA asks."""
    page = show(path, scheme=scheme)
    for one in page.locator("details").all():
        one.evaluate("(it) => { it.open = true; }")
    found = page.evaluate(CONTRAST)

    assert page.evaluate("document.documentElement.scrollWidth") == WIDTH
    assert [one for one in found if one[1] < LEAST_CONTRAST] == []
    assert page.evaluate(SMALL, LEAST_TARGET) == []
