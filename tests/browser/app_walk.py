"""Finds every page and every form of the application by itself: what is new is walked too."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from urllib.parse import urljoin, urlsplit

import httpx2
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from fastapi.testclient import TestClient
from lxml import html as markup
from starlette.routing import Mount

from browser.app_scene import HERE

MOST_PAGES = 400
SAME_BUT_FOR_NUMBERS = 6
"""Addresses walked, unless told otherwise, that differ in their numbers only."""
BY_THEIR_ADDRESS = ("/u/", "/n/", "/d/", "/f/", "/enter/", "/join/")
"""Addresses that let in whoever has them, signed in or not."""
NUMBERS = re.compile(r"\d+")
PARAMETER = re.compile(r"\{(\w+)(?::\w+)?\}")


@dataclass(frozen=True, slots=True)
class Input:
    """One field of a form."""

    name: str
    kind: str
    value: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FormSeen:
    """A form as it stands on a page."""

    page: str
    action: str
    method: str
    inputs: tuple[Input, ...]
    multipart: bool = False

    @property
    def shape(self) -> tuple[str, ...]:
        """The same for forms that differ in their numbers only."""
        return (NUMBERS.sub("0", self.action), *sorted({one.name for one in self.inputs}))

    def values(self) -> list[tuple[str, str]]:
        """What a browser would send of it as it stands; files are left out."""
        kinds = ("file", "submit", "image", "button", "reset")
        return [(one.name, one.value) for one in self.inputs if one.kind not in kinds]


@dataclass
class Walk:
    """What was found."""

    pages: dict[str, httpx2.Response] = field(default_factory=dict)
    forms: list[FormSeen] = field(default_factory=list)

    def kinds_of_form(self) -> list[FormSeen]:
        """One form of each shape."""
        return list({one.shape: one for one in reversed(self.forms)}.values())


def walk(client: TestClient, *begin: str, most_alike: int = SAME_BUT_FOR_NUMBERS) -> Walk:
    """Follow every link of this site from some pages on."""
    found, waiting, alike = Walk(), list(begin), dict[str, int]()
    while waiting and len(found.pages) < MOST_PAGES:
        path = waiting.pop(0)
        shape = NUMBERS.sub("0", path.partition("?")[0]) + str(path.count("&"))
        if path in found.pages or alike.get(shape, 0) >= most_alike:
            continue
        alike[shape] = alike.get(shape, 0) + 1
        answer = client.get(path)
        found.pages[path] = answer
        onward = answer.headers.get("location")
        if onward:
            waiting.append(onward)
        if "text/html" in answer.headers.get("content-type", ""):
            links, forms = read_page(path, answer.text)
            waiting += links
            found.forms += forms
    return found


def read_page(path: str, text: str) -> tuple[list[str], list[FormSeen]]:
    """Give the addresses on this site that a page names, and its forms."""
    tree = markup.fromstring(text)
    links = list[str]()
    for node in tree.xpath("//a[@href]|//link[@href]|//script[@src]|//img[@src]"):
        given = node.get("href") or node.get("src") or ""
        whole = urlsplit(urljoin(f"{HERE}{path}", given))
        if f"{whole.scheme}://{whole.netloc}" == HERE and not given.startswith("#"):
            links.append(whole.path + (f"?{whole.query}" if whole.query else ""))
    forms = list[FormSeen]()
    for form in tree.xpath("//form"):
        action = urlsplit(urljoin(f"{HERE}{path}", form.get("action") or path))
        method = (form.get("method") or "get").lower()
        target = action.path + (f"?{action.query}" if action.query else "")
        forms.append(
            FormSeen(
                path,
                target,
                method,
                tuple(_inputs(form, tree)),
                multipart=form.get("enctype") == "multipart/form-data",
            )
        )
    return links, forms


def _inputs(form: markup.HtmlElement, tree: markup.HtmlElement) -> Iterator[Input]:
    inside = form.xpath(".//input|.//select|.//textarea|.//button")
    if form.get("id"):
        inside += tree.xpath(f"//*[@form='{form.get('id')}']")
    for node in inside:
        name = node.get("name")
        if not name:
            continue
        if node.tag == "select":
            options = tuple(one.get("value") or one.text or "" for one in node.xpath(".//option"))
            chosen = node.xpath(".//option[@selected]/@value")
            yield Input(name, "select", chosen[0] if chosen else (options or ("",))[0], options)
        elif node.tag == "textarea":
            yield Input(name, "textarea", node.text or "")
        elif node.tag == "button":
            yield Input(name, "submit", node.get("value") or "")
        else:
            yield Input(name, node.get("type") or "text", node.get("value") or "")


@dataclass(frozen=True, slots=True)
class RouteSeen:
    """One address of the application, with the names of what varies in it."""

    path: str
    method: str

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of what varies."""
        return tuple(PARAMETER.findall(self.path))

    def filled(self, **values: object) -> str:
        """The address of one thing."""
        return PARAMETER.sub(lambda found: str(values[found[1]]), self.path)


def routes_of(app: FastAPI) -> list[RouteSeen]:
    """List what the application answers, whatever it was put together from."""
    found = list[RouteSeen]()
    for one in iter_route_contexts(app.routes):
        if isinstance(one.original_route, Mount):
            inner = getattr(one.original_route, "app", None)
            if hasattr(inner, "routes"):
                found += [
                    RouteSeen(f"{one.path}{deep.path}", deep.method) for deep in routes_of(inner)
                ]
            continue
        methods = getattr(one.original_route, "methods", None) or {"GET"}
        found += [RouteSeen(one.path or "", method) for method in sorted(methods)]
    return found
