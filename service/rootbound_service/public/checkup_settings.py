"""Settings that can be read and are still not right for a service that others rely on."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from rootbound_service.public.finding import Finding

if TYPE_CHECKING:
    from rootbound_service.settings import Settings

HOME = ("127.0.0.1", "localhost", "::1")
"""Names of this machine, for itself alone."""
FEWEST_SIGNS = 20
"""Of a secret: shorter ones can be guessed by trying. Our choice. [characters]"""
NEW_SECRET = "python3 -c 'import secrets; print(secrets.token_urlsafe(32))'"  # noqa: S105 - a command


def check_settings(settings: Settings) -> list[Finding]:
    """Look at what is set.

    Parameters
    ----------
    settings
        Read already, so each value by itself has the right form.
    """
    return [_operator(settings), _base_url(settings), _secret(settings)]


def _operator(settings: Settings) -> Finding:
    what = "operator"
    if settings.operator_email:
        return Finding(what, well=True, said="somebody is told when the service is in trouble")
    return Finding(
        what,
        well=False,
        said="ROOTBOUND_OPERATOR_EMAIL is not set",
        why="when nights or mail stop, nobody hears of it, and silence looks like no risk",
        mend="set it to a mailbox that somebody reads every day",
    )


def _base_url(settings: Settings) -> Finding:
    what, url = "web address", settings.base_url
    stays = settings.mail_from.endswith("@localhost")
    if url is None and stays:
        return Finding(what, well=True, said="none; mail stays on this machine and needs no links")
    if url is None:
        return Finding(
            what,
            well=False,
            said="ROOTBOUND_BASE_URL is not set",
            why="letters then have no links: nobody can answer or stop them with one click",
            mend="set it to the address at which people reach rootbound web",
        )
    if url.startswith("http://") and urlsplit(url).hostname not in HOME:
        return Finding(
            what,
            well=False,
            said="ROOTBOUND_BASE_URL begins with http://",
            why="sign-in links can be read on their way, and mail programs will not stop letters",
            mend="put a web server with a certificate in front, and set https://",
        )
    return Finding(what, well=True, said="set, and safe on its way")


def _secret(settings: Settings) -> Finding:
    what = "secret of links"
    if settings.secret is None and not settings.database_url.startswith("sqlite"):
        return Finding(
            what,
            well=False,
            said="ROOTBOUND_SECRET is not set, and the database can be shared",
            why="each host then makes its own, and links of one are refused by the other",
            mend="set the same on every host; this makes one",
            run=NEW_SECRET,
        )
    if settings.secret is None:
        return Finding(what, well=True, said="made once, kept in the data folder")
    if len(settings.secret.get_secret_value()) < FEWEST_SIGNS:
        return Finding(
            what,
            well=False,
            said=f"ROOTBOUND_SECRET has fewer than {FEWEST_SIGNS} characters",
            why="who guesses it can sign in as anybody",
            mend="set a longer one; this makes one",
            run=NEW_SECRET,
        )
    return Finding(what, well=True, said="set, and long enough")
