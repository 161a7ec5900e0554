"""Phone numbers become E.164 or are refused in a sentence that does not repeat them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.intake.phones import PhoneRefused, e164, e164_of_sender

ARABIC = "".join(chr(0x660 + int(digit)) for digit in "5155550121")


@pytest.mark.parametrize(
    "text", ["515 555 0121", "(515) 555-0121", "1-515-555-0121", "+1 515.555.0121", ARABIC]
)
def test_however_it_is_written_a_number_is_one_number(text):
    assert e164(text) == "+15155550121"


def test_a_number_from_elsewhere_keeps_its_country():
    # Ofcom's numbers for drama, from memory: 07700 900000 to 900999
    assert e164("+44 7700 900123") == e164("07700 900123", "GB") == "+447700900123"


@pytest.mark.parametrize("text", ["447700900123", "+447700900123"])
def test_a_gateway_may_leave_out_the_plus_of_a_number_from_elsewhere(text):
    assert e164_of_sender(text) == "+447700900123"
    assert e164_of_sender("5155550121") == e164_of_sender("15155550121") == "+15155550121"
    with pytest.raises(PhoneRefused):
        e164_of_sender("911")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("555 0121", "too few or too many digits"),  # can be dialled in its own town only
        ("911", "too few or too many digits"),
        ("+1 515 555 01211", "too few or too many digits"),
        ("515 555 0121 ext. 5", "extension"),
        ("hello", "no phone number"),
        ("", "no phone number"),
        ("+999 515 555 0121", "no phone number"),
    ],
)
def test_what_cannot_be_texted_is_refused_without_repeating_it(text, told):
    with pytest.raises(PhoneRefused, match=told) as refused:
        e164(text)

    assert "0121" not in str(refused.value)


@given(st.text(max_size=30) | st.from_regex(r"\+?[0-9 ().-]{3,20}", fullmatch=True))
def test_any_text_is_refused_or_becomes_a_number_of_at_most_fifteen_digits(text):
    try:
        number = e164(text)
    except PhoneRefused:
        return
    # ITU-T E.164: a plus sign and at most 15 digits
    assert number[0] == "+"
    assert number[1:].isdigit()
    assert 3 < len(number) <= 16  # it names no least
    assert e164(number) == number
