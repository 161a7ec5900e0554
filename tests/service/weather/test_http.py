"""Requests are polite: they pause between, ask again when it may help, and stop."""

from __future__ import annotations

import pytest
import responses
from urllib3.util import Retry

from rootbound_service.weather.http import Caller, Patience, WeatherUnavailable, open_session

QUICK = Patience(retries=2, backoff_s=0, backoff_jitter_s=0, pause_s=1.0)
URL = "http://127.0.0.1/api"


class Waits:
    """Remembers how long it was told to sleep."""

    def __init__(self):
        self.slept = []

    def __call__(self, seconds):
        self.slept.append(seconds)


@responses.activate
def test_requests_to_one_host_are_a_pause_apart_and_another_host_is_not_kept_waiting():
    for host in ("127.0.0.1", "localhost"):
        responses.get(f"http://{host}/api", body=b"{}")
    waits = Waits()
    caller = Caller(QUICK, sleep=waits)

    caller.get("http://127.0.0.1/api", {}, "them")
    caller.get("http://localhost/api", {}, "them")
    assert waits.slept == []

    caller.get("http://127.0.0.1/api", {}, "them")
    assert waits.slept == [1.0]
    caller.close()


@responses.activate
def test_a_service_that_recovers_is_asked_again_and_heard():
    responses.get(URL, status=503)
    responses.get(URL, body=b'{"fine":1}')
    caller = Caller(QUICK)

    assert caller.get(URL, {}, "them").content == b'{"fine":1}'
    assert len(responses.calls) == 2
    caller.close()


@responses.activate
def test_a_service_that_stays_broken_is_given_up_after_the_retries():
    responses.get(URL, status=500)
    caller = Caller(QUICK)

    with pytest.raises(WeatherUnavailable, match=r"^them: is not well \(HTTP 500\)$") as caught:
        caller.get(URL, {}, "them")

    assert caught.value.retry_later
    assert len(responses.calls) == 3
    caller.close()


@responses.activate
def test_a_refusal_is_handed_on_at_once_for_the_adapter_to_read():
    responses.get(URL, status=422, body=b'{"header":"no"}', content_type="application/json")
    caller = Caller(QUICK)

    reply = caller.get(URL, {}, "them")

    assert (reply.status, reply.content, reply.is_web_page) == (422, b'{"header":"no"}', False)
    assert len(responses.calls) == 1
    caller.close()


def test_only_reading_is_repeated_and_no_service_orders_an_endless_wait():
    session = open_session(Patience())
    retry = session.get_adapter("https://power.example").max_retries
    session.close()

    assert isinstance(retry, Retry)
    assert retry.allowed_methods == {"GET"}
    assert retry.parse_retry_after("86400") == 300
    assert set(retry.status_forcelist or ()) == {429, 500, 502, 503, 504}


def test_an_address_where_nobody_listens_gives_a_sentence():
    caller = Caller(Patience(retries=0, backoff_s=0, timeout_s=2))

    with pytest.raises(WeatherUnavailable, match="could not be reached"):
        caller.get("http://127.0.0.1:9/api", {}, "them")
    caller.close()
