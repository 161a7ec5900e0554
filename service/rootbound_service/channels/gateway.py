"""A provider's HTTP gateway for texts, described by values: any provider is configuration."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ConfigDict

from rootbound_service.channels.transport import (
    ChannelRefused,
    Delivered,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    Unreachable,
)

if TYPE_CHECKING:
    import jinja2
    import requests

TIMEOUT_S = (10.0, 60.0)
"""To connect, and for the answer; a hurried sender makes doubles. [s]"""
SAID_MOST = 120
_NOT_US = {401, 402, 403, 407}
_THROTTLED = 429
_NEVER_STOOD = ("NewConnectionError", "NameResolutionError", "CERTIFICATE_VERIFY_FAILED")
"""Failures before a word of the text went out."""


class Rules(BaseModel):
    """``[answer]`` of a gateway's file: how to read what the provider answers."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    status: tuple[int, ...] = (200, 201, 202)
    """HTTP codes that may mean it was taken."""
    state_path: str = ""
    """Where the answer says what it did, as ``messages.0.status``; empty: the code is enough."""
    taken: tuple[str, ...] = ()
    """What stands there when it was taken."""
    id_path: str = ""
    code_path: str = ""
    """Where the answer names what is wrong."""
    final: tuple[str, ...] = ()
    """Codes after which trying again cannot help."""
    idempotent: bool = False
    """Whether the provider drops a second message of the same name."""


@dataclass(frozen=True, slots=True)
class HttpGateway:
    """One provider; :func:`rootbound_service.channels.gateway_file.read_gateway` makes it."""

    url: str
    sender: str
    """The number or name that texts come from."""
    body: jinja2.Template
    session: requests.Session = field(repr=False)
    method: Literal["POST", "PUT", "GET"] = "POST"
    content_type: str = "application/json"
    headers: Mapping[str, jinja2.Template] = field(default_factory=dict[str, "jinja2.Template"])
    rules: Rules = field(default_factory=Rules)

    def send(self, to: str, text: str, key: str) -> Delivered:
        """Hand over one text.

        Parameters
        ----------
        to
            The number as E.164.
        text
            Its words.
        key
            Its name, the same on every retry.

        Raises
        ------
        SendError
            One of its children says what may be done next.
        """
        import requests

        values = {"to": to, "text": text, "key": key, "sender": self.sender}
        headers = {name: value.render(values) for name, value in self.headers.items()}
        headers["Content-Type"] = self.content_type
        url, body = self.url, self.body.render(values).strip()
        if self.method == "GET":  # it has no body: what the template says stands in the address
            url, body = f"{url}{'&' if '?' in url else '?'}{body}", ""
        logging.getLogger("urllib3").setLevel(logging.INFO)  # below it writes whole addresses
        try:
            answer = self.session.request(
                self.method,
                url,
                data=body.encode() or None,
                headers=headers,
                timeout=TIMEOUT_S,
                allow_redirects=False,
            )
        except requests.ConnectTimeout as error:
            raise Unreachable("no connection: it took too long") from error
        except requests.Timeout as error:
            raise NobodyKnows("no answer in time", safe_again=self.rules.idempotent) from error
        except requests.RequestException as error:  # an answer cut short is none of the above
            raise self._broken(error) from error
        return self._read(answer)

    def _broken(self, error: requests.RequestException) -> NobodyKnows | Unreachable:
        """Tell a connection that never stood from one that broke after the text was handed over."""
        if any(one in repr(error) for one in _NEVER_STOOD):
            return Unreachable("no connection")
        return NobodyKnows("the connection broke", safe_again=self.rules.idempotent)

    def _read(self, answer: requests.Response) -> Delivered:
        """Turn an answer into the provider's name for the text, or into the right error."""
        rules, code = self.rules, answer.status_code
        try:
            said = json.loads(answer.content)
        except ValueError:
            said = None
        if code in rules.status:
            state = str(at(said, rules.state_path) or "") if rules.state_path else ""
            if not rules.state_path or state in rules.taken:
                found = at(said, rules.id_path) if rules.id_path else None
                return Delivered(None if found is None else str(found))
        wrong = str(at(said, rules.code_path) or "") if rules.code_path else ""
        told = f"HTTP {code}" + (f", {wrong[:SAID_MOST]}" if wrong else "")
        if code in _NOT_US:
            raise ChannelRefused(told, code)
        if code == _THROTTLED or code >= 500:  # noqa: PLR2004 - RFC 9110 15.6: the server's fault
            raise NotNow(told, code, _retry_after(answer))
        if wrong in rules.final or (code >= 400 and not rules.final):  # noqa: PLR2004 - RFC 9110 15.5
            raise RefusedForGood(told, code)
        raise NotNow(told, code)


def at(value: object, path: str) -> Any:
    """Find what stands at a path in an answer; None where nothing does.

    Parameters
    ----------
    value
        Parsed JSON.
    path
        Names and places with dots between, as ``messages.0.id``.
    """
    found: Any = value
    for step in path.split("."):
        key: Any = int(step) if step.isdecimal() else step
        try:
            found = None if isinstance(found, str) else found[key]
        except (KeyError, IndexError, TypeError):
            return None
    return found


def _retry_after(answer: requests.Response) -> float | None:
    """Seconds that the provider asked us to wait, RFC 9110 10.2.3; a date is not waited for."""
    said = answer.headers.get("Retry-After", "")
    return float(said) if said.isdecimal() else None
