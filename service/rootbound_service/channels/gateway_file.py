"""A gateway's file: how a provider takes texts, what it answers, what it calls back with."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rootbound_service.channels.gateway import HttpGateway, Rules
from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from rootbound_service.channels.smpp import SmppGateway

KEY = "ROOTBOUND_TEXT_GATEWAY_FILE"
LOOPBACK = ("http://127.0.0.1", "http://localhost", "http://[::1]")


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SendTable(_Table):
    """``[send]``: the request that hands over one text."""

    url: str
    sender: str
    body: str
    """A template; knows to, text, sender and key; ``| tojson`` quotes for JSON, ``| urlencode``
    for a form. With GET it is the query of the address."""
    method: Literal["POST", "PUT", "GET"] = "POST"
    content_type: str = "application/json"
    auth: Literal["none", "bearer", "basic", "header"] = "bearer"
    user: str = ""
    header: str = "Authorization"
    headers: dict[str, str] = Field(default_factory=dict[str, str])


class CallsTable(_Table):
    """``[inbound]`` and ``[receipt]``: the names in the provider's calls to us."""

    id: str = "id"
    sender: str = "from"
    text: str = "text"
    state: str = "status"
    delivered: tuple[str, ...] = ("delivered",)
    failed: tuple[str, ...] = ("failed", "undelivered", "rejected", "expired")


class ProofTable(_Table):
    """``[proof]``: how the provider proves that its calls are its own."""

    scheme: Literal["signed", "hmac", "token"] = "signed"
    header: str = "X-Signature"


class SmppTable(_Table):
    """``[smpp]``: a message centre instead of HTTP."""

    host: str
    port: Annotated[int, Field(ge=1, le=65535)] = 2775
    system_id: str
    sender: str
    system_type: str = ""


class GatewayFile(_Table):
    """The whole file."""

    send: SendTable | None = None
    answer: Rules = Rules()
    inbound: CallsTable = CallsTable()
    receipt: CallsTable = CallsTable()
    proof: ProofTable = ProofTable()
    smpp: SmppTable | None = None


def read_file(path: Path) -> GatewayFile:
    """Read a gateway's file.

    Parameters
    ----------
    path
        The file, TOML.

    Raises
    ------
    RefusedInput
        With a problem for each thing that is wrong.
    """
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        what = f"{path} cannot be read ({type(error).__name__})"
        raise RefusedInput((Problem(KEY, what, "name a readable TOML file"),)) from None
    except tomllib.TOMLDecodeError as error:
        raise RefusedInput((Problem(KEY, f"{path}: {error}", "mend the TOML"),)) from None
    try:
        file = GatewayFile(**document)
    except ValidationError as error:
        raise RefusedInput(tuple(_problems(path, error))) from None
    if (file.send is None) == (file.smpp is None):
        what = f"{path} has {'both' if file.send else 'neither'} [send] and [smpp]"
        raise RefusedInput((Problem(KEY, what, "give one of the two tables"),))
    return file


def read_gateway(path: Path, token: str) -> HttpGateway | SmppGateway:
    """Make the gateway that a file describes.

    Parameters
    ----------
    path
        The file.
    token
        What the provider knows us by.

    Raises
    ------
    RefusedInput
        If the file is wrong, or a template in it.
    """
    file = read_file(path)
    if file.smpp is not None:
        from rootbound_service.channels.smpp import SmppGateway

        s = file.smpp
        return SmppGateway(s.host, s.port, s.system_id, token, s.sender, s.system_type)
    if file.send is None:  # read_file has seen to it
        raise RefusedInput((Problem(KEY, f"{path} has no [send]", "add the table"),))
    return _http(path, file.send, file.answer, token)


def _http(path: Path, send: SendTable, rules: Rules, token: str) -> HttpGateway:
    import jinja2
    import requests

    if not send.url.startswith(("https://", *LOOPBACK)):
        what, wanted = f"{path}: send.url is not encrypted", "give an address with https://"
        raise RefusedInput((Problem(KEY, what, wanted),))
    templates = jinja2.Environment(undefined=jinja2.StrictUndefined, autoescape=False)  # noqa: S701  (no HTML: JSON and forms are quoted by their filters)
    session = requests.Session()
    session.trust_env = False
    _authorise(session, send, token)
    try:
        body = templates.from_string(send.body)
        headers = {name: templates.from_string(text) for name, text in send.headers.items()}
        body.render(to="+15155550100", text="a", key="k", sender=send.sender)
    except jinja2.TemplateError as error:
        what = f"{path}: send.body or a header is no template ({error})"
        raise RefusedInput((Problem(KEY, what, "use to, text, sender and key"),)) from None
    return HttpGateway(
        send.url, send.sender, body, session, send.method, send.content_type, headers, rules
    )


def _authorise(session: object, send: SendTable, token: str) -> None:
    """Put what the provider knows us by where it looks for it."""
    import requests

    assert isinstance(session, requests.Session)  # noqa: S101  (for the type alone)
    if send.auth == "bearer":
        session.headers["Authorization"] = f"Bearer {token}"
    elif send.auth == "header":
        session.headers[send.header] = token
    elif send.auth == "basic":
        session.auth = (send.user, token)


def _problems(path: Path, error: ValidationError) -> list[Problem]:
    """One problem for each place of the file."""
    return [
        Problem(KEY, f"{path}: {'.'.join(map(str, one['loc']))} is wrong", one["msg"].lower())
        for one in error.errors(include_url=False)
    ]
