"""Proofs of a provider's calls: anything may stand in a header, and nothing breaks on it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.channels.hook import Proof, sign
from service.notes.cast import NOW

LATIN = st.text(st.characters(codec="latin-1"), max_size=200)
SCHEMES = ("signed", "hmac", "token")


@given(LATIN, st.binary(max_size=50), st.sampled_from(SCHEMES))
def test_no_header_breaks_the_check_or_passes_by_chance(header, body, scheme):
    assert not Proof(scheme).holds({"X-Signature": header}, body, "a long secret of ours", NOW)


@pytest.mark.parametrize("stamp", ["1" * 5000, "", "-1", "\u00b2", "1e9"])
def test_a_time_that_is_none_proves_nothing(stamp):
    assert not Proof().holds({"X-Signature": f"t={stamp},s=00"}, b"", "secret", NOW)


@given(st.binary(max_size=200), st.integers(-299, 299))
def test_what_was_signed_lately_holds_under_any_case_of_the_header(body, seconds):
    given_ = sign(body, "secret", NOW + timedelta(seconds=seconds))

    assert Proof().holds({"x-SIGNATURE": given_}, body, "secret", NOW)
    assert not Proof().holds({"x-SIGNATURE": given_}, body + b"x", "secret", NOW)


def test_a_signature_over_the_body_alone_is_that_of_the_standard():
    """RFC 4231, test case 2: key "Jefe", "what do ya want for nothing?", HMAC-SHA-256."""
    right = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    body = b"what do ya want for nothing?"

    assert Proof("hmac").holds({"X-Signature": right}, body, "Jefe", NOW)
    assert not Proof("hmac").holds({"X-Signature": right}, body, "jefe", NOW)
