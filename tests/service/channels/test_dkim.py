"""Letters signed here, verified by the library's other half (RFC 6376)."""

from __future__ import annotations

import base64

import dkim
import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa

from rootbound_service.channels.dkim import signer
from rootbound_service.channels.mail_channel import MailChannel
from rootbound_service.errors import RefusedInput
from rootbound_service.links import Links
from service.channels.fakes import HEAD, FakeTransport, message


@pytest.fixture(scope="module")
def key():
    return rsa.generate_private_key(public_exponent=65537, key_size=2048)


@pytest.fixture
def key_file(tmp_path, key):
    path = tmp_path / "key.pem"
    pkcs1 = serialization.PrivateFormat.TraditionalOpenSSL
    plain = serialization.NoEncryption()
    path.write_bytes(key.private_bytes(serialization.Encoding.PEM, pkcs1, plain))
    return path


class Wire(FakeTransport):
    def send(self, raw, sender, to):
        self.raw = raw
        return super().send(raw, sender, to)


def sent(key_file):
    wire = Wire()
    sign = signer("rootbound.example", "s1", key_file)
    links = Links("a secret of the tests", "https://rootbound.example")
    MailChannel(wire, HEAD, links, sign).deliver(message(id=3, contact_id=4), None)
    return wire.raw


def verified(raw, key):
    der = key.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    record = b"v=DKIM1; k=rsa; p=" + base64.b64encode(der)
    return dkim.verify(raw, dnsfunc=lambda name, timeout=5: record)


def test_a_signed_letter_is_verified_and_a_changed_one_is_not(key_file, key):
    raw = sent(key_file)

    assert verified(raw, key)
    assert not verified(raw.replace(b"Long Acre is tight", b"Long Acre is ample"), key)


def test_both_headers_of_one_click_are_signed(key_file, key):
    """RFC 8058 section 4: the signature covers List-Unsubscribe and List-Unsubscribe-Post."""
    raw = sent(key_file)
    named = raw.split(b"h=")[1].split(b";")[0].replace(b"\r\n", b"").replace(b" ", b"").split(b":")

    assert {b"list-unsubscribe", b"list-unsubscribe-post", b"from", b"subject"} <= set(named)
    changed = raw.replace(b"List-Unsubscribe=One-Click", b"List-Unsubscribe=Two-Click")
    assert not verified(changed, key)


@pytest.mark.parametrize("content", [b"no key", b""])
def test_a_key_that_is_none_is_refused_with_its_setting(tmp_path, content):
    path = tmp_path / "key.pem"
    path.write_bytes(content)

    with pytest.raises(RefusedInput) as refused:
        signer("rootbound.example", "s1", path)
    assert refused.value.problems[0].where == "ROOTBOUND_DKIM_KEY_FILE"
