"""Settings of the mail that are each right and do not go together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.public.checkup_settings import HOME
from rootbound_service.public.finding import Finding

if TYPE_CHECKING:
    from rootbound_service.settings import Settings

WHAT = "mail relay"
TLS_AT_ONCE = 465
"""Of RFC 8314 3.3: encrypted from the first byte, while we begin plainly and then turn to it."""


def check_mail(settings: Settings) -> list[Finding]:
    """Look whether the settings of the mail go together; no letter is sent.

    Parameters
    ----------
    settings
        Read already, so each value by itself has the right form.
    """
    bad = [*_way(settings), *_names(settings)]
    return bad or [Finding(WHAT, well=True, said="its settings go together; no letter was sent")]


def _way(settings: Settings) -> list[Finding]:
    """What is wrong with the way to the relay."""
    far = settings.smtp_host not in HOME
    found: list[Finding] = []
    if settings.smtp_port == TLS_AT_ONCE:
        found.append(
            _bad(
                "ROOTBOUND_SMTP_PORT is 465, where the relay waits for encryption at once",
                "no letter can be handed over: we begin plainly, and encrypt by STARTTLS",
                "set it to the relay's other port, mostly 587, and ROOTBOUND_SMTP_STARTTLS=true",
            )
        )
    elif far and settings.smtp_user and not settings.smtp_starttls:
        found.append(
            _bad(
                "ROOTBOUND_SMTP_USER is set and ROOTBOUND_SMTP_STARTTLS is not",
                "anybody on the way can read the relay's password",
                "set ROOTBOUND_SMTP_STARTTLS=true, and the relay's port for it, mostly 587",
            )
        )
    if settings.smtp_user and settings.smtp_password is None:
        found.append(
            _bad(
                "ROOTBOUND_SMTP_USER is set without a password",
                "the relay refuses every letter",
                "set ROOTBOUND_SMTP_PASSWORD_FILE to a file that holds it",
            )
        )
    return found


def _names(settings: Settings) -> list[Finding]:
    """What is wrong with who writes."""
    found: list[Finding] = []
    if settings.smtp_host not in HOME and settings.mail_from.endswith("@localhost"):
        found.append(
            _bad(
                "letters leave this machine, and their sender is at localhost",
                "receivers refuse a sender whom they cannot answer",
                "set ROOTBOUND_MAIL_FROM to an address of your own domain",
            )
        )
    if (settings.dkim_key_file is None) != (settings.dkim_selector is None):
        found.append(
            _bad(
                "one of ROOTBOUND_DKIM_SELECTOR and ROOTBOUND_DKIM_KEY_FILE is not set",
                "no letter can be sent",
                "set both, or neither where the relay signs",
            )
        )
    return found


def _bad(said: str, why: str, mend: str) -> Finding:
    return Finding(WHAT, well=False, said=said, why=why, mend=mend)
