"""What every room of the web needs: the service, its links, its templates."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, cast

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse

from rootbound_service.links import BadToken, Links
from rootbound_service.secret import links_of
from rootbound_service.web.api.rate import Calls
from rootbound_service.web.assets import asset_path
from rootbound_service.web.dressing.beside import dressing_of
from rootbound_service.web.kept import Kept

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    import jinja2
    from sqlalchemy import Connection

    from rootbound_service.wiring import Service


class Desk:
    """The service as the web's rooms use it.

    Parameters
    ----------
    service
        The wired service.
    """

    def __init__(self, service: Service) -> None:
        self.service = service
        self.links: Links = links_of(service.settings)
        self.calls = Calls(service.clock)
        self.kept = Kept()
        self.dressing = dressing_of(service)

    @property
    def ask(self) -> str:
        """Whom to ask for help."""
        s = self.service.settings
        return s.mail_reply_to or s.contact or s.operator_email or s.mail_from

    def reading(self) -> AbstractContextManager[Connection]:
        """A connection that only reads."""
        return self.service.engine.execution_options(ro=True).connect()

    def writing(self) -> AbstractContextManager[Connection]:
        """A transaction: all of it or nothing."""
        return self.service.engine.begin()

    def read(self, purpose: Any, token: str) -> tuple[int, ...]:
        """Give the numbers of a token; none for one that is not ours."""
        try:
            return self.links.read(purpose, token)
        except BadToken:
            return ()

    def number(self, purpose: Any, token: str) -> int | None:
        """Give the one number of a token; None for one that is not ours."""
        found = self.read(purpose, token)
        return found[0] if len(found) == 1 else None


def desk_of(request: Request) -> Desk:
    """The service behind a request."""
    return cast("Desk", request.app.state.desk)


async def _desk(request: Request) -> Desk:
    return desk_of(request)


Served = Annotated[Desk, Depends(_desk)]
"""The service, as a room of pages asks for it."""


def page(name: str, status: int = 200, **values: object) -> HTMLResponse:
    """Render a page.

    Parameters
    ----------
    name
        Of its template.
    status
        HTTP status.
    values
        What it shows.
    """
    return HTMLResponse(_templates().get_template(f"{name}.html.j2").render(values), status)


def rendered(name: str, **values: object) -> str:
    """Render a template as text.

    Parameters
    ----------
    name
        Of the template.
    values
        What it shows.
    """
    return _templates().get_template(name).render(values)


NOT_OURS = (
    "It was cut short, changed, or is not one of ours. Open it from the message again; to stop "
    'messages you can also answer any of them with the word "stop".'
)


def no_such_link() -> HTMLResponse:
    """Say that a link is not one of ours, and what to do."""
    return page(
        "said",
        404,
        title="This link does not work",
        lines=(NOT_OURS,),
    )


@cache
def _templates() -> jinja2.Environment:
    import jinja2

    env = jinja2.Environment(
        loader=jinja2.PackageLoader("rootbound_service.web", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals["asset"] = asset_path
    return env
