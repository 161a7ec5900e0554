"""What a provider tells of a text after it took it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast
from urllib.parse import parse_qsl

from rootbound_service.channels.gateway import at

if TYPE_CHECKING:
    from rootbound_service.channels.gateway_file import CallsTable
    from rootbound_service.store.receipts import State

SAID_MOST = 200


@dataclass(frozen=True, slots=True)
class Receipt:
    """One word of a text's fate."""

    provider_id: str
    state: State
    said: str


@dataclass(frozen=True, slots=True)
class Incoming:
    """One text that came in."""

    provider_id: str
    sender: str
    text: str


def read_call(body: bytes, content_type: str) -> Mapping[str, object]:
    """Read the body of a call, JSON or a form.

    Parameters
    ----------
    body
        As it came.
    content_type
        What it says it is.

    Raises
    ------
    ValueError
        If it is neither.
    """
    if "json" in content_type:
        said = json.loads(body)
        if not isinstance(said, dict):
            raise ValueError("the call is JSON, but no object")
        return cast("dict[str, object]", said)
    return dict(parse_qsl(body.decode("utf-8"), keep_blank_values=True))


def receipt_of(said: Mapping[str, object], names: CallsTable) -> Receipt:
    """Read a delivery receipt.

    Parameters
    ----------
    said
        The call.
    names
        What the provider calls things.

    Raises
    ------
    ValueError
        If it does not name a text.
    """
    name = at(said, names.id)
    if not name:
        raise ValueError(f"the receipt has no {names.id}")
    told = str(at(said, names.state) or "")
    state: State = "unknown"
    if told in names.delivered:
        state = "delivered"
    elif told in names.failed:
        state = "failed"
    return Receipt(str(name), state, told[:SAID_MOST])


def incoming_of(said: Mapping[str, object], names: CallsTable) -> Incoming:
    """Read a text that came in.

    Parameters
    ----------
    said, names
        As for :func:`receipt_of`.

    Raises
    ------
    ValueError
        If sender, text or its name are missing.
    """
    found = {key: at(said, path) for key, path in (("id", names.id), ("sender", names.sender))}
    text = at(said, names.text)
    missing = [key for key, value in found.items() if not value] + (
        ["text"] if text is None else []
    )
    if missing:
        raise ValueError(f"the call has no {', '.join(missing)}")
    return Incoming(str(found["id"]), str(found["sender"]), str(text))
