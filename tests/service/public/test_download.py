"""A downloaded file is there whole, or as it was before."""

from __future__ import annotations

import gzip
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
import responses

from rootbound_service.public.http import Busy, Caller, Patience, Unavailable

URL = "http://127.0.0.1/tmmx_2026.nc"


@pytest.fixture
def caller():
    caller = Caller(Patience(retries=0, backoff_s=0))
    yield caller
    caller.close()


@pytest.fixture
def kept(tmp_path):
    path = tmp_path / "tmmx.nc"
    path.write_bytes(b"old")
    return path


def alone(path):
    return [one.name for one in path.parent.iterdir()] == [path.name]


@responses.activate
def test_a_large_body_takes_the_place_of_the_file(caller, kept):
    body = bytes(range(256)) * 4000
    responses.get(URL, body=body, headers={"Last-Modified": "Mon, 06 Jul 2026 03:40:00 GMT"})

    reply = caller.download(URL, kept, "them")

    assert (reply.status, reply.content) == (200, b"")
    assert reply.headers["last-modified"].startswith("Mon")
    assert kept.read_bytes() == body
    assert alone(kept)


@responses.activate
@pytest.mark.parametrize("announced", ["1000", "3"])
def test_a_body_of_another_length_than_announced_changes_nothing(caller, kept, announced):
    responses.get(URL, body=b"x" * 500, headers={"Content-Length": announced})

    with pytest.raises(Unavailable) as caught:
        caller.download(URL, kept, "them")

    assert caught.value.retry_later
    assert kept.read_bytes() == b"old"
    assert alone(kept)


@responses.activate
def test_a_body_packed_on_the_way_is_unpacked_and_its_length_is_that_on_the_way(caller, kept):
    packed = gzip.compress(b"x" * 5000)
    headers = {"Content-Encoding": "gzip", "Content-Length": str(len(packed))}
    responses.get(URL, body=packed, headers=headers)

    caller.download(URL, kept, "them")

    assert kept.read_bytes() == b"x" * 5000


@responses.activate
@pytest.mark.parametrize("status", [304, 404])
def test_unchanged_or_refused_leaves_the_file_alone(caller, kept, status):
    responses.get(URL, status=status, body=b"" if status == 304 else b"no such file")

    reply = caller.download(URL, kept, "them", headers={"If-None-Match": '"7"'})

    assert reply.status == status
    assert responses.calls[0].request.headers["If-None-Match"] == '"7"'
    assert kept.read_bytes() == b"old"
    assert alone(kept)


@responses.activate
def test_a_broken_service_leaves_the_file_alone(caller, kept):
    responses.get(URL, status=503)

    with pytest.raises(Busy):
        caller.download(URL, kept, "them")

    assert kept.read_bytes() == b"old"


@responses.activate
def test_a_folder_that_is_not_there_is_told_without_its_name(caller, tmp_path):
    responses.get(URL, body=b"x")

    with pytest.raises(Unavailable, match="could not be kept") as caught:
        caller.download(URL, tmp_path / "absent" / "file.nc", "them")

    assert str(tmp_path) not in str(caught.value)


class HalfWay(BaseHTTPRequestHandler):
    """Announces a thousand bytes and hangs up after ten."""

    def do_GET(self):
        self.send_response(200)
        self.send_header("Content-Length", "1000")
        self.end_headers()
        self.wfile.write(b"x" * 10)

    def log_message(self, *_):
        pass


@pytest.mark.parametrize("large", [True, False])
def test_a_line_that_breaks_half_way_is_told_and_changes_nothing(caller, kept, large):
    with HTTPServer(("127.0.0.1", 0), HalfWay) as server:
        serving = threading.Thread(target=server.handle_request)
        serving.start()
        url = f"http://127.0.0.1:{server.server_port}/"
        with pytest.raises(Unavailable, match="cut short") as caught:
            _ = caller.download(url, kept, "them") if large else caller.get(url, {}, "them")
        serving.join()

    assert caught.value.retry_later
    assert kept.read_bytes() == b"old"
    assert alone(kept)
