"""A letter signed here, for a relay that does not sign: RFC 6376 by dkimpy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from rootbound_service.channels.mail_channel import Sign

SIGNED = (
    b"from", b"from", b"to", b"reply-to", b"subject", b"date", b"message-id", b"in-reply-to",
    b"references", b"list-id", b"list-unsubscribe", b"list-unsubscribe-post",
    b"auto-submitted", b"mime-version", b"content-type",
)  # fmt: skip
"""RFC 8058 section 3 asks for both List-Unsubscribe headers among them. From stands twice, so that
nobody can add a second one (RFC 6376 section 8.15)."""
RELAXED = b"relaxed"
KEY = "ROOTBOUND_DKIM_KEY_FILE"


def signer(domain: str, selector: str, key_file: Path) -> Sign:
    """Make what signs letters.

    Parameters
    ----------
    domain
        Of the sending address: the signature must align with it.
    selector
        Under which the public key stands in the domain's DNS.
    key_file
        The private RSA key as PEM.

    Raises
    ------
    RefusedInput
        If the key cannot be read or used, or the library is not installed.
    """
    try:
        import dkim
    except ImportError:
        wanted = "install rootbound[dkim], or let the relay sign"
        raise RefusedInput((Problem(KEY, "dkimpy is not installed", wanted),)) from None
    try:
        key = key_file.read_bytes()
    except OSError as error:
        what = f"{key_file} cannot be read ({type(error).__name__})"
        raise RefusedInput((Problem(KEY, what, "name a PEM file with a private key"),)) from None

    def sign(raw: bytes) -> bytes:
        there = {line.partition(b":")[0].strip().lower() for line in _header_lines(raw)}
        headers = [name for name in SIGNED if name in there]
        how: dict[str, Any] = {"include_headers": headers, "canonicalize": (RELAXED, RELAXED)}
        signed: bytes = dkim.sign(raw, selector.encode(), domain.encode(), key, **how)
        return signed

    try:
        sign(b"From: a@b\r\n\r\n\r\n")
    except Exception as error:  # noqa: BLE001  (the library raises what its parsers raise)
        what = f"{key_file} is no key that can sign ({type(error).__name__})"
        wanted = "give an RSA key of 2048 bits as PEM"
        raise RefusedInput((Problem(KEY, what, wanted),)) from None
    return sign


def _header_lines(raw: bytes) -> list[bytes]:
    """The lines that begin a header."""
    return [line for line in raw.partition(b"\r\n\r\n")[0].split(b"\r\n") if line[:1].strip()]
