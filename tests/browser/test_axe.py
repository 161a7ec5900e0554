"""Every page against the rules of WCAG 2.2, A and AA, as axe-core checks them; and what it cannot.

Reflow without sideways scrolling at 320 px is success criterion 1.4.10; targets of 44 px are our
own promise, past the 24 px of 2.5.8. Pages are found by following links, the broken states by
sending forms empty.
"""

from __future__ import annotations

import re

import pytest

from browser.app_browser import NEEDS_CHROMIUM, PHONE, SMALL, VIEWS, a_browser, a_page, served
from browser.app_scene import an_app
from browser.app_walk import walk
from rootbound_service.secret import links_of
from rootbound_service.store.sign_in import new_link

pytestmark = NEEDS_CHROMIUM

RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]},
    "resultTypes": ["violations"],  # what passes is not listed node by node
}
NUMBERS = re.compile(r"\d+")
LEAST_TARGET = 44
# Links within a sentence and what is hidden are no targets; a label presses its box as well.
TARGETS = """
() => [...document.querySelectorAll("button, input, select, summary, a.button, nav a, label")]
  .filter((node) => node.type !== "hidden" && node.checkVisibility() && !node.closest(".unseen")
    && !(node.tagName === "LABEL" && !node.querySelector("input")))
  .map((node) => node.closest("label") || node)
  .map((node) => [node.outerHTML.slice(0, 90), node.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && box.height > 0 && box.height < %d)
  .map(([html, box]) => `${Math.round(box.width)} x ${Math.round(box.height)}: ${html}`)
"""


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("axe")) as opened:
        yield opened


@pytest.fixture(scope="module")
def base(scene):
    with served(scene) as address:
        yield address


@pytest.fixture(scope="module")
def browser():
    with a_browser() as running:
        yield running


@pytest.fixture(scope="module")
def axe():
    given = pytest.importorskip("axe_playwright_python.sync_playwright")
    return given.Axe()


@pytest.fixture(scope="module")
def paths(scene):
    """One page of each kind, by who sees it."""
    found = {"stranger": ["/sign-in", "/nowhere", a_link(scene)]}
    for word, begin in (("adviser", "/today"), ("operator", "/operate"), ("viewer", "/today")):
        pages = walk(scene.client(scene.who[word]), begin, "/me", most_alike=2).pages
        shapes = {
            NUMBERS.sub("0", path.partition("?")[0]): path
            for path, answer in reversed(pages.items())
            if answer.headers.get("content-type", "").startswith("text/html")
            and answer.status_code < 400
            and not path.startswith(("/d/", "/u/", "/n/"))
        }
        found[word] = sorted(shapes.values())
    shown = {NUMBERS.sub("0", path) for path in found["adviser"]}
    found["viewer"] = [one for one in found["viewer"] if NUMBERS.sub("0", one) not in shown]
    return found


def a_link(scene):
    with scene.service.engine.begin() as conn:
        number = new_link(conn, scene.people["grower"].id, scene.clock.now())
    return f"/enter/{links_of(scene.service.settings).token('enter', number)}"


def every(scene, browser, base, paths, view):
    """Give every page of everybody, opened; at the end nothing was complained of."""
    bad = []
    for word, theirs in paths.items():
        with a_page(browser, base, scene.who.get(word), view) as (page, complaints):
            for path in theirs:
                page.goto(f"{base}{path}")
                yield page, f"{word} {path}"
            bad += complaints
    assert bad == []


def faults(axe, page):
    """What axe finds on a page: rule, and where."""
    return [
        f"{one['id']}: {node['html'][:160]} ({node['failureSummary'][-160:]})"
        for one in axe.run(page, options=RULES).response["violations"]
        for node in one["nodes"]
    ]


def lines(told):
    """Say every fault in a line of its own, with its page."""
    return [f"{what}: {one}" for what, found in told.items() for one in found]


@pytest.mark.parametrize("view", VIEWS)
def test_no_page_breaks_a_rule_of_wcag(scene, browser, base, paths, axe, view):
    told = {what: faults(axe, page) for page, what in every(scene, browser, base, paths, view)}

    assert len(told) > 8
    assert lines(told) == []


@pytest.mark.parametrize("view", VIEWS[::3])
def test_no_form_that_was_refused_breaks_a_rule(scene, browser, base, paths, axe, view):
    told, tried = {}, 0
    with a_page(browser, base, scene.sign_in("adviser"), view) as (page, _):
        for path in paths["adviser"]:
            page.goto(f"{base}{path}")
            for number in page.evaluate(FILLED_IN):
                page.goto(f"{base}{path}")
                with page.expect_navigation():
                    page.evaluate(SPOIL, number)
                if page.locator("[aria-invalid], [role=alert]").count():
                    tried += 1
                    told[f"{path}, form {number}"] = faults(axe, page)

    assert tried > 0
    assert lines(told) == []


# Numbers of the forms of a page that people type into.
FILLED_IN = """
() => [...document.forms].map((form, at) => [form, at])
  .filter(([form]) => form.method === "post" && !form.action.endsWith("/sign-out")
    && form.querySelector("input[type=text], input[type=email], input:not([type]), textarea"))
  .map(([, at]) => at)
"""
# Words where numbers are wanted: what people type by mistake; the form is sent unchecked.
SPOIL = """
(number) => {
  const form = document.forms[number];
  form.querySelectorAll("input, textarea").forEach((node) => {
    if (["text", "search", "number", "date", "email"].includes(node.type)) {
      node.type = "text";
      node.value = "some";
    }
  });
  HTMLFormElement.prototype.submit.call(form);
}
"""


@pytest.mark.parametrize("width", [SMALL, PHONE])
def test_no_page_scrolls_sideways_on_a_phone(scene, browser, base, paths, width):
    wide = {}
    for page, what in every(scene, browser, base, paths, (width, "light")):
        found = page.evaluate("document.documentElement.scrollWidth")
        if found > width:
            wide[what] = [f"{found} px wide", *page.evaluate(WIDEST)]

    assert lines(wide) == []


WIDEST = """
() => [...document.querySelectorAll("body *")]
  .filter((node) => node.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .slice(0, 3).map((node) => node.outerHTML.slice(0, 120))
"""


def test_everything_pressed_on_a_phone_is_large_enough(scene, browser, base, paths):
    small = {
        what: found
        for page, what in every(scene, browser, base, paths, (PHONE, "light"))
        if (found := page.evaluate(TARGETS % LEAST_TARGET))
    }

    assert lines(small) == []


def test_twice_the_size_of_letters_hides_nothing(scene, browser, base, paths):
    """Success criterion 1.4.4: 200 % without loss; a browser's zoom is half the width."""
    wide = {}
    for page, what in every(scene, browser, base, paths, (640, "light")):
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        found = page.evaluate("document.documentElement.scrollWidth")
        if found > 640:
            wide[what] = [f"{found} px wide", *page.evaluate(WIDEST)]

    assert lines(wide) == []
