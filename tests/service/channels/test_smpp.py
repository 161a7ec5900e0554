"""Texts over SMPP 3.4 to a centre that refuses, throttles and breaks off."""

from __future__ import annotations

import pytest

from loopback.message_centre import (
    BAD_NUMBER,
    QUEUE_FULL,
    THROTTLED,
    MessageCentre,
)
from rootbound_service.channels.smpp import SmppGateway
from rootbound_service.channels.transport import (
    ChannelRefused,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    Unreachable,
)

NUMBER = "+15155550121"


@pytest.fixture
def centre():
    with MessageCentre() as running:
        yield running


@pytest.fixture
def gateway(centre):
    made = SmppGateway("127.0.0.1", centre.port, "rootbound", centre.password, "+15155550199")
    yield made
    made.close()


def test_a_text_arrives_in_the_alphabet_it_was_counted_in(centre, gateway):
    told = gateway.send(NUMBER, "Tight: Long Acre, 0.4 in @ 3", "key-1")

    (taken,) = centre.taken
    assert (taken.to, taken.sender) == ("15155550121", "15155550199")
    assert taken.coding == 0
    # GSM 03.38: the at sign is septet 0, letters and digits are those of ASCII
    assert taken.octets == b"Tight: Long Acre, 0.4 in \x00 3"
    assert told.provider_id == "id-1"


def test_the_same_text_has_the_same_reference_on_every_retry(centre, gateway):
    for key in ("key-1", "key-1", "key-2"):
        gateway.send(NUMBER, "Tight.", key)

    first, again, other = (one.reference for one in centre.taken)
    assert first == again != other
    assert first is not None


def test_two_parts_are_joined_by_their_headers(centre, gateway):
    """3GPP TS 23.040 9.2.3.24.1: 05 00 03, reference, parts, number; 153 septets each."""
    gateway.send(NUMBER, "a" * 300, "key-1")

    heads = [one.octets[:6] for one in centre.taken]
    assert [len(one.octets) - 6 for one in centre.taken] == [153, 147]
    assert [(head[:3], head[4], head[5]) for head in heads] == [
        (b"\x05\x00\x03", 2, 1),
        (b"\x05\x00\x03", 2, 2),
    ]
    assert heads[0][3] == heads[1][3]


def test_a_second_try_has_the_reference_of_the_first_so_that_a_phone_joins_them(centre, gateway):
    centre.faults.extend([0, THROTTLED])
    text = "a" * 300

    with pytest.raises(NotNow):
        gateway.send(NUMBER, text, "key-1")
    gateway.send(NUMBER, text, "key-1")
    gateway.send(NUMBER, text, "key-2")

    first, again, _, other, _ = (one.octets[3] for one in centre.taken)
    assert first == again != other


def test_a_character_of_two_septets_is_never_cut_in_half(centre, gateway):
    """3GPP TS 23.038 6.2.1.1: the escape 1B and what follows belong together."""
    gateway.send(NUMBER, "a" * 152 + "€" + "b" * 50, "key-1")

    first, second = (one.octets[6:] for one in centre.taken)
    assert first == b"a" * 152
    assert second == b"\x1be" + b"b" * 50


def test_every_character_counted_as_one_septet_goes_as_one(centre, gateway):
    """3GPP TS 23.038 6.2.1: the section sign is septet 5F."""
    gateway.send(NUMBER, "§ 7", "key-1")

    (taken,) = centre.taken
    assert (taken.coding, taken.octets) == (0, b"\x5f 7")


def test_a_text_outside_the_alphabet_goes_as_utf_16(centre, gateway):
    """Data coding 8 is UCS-2: SMPP 3.4, 5.2.19."""
    gateway.send(NUMBER, "\u0142\U0001f33d", "key-1")

    (taken,) = centre.taken
    assert (taken.coding, taken.octets) == (8, bytes.fromhex("0142d83cdf3d"))


def test_a_centre_that_asks_whether_we_are_there_is_answered_and_its_answer_awaited(
    centre, gateway
):
    centre.faults.append("ask")

    assert gateway.send(NUMBER, "Tight.", "key-1").provider_id == "id-1"
    assert gateway.send(NUMBER, "Tight.", "key-2").provider_id == "id-2"
    assert centre.here == [77]


def test_an_answer_that_is_none_leaves_the_texts_fate_unknown(centre, gateway):
    centre.faults.append("babble")

    with pytest.raises(NobodyKnows):
        gateway.send(NUMBER, "Tight.", "key-1")
    assert gateway.send(NUMBER, "Tight.", "key-2").provider_id == "id-2"


@pytest.mark.parametrize(
    ("status", "error"),
    [(THROTTLED, NotNow), (QUEUE_FULL, NotNow), (BAD_NUMBER, RefusedForGood)],
)
def test_each_status_says_whether_trying_again_can_help(centre, gateway, status, error):
    centre.faults.append(status)

    with pytest.raises(error) as raised:
        gateway.send(NUMBER, "Tight.", "key-1")
    assert raised.value.code == status
    assert gateway.send(NUMBER, "Tight.", "key-1").provider_id == "id-1"


def test_a_line_that_breaks_after_the_text_leaves_its_fate_unknown(centre, gateway):
    centre.faults.append("drop")

    with pytest.raises(NobodyKnows):
        gateway.send(NUMBER, "Tight.", "key-1")
    assert len(centre.taken) == 1
    assert gateway.send(NUMBER, "Tight.", "key-2").provider_id == "id-2"


def test_a_wrong_password_is_about_us(centre):
    made = SmppGateway("127.0.0.1", centre.port, "rootbound", "wrong", "Rootbound")

    with pytest.raises(ChannelRefused):
        made.send(NUMBER, "Tight.", "key-1")
    assert centre.taken == []


def test_a_centre_that_is_not_there_is_unreachable():
    with MessageCentre() as gone:
        port = gone.port
    made = SmppGateway("127.0.0.1", port, "rootbound", "secret", "Rootbound")

    with pytest.raises(Unreachable):
        made.send(NUMBER, "Tight.", "key-1")
