"""What an operator publishes in DNS, so that letters are believed and bounces come home."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.channels.dkim import KEY
from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from pathlib import Path

    from rootbound_service.settings import Settings

STRING = 255
"""The longest piece of a TXT record, RFC 1035 3.3.14; RFC 6376 3.6.2.2 joins them."""
HERE = {"localhost", "127.0.0.1", "::1"}


@dataclass(frozen=True, slots=True)
class DnsLine:
    """One record."""

    name: str
    kind: str
    value: str
    why: str

    def __str__(self) -> str:
        """Write it as a line of a zone file."""
        return f"{self.name}. {self.kind} {self.value}"


def dns_lines(settings: Settings) -> tuple[DnsLine, ...]:
    """Give the records that the settings ask for; nothing is looked up.

    Parameters
    ----------
    settings
        Sender, bounces, relay and key.

    Raises
    ------
    RefusedInput
        If the key cannot be read.
    """
    domain = _domain(settings.mail_from)
    back = _domain(settings.bounce_address or settings.mail_from)
    lines = [_spf(back, settings.smtp_host)]
    if settings.dkim_selector and settings.dkim_key_file:
        lines.append(_dkim(domain, settings.dkim_selector, settings.dkim_key_file))
    lines.append(_dmarc(domain, settings.operator_email))
    if settings.bounce_address:
        why = "bounces come back to it: a host that gives them to rootbound receive"
        lines.append(DnsLine(back, "MX", "10 YOUR-MAIL-HOST.", why))
    return tuple(lines)


def aligned(settings: Settings) -> bool:
    """Tell whether return path and sender share a domain, as DMARC asks (RFC 7489 3.1.2).

    Parameters
    ----------
    settings
        Sender and bounces. One may be a part of the other's domain; two parts of a third are
        left to the operator, for where organisations begin is a list of its own.
    """
    sender = _domain(settings.mail_from)
    back = _domain(settings.bounce_address or settings.mail_from)
    return sender == back or sender.endswith(f".{back}") or back.endswith(f".{sender}")


def _domain(address: str) -> str:
    return address.rpartition("@")[2].lower()


def _spf(domain: str, relay: str) -> DnsLine:
    """Who may send: RFC 7208, read for the domain of the return path."""
    sends = "ip4:YOUR-OUTGOING-ADDRESS" if relay in HERE else f"a:{relay}"
    why = "SPF: who hands letters to the world; a provider names its own include: instead"
    return DnsLine(domain, "TXT", f'"v=spf1 {sends} -all"', why)


def _dkim(domain: str, selector: str, key_file: Path) -> DnsLine:
    """The public half of the key: RFC 6376 3.6.1."""
    value = f"v=DKIM1; k=rsa; p={_public(key_file)}"
    pieces = [value[start : start + STRING] for start in range(0, len(value), STRING)]
    text = " ".join(f'"{piece}"' for piece in pieces)
    return DnsLine(f"{selector}._domainkey.{domain}", "TXT", text, "DKIM: the key of signatures")


def _dmarc(domain: str, operator: str | None) -> DnsLine:
    """What receivers do with what fails: RFC 7489 6.3; to watch first."""
    reports = f"; rua=mailto:{operator}" if operator else ""
    why = "DMARC: begin with none, and go on to quarantine when the reports are clean"
    return DnsLine(f"_dmarc.{domain}", "TXT", f'"v=DMARC1; p=none{reports}"', why)


def _public(key_file: Path) -> str:
    """Read a private key and give its public half, as DNS carries it."""
    wanted = "name a PEM file with an RSA key of 2048 bits"
    try:
        from cryptography.hazmat.primitives import serialization as form
    except ImportError:
        wanted = "install rootbound[dkim], or let the relay sign"
        raise RefusedInput((Problem(KEY, "cryptography is not installed", wanted),)) from None
    try:
        key = form.load_pem_private_key(key_file.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        what = f"{key_file} cannot be read as a key ({type(error).__name__})"
        raise RefusedInput((Problem(KEY, what, wanted),)) from None
    public = key.public_key()
    der = public.public_bytes(form.Encoding.DER, form.PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(der).decode()
