"""What a text costs, against a second implementation and the figures of the standard."""

from __future__ import annotations

import pytest
import smsutil
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service import gsm

ANY = st.text(st.characters(codec="utf-8", exclude_characters="\x1b\x0c"), max_size=400)
PLAIN = st.text(st.sampled_from(gsm.BASIC.replace("\x1b", "") + gsm.EXTENDED), max_size=400)


@given(st.one_of(ANY, PLAIN))
def test_parts_are_those_of_a_second_implementation(text):
    """The package smsutil splits by 3GPP TS 23.040 on its own."""
    wide = bool(text) and not smsutil.is_valid_gsm(text)
    parts = len(smsutil.split(text).parts) if text else 1

    assert gsm.size(text).wide is wide
    assert gsm.size(text).parts == parts


@pytest.mark.parametrize(
    ("text", "units", "parts"),
    [
        ("a" * 160, 160, 1),
        ("a" * 161, 161, 2),
        ("a" * 306, 306, 2),
        ("a" * 307, 307, 3),
        ("€" * 80, 160, 1),
        ("a" * 159 + "€", 161, 2),
        # 152 + a pair that does not fit into the first part's 153rd septet
        ("a" * 152 + "€" + "a" * 152, 306, 3),
        ("\u0142" * 70, 70, 1),
        ("\u0142" * 71, 71, 2),
        ("\U0001f33d" * 35, 70, 1),
        ("\U0001f33d" * 36, 72, 2),
    ],
)
def test_septets_and_parts_are_counted_as_the_standard_says(text, units, parts):
    """3GPP TS 23.038 6.2.1 and TS 23.040 9.2.3.24.1: 160, 153; 70 and 67 in UCS-2."""
    size = gsm.size(text)

    assert (size.units, size.parts) == (units, parts)


@given(ANY)
def test_a_plain_text_never_costs_double_and_is_plain_already(text):
    plain = gsm.plain(text)

    assert not gsm.size(plain).wide
    assert gsm.size(plain).units == len(plain)
    assert gsm.plain(plain) == plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("5\u202fmm \u2265 3", "5 mm >= 3"),
        ("\u201cÅse\u2019s\u201d \u2013 mill\u2026", '"Åse\'s" - mill...'),
        ("Łąka", "Laka"),
        ("20 °C, 2 m²", "20 degC, 2 m2"),
        ("[a]~b|c", "(a)-b/c"),
    ],
)
def test_what_costs_double_is_written_otherwise(text, plain):
    assert gsm.plain(text) == plain


@given(st.one_of(ANY, PLAIN))
def test_parts_lose_nothing_and_each_fits_by_a_second_implementation(text):
    parts = gsm.split(text)

    assert "".join(parts) == text
    if len(parts) > 1:
        theirs = smsutil.split(text).parts
        assert parts == [one.content for one in theirs]


@given(PLAIN)
def test_septets_are_those_of_a_second_implementation(text):
    assert gsm.octets(text, wide=False) == bytes(smsutil.encode(text))


@given(ANY, st.integers(1, 2))
def test_a_text_that_was_cut_fits_and_says_that_more_was_said(text, parts):
    plain = gsm.plain(text)
    short = gsm.cut(plain, parts)

    assert gsm.size(short).parts <= parts
    assert short == plain or (short.endswith("...") and gsm.size(plain).parts > parts)
