"""Every page against the rules of WCAG 2.2, A and AA, as axe-core checks them; and what it cannot.

Reflow without sideways scrolling at 320 px is success criterion 1.4.10; targets of 44 px are our
own promise, past the 24 px of 2.5.8. Pages are found by following links, the broken states by
sending forms empty.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest

import rootbound_service.web
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
RUN = "(rules) => axe.run(rules).then((found) => found.violations)"
NUMBERS = re.compile(r"\d+")
LEAST_TARGET = 44
ZOOMED = 640
View = tuple[int, str]
STATIC = Path(rootbound_service.web.__file__).parent
ASKS = re.compile(r"matchMedia|(?:inner|client|offset|scroll)Width|screen\.|[Rr]esize")
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
    """The script of axe-core."""
    given = pytest.importorskip("axe_playwright_python.base")
    return given.AXE_SCRIPT


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


@dataclass
class Seen:
    """What was found on every page of everybody; each is opened once and then looked at."""

    rules: dict[View, dict[str, list[str]]]
    """By view: page -> what axe found."""
    wide: dict[int, dict[str, list[str]]]
    """By width: page that scrolls sideways -> what is wide."""
    large: dict[str, list[str]]
    """Page whose letters of twice the size make it scroll -> what is wide."""
    small: dict[str, list[str]]
    """Page -> targets that are too small."""


@pytest.fixture(scope="module")
def seen(scene, browser, base, paths, axe):
    """Look at every page in every view.

    A view is a width and a scheme of colours: no script asks for either, so a page that is
    turned is a page that was opened so (tested below).
    """
    found, bad = Seen({view: {} for view in VIEWS}, {SMALL: {}, PHONE: {}}, {}, {}), []
    for word, theirs in paths.items():
        with a_page(browser, base, scene.who.get(word)) as (page, complaints):
            for path in theirs:
                turn(page, VIEWS[0])
                page.goto(f"{base}{path}")
                look_at(page, axe, found, f"{word} {path}")
            bad += complaints
    assert bad == []
    return found


def look_at(page, axe, found, what):
    """Look at one page in every way; its letters grow last, for they stay so."""
    for view in VIEWS:
        turn(page, view)
        found.rules[view][what] = faults(axe, page)
    turn(page, (PHONE, "light"))
    found.small[what] = page.evaluate(TARGETS % LEAST_TARGET)
    for width, wide in found.wide.items():
        turn(page, (width, "light"))
        wide[what] = too_wide(page, width)
    turn(page, (ZOOMED, "light"))
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    found.large[what] = too_wide(page, ZOOMED)


def turn(page, view):
    """Give a page that is open another width and other colours."""
    page.set_viewport_size({"width": view[0], "height": 740})
    page.emulate_media(color_scheme=view[1], reduced_motion="reduce")


def too_wide(page, width):
    """What makes a page scroll sideways, if it does."""
    found = page.evaluate("document.documentElement.scrollWidth")
    return [f"{found} px wide", *page.evaluate(WIDEST)] if found > width else []


def faults(axe, page):
    """What axe finds on a page: rule, and where; a page keeps the script until it is left."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe)
    return [
        f"{one['id']}: {node['html'][:160]} ({node['failureSummary'][-160:]})"
        for one in page.evaluate(RUN, RULES)
        for node in one["nodes"]
    ]


def lines(told):
    """Say every fault in a line of its own, with its page."""
    return [f"{what}: {one}" for what, found in told.items() for one in found]


@pytest.mark.parametrize("view", VIEWS)
def test_no_page_breaks_a_rule_of_wcag(seen, view):
    told = seen.rules[view]

    assert len(told) > 8
    assert lines(told) == []


@pytest.fixture(scope="module")
def refused(scene, browser, base, paths, axe):
    """What axe finds on every form that was refused, by view."""
    told = {view: {} for view in VIEWS[::3]}
    with a_page(browser, base, scene.sign_in("adviser")) as (page, _):
        for path in paths["adviser"]:
            page.goto(f"{base}{path}")
            for number in page.evaluate(FILLED_IN):
                page.goto(f"{base}{path}")
                with page.expect_navigation():
                    page.evaluate(SPOIL, number)
                if page.locator("[aria-invalid], [role=alert]").count():
                    for view, theirs in told.items():
                        turn(page, view)
                        theirs[f"{path}, form {number}"] = faults(axe, page)
    return told


@pytest.mark.parametrize("view", VIEWS[::3])
def test_no_form_that_was_refused_breaks_a_rule(refused, view):
    assert len(refused[view]) > 0
    assert lines(refused[view]) == []


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
def test_no_page_scrolls_sideways_on_a_phone(seen, width):
    assert lines(seen.wide[width]) == []


WIDEST = """
() => [...document.querySelectorAll("body *")]
  .filter((node) => node.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .slice(0, 3).map((node) => node.outerHTML.slice(0, 120))
"""


def test_everything_pressed_on_a_phone_is_large_enough(seen):
    assert lines(seen.small) == []


def test_twice_the_size_of_letters_hides_nothing(seen):
    """Success criterion 1.4.4: 200 % without loss; a browser's zoom is half the width."""
    assert lines(seen.large) == []


def test_no_script_asks_how_wide_the_page_is_or_what_colours_it_has():
    """Else a page that is turned after it was opened need not be the one that people open."""
    scripts = sorted(STATIC.rglob("*.js"))
    asking = [one.name for one in scripts if ASKS.search(one.read_text(encoding="utf-8"))]

    assert scripts
    assert asking == []
