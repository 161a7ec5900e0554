"""E-mail over SMTP: one connection for a batch, one recipient a message."""

from __future__ import annotations

import re
import smtplib
import ssl
from dataclasses import dataclass, field

from rootbound_service.channels.said import said_briefly
from rootbound_service.channels.transport import (
    ChannelRefused,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    SendError,
    Unreachable,
)

_POLICY = re.compile(r"\b5\.7\.\d+")
_QUOTED_DOT = re.compile(rb"(?m)^\.")
_START_DATA, _CLOSING = 354, 421
_NO_LOGIN = {530, 534, 535, 538}


@dataclass(slots=True)
class SmtpTransport:
    """A relay that takes our letters.

    Parameters
    ----------
    host, port
        Where it listens.
    user, password
        For a relay that asks for them.
    starttls
        Whether to encrypt before logging in.
    timeout_s
        How long to wait for each answer; long, for a hurried sender makes doubles. [s]
    """

    host: str
    port: int
    user: str | None = None
    password: str | None = field(default=None, repr=False)
    starttls: bool = False
    timeout_s: float = 120.0
    _open: smtplib.SMTP | None = field(default=None, init=False, repr=False)

    def send(self, raw: bytes, sender: str, to: str) -> str | None:
        """Hand over one message; parameters and errors as in :class:`Transport`."""
        server = self._open or self._connect()
        try:
            self._envelope(server, sender, to)
        except (smtplib.SMTPServerDisconnected, OSError) as error:
            self.close()
            raise NotNow(said_briefly(str(error) or type(error).__name__)) from error
        self._body(server, raw)
        try:
            server.send(b".\r\n")
            code, said = server.getreply()
        except (smtplib.SMTPServerDisconnected, OSError) as error:
            self.close()
            raise NobodyKnows(f"no answer after the message: {type(error).__name__}") from error
        self._check(server, code, said)
        return said_briefly(said.decode("utf-8", "replace"))

    def close(self) -> None:
        """Say goodbye, whether or not anybody still listens."""
        server, self._open = self._open, None
        if server is None:
            return
        try:
            server.quit()
        except (smtplib.SMTPException, OSError):
            server.close()

    def _connect(self) -> smtplib.SMTP:
        """Open, encrypt and log in."""
        try:
            server = smtplib.SMTP(self.host, self.port, timeout=self.timeout_s)
        except (smtplib.SMTPException, OSError) as error:
            raise Unreachable(f"no connection: {type(error).__name__}") from error
        try:
            if self.starttls:
                server.starttls(context=ssl.create_default_context())
            if self.user is not None:
                server.login(self.user, self.password or "")
        except (smtplib.SMTPAuthenticationError, smtplib.SMTPNotSupportedError) as error:
            server.close()
            code = getattr(error, "smtp_code", None)
            raise ChannelRefused(f"no log-in: {said_briefly(str(error))}", code) from error
        except (smtplib.SMTPException, OSError) as error:
            server.close()
            raise Unreachable(f"no log-in: {type(error).__name__}") from error
        self._open = server
        return server

    def _envelope(self, server: smtplib.SMTP, sender: str, to: str) -> None:
        """Sender, recipient, and leave to begin."""
        server.ehlo_or_helo_if_needed()
        code, said = server.mail(sender)
        self._check(server, code, said, sender=True)
        self._check(server, *server.rcpt(to))
        code, said = server.docmd("DATA")
        if code != _START_DATA:
            self._check(server, code, said)
            raise self._not_now(server, f"odd answer to DATA: {code}", code)

    def _body(self, server: smtplib.SMTP, raw: bytes) -> None:
        """Send all but the final dot: without it nobody may take the letter, RFC 5321 4.1.1.4."""
        try:
            server.send(_QUOTED_DOT.sub(b"..", raw).rstrip(b"\r\n") + b"\r\n")
        except (smtplib.SMTPServerDisconnected, OSError) as error:
            self.close()
            raise NotNow(f"broke off within the message: {type(error).__name__}") from error

    def _check(self, server: smtplib.SMTP, code: int, said: bytes, *, sender: bool = False) -> None:
        """Turn an answer into silence or the right error."""
        text = said_briefly(said.decode("utf-8", "replace"))
        if 200 <= code < 400:  # noqa: PLR2004 - RFC 5321 4.2.1: 2 and 3 are positive
            return
        if code == _CLOSING or code < 0:
            self.close()
            raise NotNow(text, code)
        if code < 500:  # noqa: PLR2004 - RFC 5321 4.2.1: 4 is a transient refusal
            raise self._not_now(server, text, code)
        self._reset(server)
        if sender or code in _NO_LOGIN or _POLICY.search(text):
            raise ChannelRefused(text, code)
        raise RefusedForGood(text, code)

    def _not_now(self, server: smtplib.SMTP, text: str, code: int) -> SendError:
        """Make the connection fit for the next message and return the error."""
        self._reset(server)
        return NotNow(text, code)

    def _reset(self, server: smtplib.SMTP) -> None:
        """Clear the envelope; a connection that cannot do even that is let go."""
        try:
            server.rset()
        except (smtplib.SMTPException, OSError):
            self.close()
