"""What ``rootbound doctor`` says of the ways out: the text gateway, and the mail's DNS."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.errors import RefusedInput

if TYPE_CHECKING:
    from rootbound_service.public.finding import Finding
    from rootbound_service.settings import Settings

TEXTS = "texts"
HERE = ("@localhost",)


def check_texts(settings: Settings) -> list[Finding]:
    """Read the gateway's file and what goes with it; no text is sent.

    Parameters
    ----------
    settings
        The settings; without a gateway there is nothing to check.
    """
    from rootbound_service.channels.gateway_file import read_file, read_gateway
    from rootbound_service.public.finding import Finding

    path, token = settings.text_gateway_file, settings.text_token
    if path is None:
        return []
    try:
        read_gateway(path, token.get_secret_value() if token else "")
        file = read_file(path)
    except RefusedInput as error:
        first = error.problems[0]
        return [Finding(TEXTS, well=False, said=first.what, mend=first.wanted)]
    missing: list[str] = []
    if token is None and (file.send is None or file.send.auth != "none"):
        missing.append("ROOTBOUND_TEXT_TOKEN")
    if settings.text_hook_secret is None:
        missing.append("ROOTBOUND_TEXT_HOOK_SECRET")
    if missing:
        mend = f"set {' and '.join(missing)}; without the hook's secret no STOP is ever heard"
        return [Finding(TEXTS, well=False, said=f"{path} can be read, but not used", mend=mend)]
    return [Finding(TEXTS, well=True, said=f"{path} can be used; no text was sent")]


def mail_lines(settings: Settings) -> list[str]:
    """Say what belongs into the DNS for the mail to be believed; nothing is looked up.

    Parameters
    ----------
    settings
        The settings; a sender on this machine needs no DNS.
    """
    from rootbound_service.channels.dns_lines import aligned, dns_lines

    if settings.mail_from.endswith(HERE):
        return []
    try:
        records = dns_lines(settings)
    except RefusedInput as error:
        return [f"DNS for the mail: {one.what}; {one.wanted}" for one in error.problems]
    lines = ["DNS for the mail; receivers look for these lines (nothing was looked up):"]
    for record in records:
        lines += [f"      {record}", f"        {record.why}"]
    if not aligned(settings):
        lines.append(
            "      ROOTBOUND_BOUNCE_ADDRESS is of another domain than ROOTBOUND_MAIL_FROM: "
            "SPF then does not count for DMARC, so let letters be signed by DKIM"
        )
    return lines
