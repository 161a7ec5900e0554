"""Links that say by themselves whom and what they are for, and cannot be made up by others."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal, cast

from itsdangerous import BadSignature, Signer

Purpose = Literal["stop", "note", "digest", "bounce", "enter", "join", "form"]
"""stop: contact id and scope number; note: message id; digest: digest id; bounce: message id;
enter: sign-in link id; join: invitation id; form: session id."""
SCOPES: tuple[Literal["all", "note", "digest"], ...] = ("all", "note", "digest")
"""Their places are the scope numbers of stop links."""
NOTE_MARK = "https://links.invalid/note"
"""Stands in a rendered message for the page of that message, whose number is given later."""
STOP_MARK = "https://links.invalid/stop"
"""Stands for the page on which the reader stops messages of this kind."""
_WAY_IN = re.compile(r"https://links\.invalid/(enter|join)/([0-9]{1,18})")
"""Stands for a link that lets somebody in: its proof is put on when it is sent, kept nowhere."""


def way_in_mark(purpose: Literal["enter", "join"], number: int) -> str:
    """What stands in a message in place of a link that lets somebody in."""
    return f"https://links.invalid/{purpose}/{number}"


class BadToken(ValueError):
    """A token that is not ours, is for something else, or was cut short."""


@dataclass(frozen=True, slots=True)
class Links:
    """Makes and reads the tokens of links.

    Parameters
    ----------
    secret
        What signs them; the same in every process.
    base_url
        Public web address without a slash at its end; None: there is no web address.
    """

    secret: str = field(repr=False)
    base_url: str | None = None

    def token(self, purpose: Purpose, *numbers: int) -> str:
        """Make a token.

        Parameters
        ----------
        purpose
            What it is for; it is worth nothing for anything else.
        numbers
            What it is about.
        """
        text = "-".join(map(str, numbers))
        return self._signer(purpose).sign(text.encode()).decode()

    def read(self, purpose: Purpose, token: str) -> tuple[int, ...]:
        """Give the numbers of a token.

        Parameters
        ----------
        purpose
            What it must be for.
        token
            As it came.

        Raises
        ------
        BadToken
            If it is not ours.
        """
        try:
            text = self._signer(purpose).unsign(token.encode("ascii")).decode()
            return tuple(int(one) for one in text.split("-"))
        except (BadSignature, ValueError) as error:
            raise BadToken("this link is not one of ours, or was cut short") from error

    def url(self, path: str) -> str | None:
        """Give the whole address of a path such as ``/u/TOKEN``; None without a web address."""
        return None if self.base_url is None else f"{self.base_url}{path}"

    def filled(self, text: str, message_id: int, contact_id: int | None, scope: str) -> str:
        """Put the message's own links in the place of the marks, the same on every retry.

        Parameters
        ----------
        text
            Of a rendered message, plain or HTML.
        message_id
            The message.
        contact_id
            Whom it goes to.
        scope
            What the stop link stops: a message's kind, or ``all``.
        """
        note = self.url(f"/n/{self.token('note', message_id)}") or ""
        stop = self.stop_url(contact_id, scope) or ""
        text = text.replace(NOTE_MARK, note).replace(STOP_MARK, stop)
        return _WAY_IN.sub(self._way_in, text)

    def way_in(self, purpose: Literal["enter", "join"], number: int) -> str:
        """Give the address that lets somebody in; without a web address only its path."""
        path = f"/{purpose}/{self.token(purpose, number)}"
        return self.url(path) or path

    def _way_in(self, mark: re.Match[str]) -> str:
        return self.way_in(cast("Literal['enter', 'join']", mark[1]), int(mark[2]))

    def stop_url(self, contact_id: int | None, scope: str) -> str | None:
        """Give the address that stops messages of a kind; None without a web address or contact."""
        if contact_id is None or scope not in SCOPES:
            return None
        return self.url(f"/u/{self.token('stop', contact_id, SCOPES.index(scope))}")

    def _signer(self, purpose: Purpose) -> Signer:
        return Signer(self.secret, salt=f"rootbound.{purpose}", sep=".")
