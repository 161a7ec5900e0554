"""Every page by keyboard alone: all is reached, in order, seen when reached, and nothing traps.

WCAG 2.2 success criteria 2.1.1, 2.1.2, 2.4.1, 2.4.3, 2.4.7 and 2.4.11.
"""

from __future__ import annotations

import pytest

from browser.app_browser import DESK, NEEDS_CHROMIUM, PHONE, a_browser, a_page, served
from browser.app_scene import NAMES, an_app
from browser.test_axe import lines, paths  # noqa: F401  (a fixture is found by its name)

pytestmark = NEEDS_CHROMIUM

MOST_STOPS = 160
"""A page with more stops is walked as far as this."""
# Number of each stop in the order of the document; a group of radio buttons is one stop.
MARK = """
() => {
  const groups = new Set();
  const stops = [...document.querySelectorAll(
    "a[href], button, input, select, textarea, summary, [tabindex]")]
    .filter((node) => node.tabIndex >= 0 && !node.disabled && node.type !== "hidden")
    .filter((node) => node.checkVisibility({checkVisibilityCSS: true}))
    .filter((node) => {
      if (node.type !== "radio") return true;
      const group = `${node.form && node.form.action} ${node.name}`;
      const first = !groups.has(group);
      groups.add(group);
      return first;
    });
  stops.forEach((node, at) => { node.dataset.stop = at; });
  return stops.length;
}
"""
# Where the keyboard is now, and whether it can be seen there.
HERE = """
() => {
  let node = document.activeElement;
  if (!node || node === document.body) return null;
  if (node.type === "radio" && !node.dataset.stop) {
    node = [...document.getElementsByName(node.name)].find((one) => one.dataset.stop) || node;
  }
  const shown = getComputedStyle(document.activeElement);
  const box = document.activeElement.getBoundingClientRect();
  const ring = (style) => (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0)
    || style.boxShadow !== "none";
  const label = document.activeElement.closest("label");
  // a shape in a picture shows it by its own stroke: compared with how it looks without
  const drawn = (one) => [...one.querySelectorAll("*")].map((part) => getComputedStyle(part))
    .map((style) => [style.stroke, style.strokeWidth, style.outlineStyle, style.fill].join())
    .join();
  const inPicture = document.activeElement.closest("svg") !== null;
  let marked = false;
  if (inPicture) {
    const [one, now] = [document.activeElement, drawn(document.activeElement)];
    one.blur();
    marked = drawn(one) !== now;
    one.focus({preventScroll: true, focusVisible: true});
  }
  return {
    stop: Number(node.dataset.stop ?? -1),
    html: document.activeElement.outerHTML.slice(0, 110),
    seen: marked || ring(shown) || (label !== null && ring(getComputedStyle(label))),
    inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth
      && box.width > 0,
  };
}
"""


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("keyboard")) as opened:
        yield opened


@pytest.fixture(scope="module")
def base(scene):
    with served(scene) as address:
        yield address


@pytest.fixture(scope="module")
def browser():
    with a_browser() as running:
        yield running


def stops(page):
    """Press Tab through a page; give every stop until the keyboard leaves it."""
    many, found = page.evaluate(MARK), []
    for _ in range(min(many, MOST_STOPS) + 3):
        page.keyboard.press("Tab")
        here = page.evaluate(HERE)
        if here is None or (found and here["stop"] == found[0]["stop"]):
            return many, found
        found.append(here)
    return many, found


@pytest.mark.parametrize("width", [DESK, PHONE])
def test_the_keyboard_reaches_everything_in_order_and_is_seen(scene, browser, base, paths, width):  # noqa: F811
    told = {}
    for word, theirs in paths.items():
        with a_page(browser, base, scene.who.get(word), (width, "light")) as (page, _):
            for path in theirs:
                page.goto(f"{base}{path}")
                told[f"{word} {path}"] = wrong(*stops(page))

    assert len(told) > 8
    assert lines(told) == []


def wrong(many, found):
    """What is wrong with the stops of a page."""
    order = [one["stop"] for one in found]
    seen = {one["stop"] for one in found if one["seen"]}  # a date has several parts, and one ring
    faults = [f"not seen: {one['html']}" for one in found if one["stop"] not in seen]
    faults += [f"out of view: {one['html']}" for one in found if not one["inView"]]
    if order != sorted(order):
        faults.append(f"out of order: {order}")
    missed = set(range(min(many, MOST_STOPS))) - set(order)
    return faults + [f"never reached: stop {one} of {many}" for one in sorted(missed)[:5]]


def test_the_first_stop_leads_past_the_parts_to_the_content(scene, browser, base):
    with a_page(browser, base, scene.who["adviser"]) as (page, _):
        page.goto(f"{base}/today")
        page.keyboard.press("Tab")
        skip = page.locator(":focus")
        assert skip.inner_text() == "To the content"
        assert skip.bounding_box()["y"] >= 0
        page.keyboard.press("Enter")

        assert page.evaluate("document.activeElement.id") == "main"
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.closest('main') !== null")


def test_a_field_is_opened_and_rain_recorded_without_a_mouse(scene, browser, base):
    name = NAMES[0]
    with a_page(browser, base, scene.sign_in("adviser")) as (page, _):
        page.goto(f"{base}/today")
        press_until(page, lambda text: text.startswith(name))
        with page.expect_navigation():
            page.keyboard.press("Enter")
        assert page.get_by_role("heading", level=1).inner_text() == name
        press_until(page, lambda _text: page.evaluate("document.activeElement.name") == "rain")
        page.keyboard.type("0.4")
        with page.expect_navigation():
            page.keyboard.press("Enter")

        assert page.get_by_role("status").first.inner_text().startswith("Recorded")


def press_until(page, found):
    """Press Tab until the keyboard is on what is wanted."""
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        if found(page.evaluate("document.activeElement.innerText || ''").strip()):
            return
    raise AssertionError("the keyboard never came there")


def test_after_a_refused_form_the_complaint_is_read_out(scene, browser, base):
    """An alert is read by screen readers when the page comes; it leads to what is wrong."""
    with a_page(browser, base, scene.sign_in("adviser")) as (page, _):
        page.goto(f"{base}/fields/{scene.fields[0].id}")
        page.locator("input[name=rain]").fill("a lot")
        with page.expect_navigation():
            page.locator("input[name=rain]").press("Enter")
        alert = page.get_by_role("alert")
        wrong_one = page.locator("input[name=rain]")

        assert alert.count() == 1
        assert wrong_one.input_value() == "a lot"
        assert wrong_one.get_attribute("aria-invalid") == "true"
        told_by = wrong_one.get_attribute("aria-describedby")
        assert told_by
        assert page.locator(f"#{told_by.split()[0]}").count() == 1
        assert alert.locator("a[href^='#']").count() >= 1
