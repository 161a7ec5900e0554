"""Settings and sources for whoever runs the service; a secret is never shown."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlsplit, urlunsplit

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import SecretStr
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from rootbound_service.desk.weather_lines import HEADS, status_rows
from rootbound_service.nights.weather_state import look
from rootbound_service.settings import FROM_FILE
from rootbound_service.web.access.reader import Operator
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.settings import Settings

HIDDEN = "set, not shown"

routes = APIRouter()


@routes.get("/operate/sources")
def sources(request: Request, desk: Served, who: Operator) -> Response:
    """Show how every source of weather stands."""
    now = desk.service.clock.now()
    state = look(desk.service.parts, now)
    return shown(
        request,
        who,
        "operate_sources",
        part="operate",
        place="sources",
        heads=HEADS,
        rows=status_rows(state.sources, now.date()),
        state=state,
    )


@routes.get("/operate/settings")
def settings(request: Request, desk: Served, who: Operator) -> Response:
    """Show the settings as the service sees them."""
    told = settings_told(desk.service.settings)
    return shown(request, who, "operate_settings", part="operate", place="settings", told=told)


def settings_told(found: Settings) -> list[tuple[str, str, bool]]:
    """Give each setting with its value as far as it may be shown, and whether it was set.

    Parameters
    ----------
    found
        The settings.
    """
    return [
        (f"ROOTBOUND_{name.upper()}", _told(name, getattr(found, name)), name in _given(found))
        for name in type(found).model_fields
    ]


def _given(found: Settings) -> set[str]:
    return found.model_fields_set


def _told(name: str, value: object) -> str:
    """One value as far as anybody may read it over somebody's shoulder."""
    if value is None or (isinstance(value, str) and not value):
        return "not set"
    if name == "database_url":
        return _database(str(value))
    if name in FROM_FILE or isinstance(value, SecretStr):
        return HIDDEN
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _without_login(str(value))


def _database(url: str) -> str:
    """The address of the database: no name of a user, no password, no options that could be one."""
    try:
        full = make_url(url)
    except ArgumentError:
        return HIDDEN
    bare = URL.create(full.drivername, host=full.host, port=full.port, database=full.database)
    return bare.render_as_string()


def _without_login(text: str) -> str:
    """A web address without what may stand before its host, and without its query."""
    if "://" not in text:
        return text
    parts = urlsplit(text)
    host = parts.netloc.rpartition("@")[2]
    return urlunsplit((parts.scheme, host, parts.path, "", ""))
