"""The channels as the settings describe them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.channels.dkim import signer
from rootbound_service.channels.email import Letterhead
from rootbound_service.channels.mail_channel import MailChannel, Sign
from rootbound_service.channels.smtp import SmtpTransport
from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from rootbound_service.channels.transport import ChannelOut
    from rootbound_service.links import Links
    from rootbound_service.records import Channel
    from rootbound_service.settings import Settings


def build_channels(settings: Settings, links: Links) -> dict[Channel, ChannelOut]:
    """Make every channel that is set up: e-mail always, text where a gateway is named.

    Parameters
    ----------
    settings
        The settings.
    links
        Makes the links of messages.

    Raises
    ------
    RefusedInput
        If a key or the gateway's file cannot be used.
    """
    mail = MailChannel(_relay(settings), letter_head(settings), links, _sign(settings))
    channels: dict[Channel, ChannelOut] = {"email": mail}
    if settings.text_gateway_file is not None:
        from rootbound_service.channels.gateway_file import read_gateway
        from rootbound_service.channels.text_channel import TextChannel

        token = settings.text_token.get_secret_value() if settings.text_token else ""
        gateway = read_gateway(settings.text_gateway_file, token)
        channels["text"] = TextChannel(gateway, links)
    return channels


def letter_head(settings: Settings) -> Letterhead:
    """Return who writes, from the settings."""
    s = settings
    return Letterhead(s.mail_from, s.mail_from_name, s.mail_reply_to, s.bounce_address)


def _relay(s: Settings) -> SmtpTransport:
    return SmtpTransport(
        host=s.smtp_host,
        port=s.smtp_port,
        user=s.smtp_user,
        password=s.smtp_password.get_secret_value() if s.smtp_password else None,
        starttls=s.smtp_starttls,
        timeout_s=s.smtp_timeout_s,
    )


def _sign(s: Settings) -> Sign | None:
    if s.dkim_key_file is None and s.dkim_selector is None:
        return None
    if s.dkim_key_file is None or s.dkim_selector is None:
        missing = "DKIM_SELECTOR" if s.dkim_selector is None else "DKIM_KEY_FILE"
        wanted = "give both the selector and the key, or neither"
        raise RefusedInput((Problem(f"ROOTBOUND_{missing}", "is missing", wanted),))
    return signer(s.mail_from.rpartition("@")[2], s.dkim_selector, s.dkim_key_file)
