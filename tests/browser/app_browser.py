"""The application behind a real server on loopback, and a real browser before it."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import uvicorn

from browser.app_scene import AppScene, Elsewhere, Who
from browser.test_mail_pages import CHROMIUM, FLAGS
from rootbound_service.web.access.reader import PLAIN_COOKIE

NEEDS_CHROMIUM = pytest.mark.skipif(
    not CHROMIUM.exists(), reason="no Chromium at /usr/bin/chromium"
)
DESK, PHONE, SMALL = 1280, 360, 320
VIEWS = [(DESK, "light"), (DESK, "dark"), (PHONE, "light"), (PHONE, "dark")]

EXPECTED = ("Service Worker registration blocked", "status of 404", "status of 422")
"""What the browser says of the tests' own doing: no worker, pages that are not there."""


@contextmanager
def served(scene: AppScene) -> Iterator[str]:
    """Serve the application on a free port of this machine."""
    door = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(
        Elsewhere(scene.app),  # type: ignore[arg-type]  # an ASGI application
        log_level="error",
        access_log=False,
    )
    server = uvicorn.Server(config)
    running = threading.Thread(target=server.run, args=([door],))
    running.start()
    try:
        yield f"http://127.0.0.1:{door.getsockname()[1]}"
    finally:
        server.should_exit = True
        running.join(20)
        door.close()
        assert not running.is_alive()


@contextmanager
def a_browser() -> Iterator[Any]:
    """Start the browser."""
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield running
        running.close()


@contextmanager
def a_page(
    browser: Any, base: str, who: Who | None, view: tuple[int, str] = VIEWS[0]
) -> Iterator[tuple[Any, list[str]]]:
    """Open a page of somebody; the second thing gathers what the browser complains of."""
    complaints = list[str]()
    context = browser.new_context(
        viewport={"width": view[0], "height": 740},
        color_scheme=view[1],
        service_workers="block",
        reduced_motion="reduce",
    )
    if who is not None:
        context.add_cookies([{"name": PLAIN_COOKIE, "value": who.key, "url": base}])
    page = context.new_page()

    def heard(words: str) -> None:
        if not any(one in words for one in EXPECTED):
            complaints.append(f"{page.url}: {words}")

    page.on("console", lambda said: heard(said.text))
    page.on("pageerror", lambda error: heard(str(error)))
    try:
        yield page, complaints
    finally:
        context.close()
