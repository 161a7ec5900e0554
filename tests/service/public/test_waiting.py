"""A service may order a wait in seconds or until a date; nonsense orders nothing."""

from __future__ import annotations

import threading
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from hypothesis import given
from hypothesis import strategies as st
from urllib3.response import HTTPResponse

from rootbound_service.public.http import Busy, Caller, Patience
from rootbound_service.public.patience import PatientRetry


class Weary(BaseHTTPRequestHandler):
    """Is not well for some requests, with the headers it was given, then answers."""

    def do_GET(self):
        self.server.times -= 1
        self.send_response_only(503 if self.server.times >= 0 else 200)
        for name, value in self.server.headers.items():
            self.send_header(name, value)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *_):
        pass


@pytest.fixture
def weary():
    with HTTPServer(("127.0.0.1", 0), Weary) as server:
        serving = threading.Thread(target=server.serve_forever, args=(0.01,))
        serving.start()
        yield server
        server.shutdown()
        serving.join()


def waits_of(server, patience):
    """Ask until it answers or we give up; how long we waited in between."""
    slept = []
    caller = Caller(patience, slept.append)
    try:
        caller.get(f"http://127.0.0.1:{server.server_port}/", {}, "them")
    except Busy:
        slept.append("gave up")
    finally:
        caller.close()
    return slept


@pytest.mark.parametrize(
    ("headers", "waited"),
    [
        ({"Retry-After": "7"}, [7.0]),
        ({"Retry-After": " 7 "}, [7.0]),
        ({"Retry-After": "86400"}, [300.0]),
        ({"Retry-After": "9" * 6000}, [300.0]),
        ({"Retry-After": "1"}, [1.0]),
        ({"Retry-After": "0"}, []),
        ({"Retry-After": "soon"}, []),
        ({"Retry-After": "-5"}, []),
        ({"Retry-After": "1.5"}, []),
        (
            {
                "Date": "Mon, 06 Jul 2026 12:00:00 GMT",
                "Retry-After": "Mon, 06 Jul 2026 12:00:42 GMT",
            },
            [42.0],
        ),
        (
            {
                "Date": "Mon, 06 Jul 2026 12:00:00 GMT",
                "Retry-After": "Mon, 06 Jul 2026 11:00:00 GMT",
            },
            [],
        ),
        (
            {
                "Date": "Mon, 06 Jul 2026 12:00:00 GMT",
                "Retry-After": "Wed, 08 Jul 2026 12:00:00 GMT",
            },
            [300.0],
        ),
        ({"Date": "no date", "Retry-After": "Mon, 06 Jul 2099 12:00:00 GMT"}, []),
        ({"Retry-After": "Mon, 99 Jul 2026 99:99:99 GMT"}, []),
    ],
)
def test_the_wait_is_as_ordered_but_never_longer_than_five_minutes(weary, headers, waited):
    weary.times, weary.headers = 1, headers

    assert waits_of(weary, Patience(retries=1, backoff_s=0, backoff_jitter_s=0)) == waited


def test_without_an_order_each_wait_is_twice_as_long(weary):
    weary.times, weary.headers = 9, {}

    slept = waits_of(weary, Patience(retries=3, backoff_s=2, backoff_jitter_s=0))

    assert slept == [4.0, 8.0, "gave up"]  # the library asks again at once the first time


@given(st.text(max_size=60), st.text(max_size=60))
def test_no_header_breaks_the_reading_of_it(ordered, date):
    retry = PatientRetry(total=1, retry_after_max=300)
    answer = HTTPResponse(headers={"Retry-After": ordered, "Date": date}, status=503)

    seconds = retry.get_retry_after(answer)

    assert seconds is None or 0 <= seconds <= 300
