"""What a thumb does on the dig card."""

from __future__ import annotations

from rootbound_service.store.fields import list_fields

READ = "I have read this: to the card"


def digs(scene, field):
    with scene.service.engine.connect() as conn:
        return next(one for one in list_fields(conn) if one.id == field.id).digs


def go(page, base, field):
    page.goto(f"{base}/fields/{field.id}/dig")
    if page.get_by_role("button", name=READ).is_visible():
        page.get_by_role("button", name=READ).click()


def fill(page, wall=2, held="4"):
    page.locator("#c-1").fill("3")
    page.locator("#h-1").fill(held)
    page.locator(f"label:has(#w-1-{wall})").click()


def ready_for_no_network(page, base, field):
    """Open the card once with network and wait until the worker has its pages."""
    go(page, base, field)
    page.wait_for_function("() => self.navigator.serviceWorker.controller !== null")
    until(page, "async (path) => Boolean(await caches.match(path))", f"/fields/{field.id}/dig")


def until(page, holds, arg=None):
    """Wait within the page for what takes a promise; the driver's own waiting takes one as true."""
    pause = "new Promise((go) => setTimeout(go, 50))"
    page.evaluate(f"async (arg) => {{ while (!(await ({holds})(arg))) await {pause}; }}", arg)


def keep(page):
    page.get_by_role("button", name="Keep the card").click()
