"""Phone numbers as E.164, by the published numbering plans."""

from __future__ import annotations

REGION = "US"
"""Where a number without a country code is from."""


class PhoneRefused(ValueError):
    """No number that can be texted."""


def e164(text: str, region: str = REGION) -> str:
    """Read a phone number.

    Parameters
    ----------
    text
        As somebody wrote it.
    region
        Where a number without a country code is from, as ISO 3166.

    Returns
    -------
    str
        As ``+15155550100``: at most 15 digits, ITU-T E.164.

    Raises
    ------
    PhoneRefused
        If it is none; says what would be right, not the number.
    """
    import phonenumbers

    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        raise PhoneRefused("this is no phone number; write it as +1 515 555 0100") from None
    if number.extension:
        raise PhoneRefused("a number with an extension takes no texts; give one without")
    # a number that can be dialled in its own town only is "possible" to the library, not to us
    reason = phonenumbers.is_possible_number_with_reason(number)
    if reason != phonenumbers.ValidationResult.IS_POSSIBLE:
        raise PhoneRefused("this number has too few or too many digits; write +1 515 555 0100")
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def e164_of_sender(text: str, region: str = REGION) -> str:
    """Read the number a gateway says a text came from: often in full, but without its plus.

    Parameters
    ----------
    text
        As the gateway gave it.
    region
        Where a number without a country code is from, as ISO 3166.

    Raises
    ------
    PhoneRefused
        If it is no number either way.
    """
    try:
        return e164(text, region)
    except PhoneRefused:
        if text.startswith("+"):
            raise
        return e164(f"+{text}", region)
