"""A message centre that takes texts over SMPP 3.4, by smplib's plain client; an extra."""

from __future__ import annotations

import logging
import struct
from dataclasses import dataclass, field
from hashlib import sha256
from importlib import import_module
from typing import Any

from rootbound_service import gsm
from rootbound_service.channels.transport import (
    ChannelRefused,
    Delivered,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    Unreachable,
)
from rootbound_service.errors import Problem, RefusedInput

TIMEOUT_S = 30
INTERNATIONAL, ALPHANUMERIC, ISDN = 1, 5, 1
"""Types of number and the numbering plan, SMPP 3.4 5.2.5 and 5.2.6."""
_LOG = "rootbound.smpp"
_AGAIN = {0x00000014, 0x00000058, 0x00000008}
"""Queue full, throttled, system error: SMPP 3.4 table 5-2."""
_NOT_US = {0x0000000D, 0x0000000E, 0x0000000F, 0x00000005}
"""Bind failed, wrong password, wrong system id, already bound."""
_JOINED = 0x40
"""The user's data begins with a header: SMPP 3.4 5.2.12."""
_MOST_READ = 20
"""Messages of the centre to read until it answers ours."""


@dataclass(slots=True)
class SmppGateway:
    """One message centre.

    Parameters
    ----------
    host, port
        Where it listens.
    system_id, password
        Who we are to it.
    sender
        The number or name that texts come from.
    system_type
        For centres that ask for one.
    """

    host: str
    port: int
    system_id: str
    password: str = field(repr=False)
    sender: str
    system_type: str = ""
    _client: Any = field(default=None, init=False, repr=False)

    def send(self, to: str, text: str, key: str) -> Delivered:
        """Hand over one text, in as many parts as it needs; errors as in :class:`ChannelOut`.

        Parameters
        ----------
        to
            The number as E.164.
        text
            Its words.
        key
            Its name: octets of its hash become the user's message reference and that of joined
            parts, so that a phone joins parts of a second try with those of the first.
        """
        client = self._client or self._connect()
        wide = gsm.size(text).wide
        parts = _parts(text, key, wide=wide)
        names = [self._submit(client, to, part, key, wide=wide) for part in parts]
        return Delivered(names[0] or None)

    def close(self) -> None:
        """Say goodbye, whether or not anybody still listens."""
        client, self._client = self._client, None
        if client is None:
            return
        try:
            client.unbind()
            client.disconnect()
        except Exception:  # noqa: BLE001  (it was going away anyway)
            _drop(client)

    def _connect(self) -> Any:
        """Connect and log in."""
        smpplib = _library()
        options = {"logger_name": _LOG, "allow_unknown_opt_params": True}
        client = smpplib.client.Client(self.host, self.port, timeout=TIMEOUT_S, **options)
        logging.getLogger(_LOG).setLevel(logging.WARNING)  # below it writes numbers and words
        try:
            client.connect()
        except (smpplib.exceptions.ConnectionError, OSError) as error:
            _drop(client)
            raise Unreachable(f"no connection: {type(error).__name__}") from error
        try:
            client.bind_transmitter(
                system_id=self.system_id, password=self.password, system_type=self.system_type
            )
        except smpplib.exceptions.PDUError as error:
            client.disconnect()
            raise ChannelRefused(f"no log-in: {error.args[0]}", _code(error)) from error
        except (smpplib.exceptions.ConnectionError, OSError) as error:
            _drop(client)
            raise Unreachable(f"no log-in: {type(error).__name__}") from error
        self._client = client
        return client

    def _submit(
        self, client: Any, to: str, part: tuple[bytes, int], key: str, *, wide: bool
    ) -> str:
        """Submit one part and wait for the centre's answer."""
        smpplib = _library()
        octets, esm = part
        international = self.sender.startswith("+")
        try:
            sent = client.send_message(
                source_addr_ton=INTERNATIONAL if international else ALPHANUMERIC,
                source_addr_npi=ISDN if international else 0,
                source_addr=self.sender.removeprefix("+"),
                dest_addr_ton=INTERNATIONAL,
                dest_addr_npi=ISDN,
                destination_addr=to.removeprefix("+"),
                short_message=octets,
                data_coding=smpplib.consts.SMPP_ENCODING_ISO10646 if wide else 0,
                esm_class=esm,
                registered_delivery=False,  # a transmitter is never handed a receipt
                user_message_reference=int.from_bytes(_hash(key)[:2], "big"),
            )
            answer = _answer_to(client, sent.sequence)
        except smpplib.exceptions.UnknownCommandError as error:
            raise self._lost("an answer that is none") from error
        except (smpplib.exceptions.PDUError, struct.error) as error:
            raise self._lost("an answer that cannot be read") from error
        except (smpplib.exceptions.ConnectionError, OSError) as error:
            raise self._lost(f"no answer after the text: {type(error).__name__}") from error
        if answer.is_error():
            raise self._verdict(answer.status, answer.get_status_desc())
        named: bytes = answer.message_id or b""
        return named.decode("ascii", "replace")

    def _lost(self, what: str) -> NobodyKnows:
        """Leave a line of which nobody knows how it stands."""
        self.close()
        return NobodyKnows(what)

    def _verdict(self, code: int, said: str) -> ChannelRefused | NotNow | RefusedForGood:
        """Turn the centre's status into the right error."""
        if code in _NOT_US:
            return ChannelRefused(said, code)
        return NotNow(said, code) if code in _AGAIN else RefusedForGood(said, code)


def _drop(client: Any) -> None:
    """Close a line that the library leaves open after a failure."""
    line = getattr(client, "_socket", None)
    if line is not None:
        line.close()


def _code(error: Exception) -> int:
    return int(error.args[1]) if len(error.args) > 1 else -1


def _answer_to(client: Any, sequence: int) -> Any:
    """Read until the centre answers; it may ask in between whether we are there."""
    smpplib = _library()
    for _ in range(_MOST_READ):
        told = client.read_pdu()
        if told.command == "enquire_link":
            here = smpplib.smpp.make_pdu("enquire_link_resp", client=client)
            here.sequence = told.sequence
            client.send_pdu(here)
        elif told.sequence == sequence and told.command in {"submit_sm_resp", "generic_nack"}:
            return told
        elif told.command == "unbind":
            break
    raise smpplib.exceptions.ConnectionError


def _parts(text: str, key: str, *, wide: bool) -> list[tuple[bytes, int]]:
    """Octets and message class of each part; joined ones as 3GPP TS 23.040 9.2.3.24.1."""
    parts = [gsm.octets(one, wide=wide) for one in gsm.split(text)]
    if len(parts) == 1:
        return [(parts[0], 0)]
    head = bytes([5, 0, 3, _hash(key)[2], len(parts)])
    return [(head + bytes([place]) + one, _JOINED) for place, one in enumerate(parts, 1)]


def _hash(key: str) -> bytes:
    return sha256(key.encode()).digest()


def _library() -> Any:
    """The library, where it is installed."""
    try:
        for room in ("client", "consts", "exceptions", "smpp"):
            import_module(f"smpplib.{room}")
        return import_module("smpplib")
    except ImportError:
        where, wanted = "ROOTBOUND_TEXT_GATEWAY_FILE", "install rootbound[smpp]"
        raise RefusedInput((Problem(where, "smpplib is not installed", wanted),)) from None
