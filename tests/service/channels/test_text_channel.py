"""Texts over a real HTTP gateway that throttles, fails, breaks off and takes twice."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from random import Random

import pytest

from loopback.text_gateway import TextGateway
from rootbound_service.channels.gateway import TIMEOUT_S
from rootbound_service.channels.gateway_file import read_file, read_gateway
from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.text_channel import TextChannel
from rootbound_service.clock import SetClock
from rootbound_service.errors import RefusedInput
from service.channels.fakes import LINKS, FakeOutbox, message
from service.notes.cast import NOW

NUMBER = "+15155550121"
EXAMPLES = sorted((Path(__file__).parents[3] / "deploy" / "text").glob("*.toml"))


def a_text(number=1, **changes):
    plain = {"channel": "text", "to_address": NUMBER, "html": "", "text": f"Tight {number}."}
    return message(number, **(plain | changes))


@pytest.fixture(params=[True, False], ids=["idempotent", "plain"])
def peer(request):
    with TextGateway(idempotent=request.param) as running:
        yield running


def gateway(peer, tmp_path, token=None):
    file = tmp_path / "gateway.toml"
    file.write_text(peer.file, encoding="utf-8")
    return read_gateway(file, peer.token if token is None else token)


def send(outbox, peer, tmp_path, clock=None, **more):
    channels = {"text": TextChannel(gateway(peer, tmp_path, **more), LINKS)}
    return send_due(outbox, channels, clock or SetClock(NOW), "sender-1", rng=Random(3))


def test_a_text_is_taken_and_its_name_kept(peer, tmp_path):
    outbox = FakeOutbox(a_text())

    assert send(outbox, peer, tmp_path) == SendReport(sent=1)
    assert peer.to(NUMBER) == ["Tight 1."]
    assert outbox.sent == {1: "m-1"}


def test_a_throttled_text_waits_as_long_as_it_was_asked_to(peer, tmp_path):
    peer.faults.append("429")
    outbox = FakeOutbox(a_text())

    assert send(outbox, peer, tmp_path) == SendReport(retried=1)
    assert outbox.waiting[1].available_at >= NOW + timedelta(seconds=90)


def test_a_gateway_in_trouble_is_tried_again_and_the_text_comes_once(peer, tmp_path):
    peer.faults.append("500")
    outbox, clock = FakeOutbox(a_text()), SetClock(NOW)

    assert send(outbox, peer, tmp_path, clock) == SendReport(retried=1)
    clock.set(NOW + timedelta(minutes=2))
    assert send(outbox, peer, tmp_path, clock) == SendReport(sent=1)
    assert len(peer.taken) == 1


def test_a_number_that_is_none_is_final_and_the_next_text_goes(peer, tmp_path):
    peer.faults.append("400")
    outbox = FakeOutbox(a_text(1), a_text(2))

    assert send(outbox, peer, tmp_path) == SendReport(sent=1, dead=1)
    assert outbox.dead[1] == (400, "HTTP 400, bad_number")


def test_a_wrong_token_stops_the_channel_and_keeps_every_text(peer, tmp_path):
    outbox = FakeOutbox(a_text(1), a_text(2))
    report = send(outbox, peer, tmp_path, token="wrong")

    assert report.stopped == {"text": "HTTP 401, who_are_you"}
    assert set(outbox.waiting) == {1, 2}
    assert peer.requests == 1


def test_a_line_that_broke_after_the_text_was_taken_makes_no_double_where_names_are_known(
    peer, tmp_path
):
    peer.faults.append("drop")
    outbox, clock = FakeOutbox(a_text()), SetClock(NOW)

    assert send(outbox, peer, tmp_path, clock) == SendReport(retried=1)
    clock.set(NOW + timedelta(minutes=2))
    assert send(outbox, peer, tmp_path, clock) == SendReport(sent=1)
    assert len(peer.taken) == (1 if peer.idempotent else 2)
    assert len({one.key for one in peer.taken}) == 1


def test_an_answer_that_is_cut_short_is_doubtful_and_stops_nothing_else(peer, tmp_path):
    peer.faults.append("short")
    outbox = FakeOutbox(a_text(1), a_text(2))

    assert send(outbox, peer, tmp_path) == SendReport(sent=1, retried=1)
    assert set(outbox.sent) == {2}


def test_a_provider_that_takes_texts_in_the_address_gets_every_character(peer, tmp_path, caplog):
    caplog.set_level("DEBUG")
    file = tmp_path / "get.toml"
    file.write_text(
        f"""[send]
url = "{peer.url}/send?v=2"
sender = "+15155550199"
method = "GET"
body = "to={{{{ to | urlencode }}}}&text={{{{ text | urlencode }}}}&ref={{{{ key | urlencode }}}}"

[answer]
id_path = "message.id"
""",
        encoding="utf-8",
    )
    told = read_gateway(file, peer.token).send(NUMBER, "Tight & dry: 50% #11 + 1?", "key-1")

    assert told.provider_id == "m-1"
    assert peer.to(NUMBER) == ["Tight & dry: 50% #11 + 1?"]
    assert "5550121" not in caplog.text


def test_an_answer_that_does_not_come_in_time_is_doubtful(peer, tmp_path, monkeypatch):
    monkeypatch.setattr("rootbound_service.channels.gateway.TIMEOUT_S", (1.0, 0.2))
    peer.faults.append("silent")
    outbox = FakeOutbox(a_text(kind="answer"))
    report = send(outbox, peer, tmp_path)
    peer.released.set()

    # an answer is not said twice, unless the gateway knows it by its name
    assert report == (SendReport(retried=1) if peer.idempotent else SendReport(unknown=1))
    assert TIMEOUT_S[1] >= 30


def test_a_gateway_that_is_not_there_puts_everything_off(tmp_path):
    with TextGateway() as gone:
        made = gateway(gone, tmp_path)
    outbox = FakeOutbox(a_text(1), a_text(2))
    channels = {"text": TextChannel(made, LINKS)}

    report = send_due(outbox, channels, SetClock(NOW), "sender-1", rng=Random(3))
    assert report == SendReport(retried=1, waiting=1)


def test_a_text_of_three_parts_is_not_sent(peer, tmp_path):
    outbox = FakeOutbox(a_text(text="a" * 307))

    assert send(outbox, peer, tmp_path) == SendReport(dead=1)
    assert "3 parts" in outbox.dead[1][1]


WRONG = {
    "": "neither",
    "[send]\nurl='http://texts.example'\nsender='x'\nbody='{{ text }}'": "not encrypted",
    "[send]\nurl='https://t.example'\nsender='x'\nbody='{{ txet }}'": "no template",
    "[send]\nurl='https://t.example'\nsender='x'": "send.body is wrong",
    "[send]\nurl='https://t.example'\nsender='x'\nbody='x'\nbdoy='y'": "send.bdoy is wrong",
    "[send": "Expected",
    "[smpp]\nhost='h'\nport=99999\nsystem_id='s'\nsender='x'": "smpp.port is wrong",
}


@pytest.mark.parametrize("text", WRONG)
def test_a_file_that_is_wrong_is_refused_with_the_place(tmp_path, text):
    file = tmp_path / "gateway.toml"
    file.write_text(text, encoding="utf-8")

    with pytest.raises(RefusedInput) as refused:
        read_gateway(file, "t")
    assert any(WRONG[text] in str(one) for one in refused.value.problems)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_examples_that_come_with_the_program_can_be_read(path):
    assert read_file(path)


def test_there_are_examples():
    assert len(EXAMPLES) == 2
