"""What an operator is told to publish is what receivers read."""

from __future__ import annotations

import re

import dkim
import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa

from rootbound_service.channels.dkim import signer
from rootbound_service.channels.dns_lines import aligned, dns_lines
from rootbound_service.channels.mail_channel import MailChannel
from rootbound_service.errors import RefusedInput
from rootbound_service.links import Links
from rootbound_service.settings import load_settings
from service.channels.fakes import HEAD, FakeTransport, message

BASE = {
    "ROOTBOUND_MAIL_FROM": "alerts@rootbound.example",
    "ROOTBOUND_SMTP_HOST": "relay.rootbound.example",
    "ROOTBOUND_BOUNCE_ADDRESS": "bounces@back.rootbound.example",
    "ROOTBOUND_OPERATOR_EMAIL": "desk@rootbound.example",
}


@pytest.fixture(scope="module")
def key_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("key") / "key.pem"
    key = rsa.generate_private_key(public_exponent=65537, key_size=2048)
    pkcs8, plain = serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    path.write_bytes(key.private_bytes(serialization.Encoding.PEM, pkcs8, plain))
    return path


def lines(key_file=None, **more):
    env = BASE | more
    if key_file:
        env |= {"ROOTBOUND_DKIM_SELECTOR": "s1", "ROOTBOUND_DKIM_KEY_FILE": str(key_file)}
    return dns_lines(load_settings(env))


def test_the_record_of_the_key_verifies_what_the_key_signs(key_file):
    """RFC 6376 3.6.1 and 3.6.2.2: the pieces of the record, joined, are the key."""
    (record,) = (one for one in lines(key_file) if "_domainkey" in one.name)
    pieces = re.findall(r'"([^"]*)"', record.value)
    assert max(map(len, pieces)) <= 255
    asked = []

    def dns(name, timeout=5):
        asked.append(name.decode())
        return "".join(pieces).encode()

    wire = FakeTransport()
    kept = []
    wire.send = lambda raw, *_: kept.append(raw)
    links = Links("a secret of the tests", "https://rootbound.example")
    sign = signer("rootbound.example", "s1", key_file)
    MailChannel(wire, HEAD, links, sign).deliver(message(id=3, contact_id=4), None)

    assert dkim.verify(kept[0], dnsfunc=dns)
    assert asked == [f"{record.name}."]
    second_from = kept[0].replace(b"\r\nFrom:", b"\r\nFrom: eve@else.example\r\nFrom:", 1)
    assert not dkim.verify(second_from, dnsfunc=dns)
    named = kept[0].split(b"h=")[1].split(b";")[0].replace(b"\r\n", b"").replace(b" ", b"")
    assert named.split(b":").count(b"from") == 2  # RFC 6376 8.15: nobody can add another


def test_spf_stands_at_the_domain_of_the_return_path():
    """RFC 7208 2.4: it is read for MAIL FROM."""
    spf, dmarc, home = lines()

    assert str(spf) == 'back.rootbound.example. TXT "v=spf1 a:relay.rootbound.example -all"'
    assert (dmarc.name, home.name, home.kind) == (
        "_dmarc.rootbound.example", "back.rootbound.example", "MX",
    )  # fmt: skip
    assert "rua=mailto:desk@rootbound.example" in dmarc.value


def test_a_relay_on_this_machine_leaves_its_address_to_the_operator():
    assert "ip4:YOUR-OUTGOING-ADDRESS" in lines(ROOTBOUND_SMTP_HOST="localhost")[0].value


@pytest.mark.parametrize(
    ("back", "good"),
    [("b@rootbound.example", True), ("b@x.rootbound.example", True), ("b@other.example", False),
     ("b@notrootbound.example", False)],
)  # fmt: skip
def test_a_return_path_elsewhere_is_seen(back, good):
    """RFC 7489 3.1.2: DMARC wants SPF's domain to be that of the sender."""
    settings = load_settings(BASE | {"ROOTBOUND_BOUNCE_ADDRESS": back})

    assert aligned(settings) is good


def test_a_key_that_cannot_be_read_is_refused_with_its_setting(tmp_path):
    with pytest.raises(RefusedInput) as refused:
        lines(tmp_path / "none.pem")
    assert refused.value.problems[0].where == "ROOTBOUND_DKIM_KEY_FILE"
