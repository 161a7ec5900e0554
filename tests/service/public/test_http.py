"""Requests are polite: they pause between, ask again when it may help, and stop."""

from __future__ import annotations

import pytest
import requests
import responses
from urllib3.util import Retry

from rootbound_service.public.http import Busy, Caller, Pace, Patience, Unavailable
from rootbound_service.public.patience import open_session

QUICK = Patience(retries=2, backoff_s=0, backoff_jitter_s=0, pause_s=1.0)
URL = "http://127.0.0.1/api"


class Waits:
    """A clock that moves only when told to sleep, and remembers how long."""

    def __init__(self):
        self.slept = []
        self.time = 1000.0

    def __call__(self, seconds):
        self.slept.append(seconds)
        self.time += seconds

    def now(self):
        return self.time


@pytest.fixture
def waits():
    return Waits()


@pytest.fixture
def caller(waits):
    caller = Caller(QUICK, waits, now=waits.now, user_agent="rootbound (grower@example.org)")
    yield caller
    caller.close()


@responses.activate
def test_requests_to_one_host_are_a_pause_apart_and_another_host_is_not_kept_waiting(caller, waits):
    for host in ("127.0.0.1", "localhost"):
        responses.get(f"http://{host}/api", body=b"{}")

    caller.get("http://127.0.0.1/api", {}, "them")
    caller.get("http://localhost/api", {}, "them")
    assert waits.slept == []

    caller.get("http://127.0.0.1/api", {}, "them")
    assert waits.slept == [1.0]

    waits.time += 0.75
    caller.get("http://127.0.0.1/api", {}, "them")
    assert waits.slept == [1.0, 0.25]

    waits.time += 3
    caller.get("http://127.0.0.1/api", {}, "them")
    assert waits.slept == [1.0, 0.25]


@responses.activate
def test_a_clock_that_is_set_back_makes_no_pause_longer(caller, waits):
    responses.get(URL, body=b"{}")
    caller.get(URL, {}, "them")
    waits.time -= 1e6

    caller.get(URL, {}, "them")

    assert waits.slept == [1.0]


@responses.activate
def test_a_service_that_recovers_is_asked_again_and_heard(caller):
    responses.get(URL, status=503)
    responses.get(URL, body=b'{"fine":1}')

    assert caller.get(URL, {}, "them").content == b'{"fine":1}'
    assert len(responses.calls) == 2


@responses.activate
def test_a_service_that_stays_broken_is_given_up_after_the_retries_and_its_last_word_kept(caller):
    responses.get(URL, status=500, body=b'{"type":"trouble"}')

    with pytest.raises(Busy, match=r"^them: is not well \(HTTP 500\)$") as caught:
        caller.get(URL, {}, "them")

    assert caught.value.retry_later
    assert caught.value.reply.content == b'{"type":"trouble"}'
    assert len(responses.calls) == 3


@responses.activate
def test_a_refusal_is_handed_on_at_once_for_the_adapter_to_read(caller):
    responses.get(URL, status=422, body=b'{"header":"no"}', content_type="application/json")

    reply = caller.get(URL, {}, "them")

    assert (reply.status, reply.content, reply.is_web_page) == (422, b'{"header":"no"}', False)
    assert len(responses.calls) == 1


@responses.activate
def test_we_name_ourselves_with_a_contact_and_say_what_kind_of_answer_we_want(caller):
    responses.get(URL, body=b"{}")

    caller.get(URL, None, "them", accept="application/geo+json")

    sent = responses.calls[0].request
    assert sent.headers["User-Agent"] == "rootbound (grower@example.org)"
    assert sent.headers["Accept"] == "application/geo+json"
    assert sent.url == URL


def test_a_name_that_no_header_can_carry_is_made_plain():
    session = open_session(Patience(), "rootbound (gr\u00f6wer\r\nX-Evil: 1)")
    session.close()

    assert session.headers["User-Agent"] == "rootbound (gr?werX-Evil: 1)"


@responses.activate
def test_an_unchanged_answer_comes_back_as_304_and_headers_are_found_in_any_case(caller):
    responses.get(URL, status=304, headers={"Last-Modified": "Mon, 06 Jul 2026 03:40:00 GMT"})

    reply = caller.get(URL, {}, "them", headers={"If-Modified-Since": "yesterday"})

    assert (reply.status, reply.content) == (304, b"")
    assert reply.headers["last-MODIFIED"] == "Mon, 06 Jul 2026 03:40:00 GMT"
    assert responses.calls[0].request.headers["If-Modified-Since"] == "yesterday"


@responses.activate
def test_the_same_name_may_stand_twice_in_a_question(caller):
    responses.get(URL, body=b"{}")

    caller.get(URL, [("depth", "0-5cm"), ("depth", "5-15cm")], "them")

    assert responses.calls[0].request.url == f"{URL}?depth=0-5cm&depth=5-15cm"


@responses.activate
@pytest.mark.parametrize("body", ['{"query":"\u00e9"}', '{"query":"\u00e9"}'.encode()])
def test_a_question_with_a_body_goes_out_whole_and_is_repeated_when_it_may_help(caller, body):
    responses.post(URL, status=502)
    responses.post(URL, body=b"[]")

    reply = caller.post(URL, body, "them", content_type="application/json", accept="text/json")

    assert (reply.status, reply.content) == (200, b"[]")
    for call in responses.calls:
        assert call.request.body == '{"query":"\u00e9"}'.encode()
        assert call.request.headers["Content-Type"] == "application/json"
        assert call.request.headers["Accept"] == "text/json"
    assert len(responses.calls) == 2


@responses.activate
def test_every_request_to_a_host_is_counted_with_its_repeats_until_the_next_run(caller):
    responses.get(URL, status=503)
    responses.get(URL, body=b"{}")
    responses.get("http://localhost/api", body=b"{}")

    caller.get(URL, {}, "them")
    caller.get("http://localhost/api", {}, "others")
    assert caller.asked == {"127.0.0.1": 2, "localhost": 1}

    caller.begin_run()
    assert caller.asked == {}


@responses.activate
def test_a_budget_that_is_spent_leaves_the_rest_for_the_next_run(caller):
    responses.get(URL, body=b"{}")
    pace = Pace(min_interval_s=0, most_per_run=2)
    for _ in range(2):
        caller.get(URL, {}, "them", pace=pace)

    words = "^them: we have asked 2 times in this run; the rest waits for the next$"
    with pytest.raises(Unavailable, match=words) as caught:
        caller.get(URL, {}, "them", pace=pace)
    assert caught.value.retry_later
    assert len(responses.calls) == 2

    caller.begin_run()
    assert caller.get(URL, {}, "them", pace=pace).status == 200


@responses.activate
def test_a_budget_of_one_lets_one_through(caller):
    responses.get(URL, body=b"{}")

    assert caller.get(URL, {}, "them", pace=Pace(most_per_run=1)).status == 200
    with pytest.raises(Unavailable, match="asked 1 times"):
        caller.get(URL, {}, "them", pace=Pace(most_per_run=1))


@responses.activate
def test_a_source_may_ask_for_a_slower_pace_than_the_others(caller, waits):
    responses.get(URL, body=b"{}")
    for _ in range(2):
        caller.get(URL, {}, "them", pace=Pace(min_interval_s=12))

    assert waits.slept == [12]


@responses.activate
def test_an_answer_without_end_is_not_read_into_memory(waits):
    responses.get(URL, body=b"x" * 5000)
    caller = Caller(Patience(most_bytes=4999), waits)

    with pytest.raises(Unavailable, match="larger than 4999 bytes") as caught:
        caller.get(URL, {}, "them")
    caller.close()
    assert not caught.value.retry_later


@responses.activate
def test_an_answer_that_drips_is_given_up(waits):
    responses.get(URL, body=b"x" * 600_000)

    def now():
        waits.time += 1
        return waits.time

    caller = Caller(Patience(longest_answer_s=1.5), waits, now=now)
    with pytest.raises(Unavailable, match=r"not whole after 1\.5 s") as caught:
        caller.get(URL, {}, "them")
    caller.close()
    assert caught.value.retry_later


@responses.activate
@pytest.mark.parametrize(
    "error",
    [
        requests.exceptions.InvalidURL("no"),
        requests.exceptions.ConnectionError("no"),
        UnicodeError("label too long"),
    ],
)
def test_whatever_breaks_on_the_way_is_one_kind_of_error(caller, error):
    responses.get(URL, body=error)

    with pytest.raises(Unavailable, match="could not be reached"):
        caller.get(URL, {}, "them")


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

    with pytest.raises(Unavailable, match="could not be reached"):
        caller.get("http://127.0.0.1:9/api", {}, "them")
    caller.close()
