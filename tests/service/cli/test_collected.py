"""With ROOTBOUND_LOG_FORMAT=json whatever a service's processes say is one object a line."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
from contextlib import contextmanager, suppress

import pytest

from rootbound_service.settings import PREFIX, Settings

RUN = "from rootbound_service.cli.app import main; main()"
NOBODY = "http://127.0.0.1:9"
SOURCES = {one for one in Settings.model_fields if one.endswith("_url")} - {
    "database_url",
    "base_url",
}


def environment(tmp_path, **more):
    """What a process gets: a data folder of its own, and no service that answers."""
    urls = {f"{PREFIX}{name}".upper(): NOBODY for name in SOURCES}
    own = {"ROOTBOUND_DATA_DIR": str(tmp_path / "data"), "ROOTBOUND_LOG_FORMAT": "json"}
    return os.environ | urls | own | more


@contextmanager
def begun(tmp_path, *words):
    """A command in a process and a group of its own; all it says comes through one pipe."""
    process = subprocess.Popen(
        [sys.executable, "-c", RUN, *words], env=environment(tmp_path), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
    )  # fmt: skip
    try:
        yield process
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def until(process, event):
    """Read objects up to the one of an event."""
    said = []
    for line in process.stdout:
        said.append(json.loads(line))
        if said[-1]["event"] == event:
            return said
    raise AssertionError(said)


def check(said):
    assert said
    for one in said:
        assert {"level", "event", "time"} <= one.keys()


def test_a_worker_says_objects_from_its_start_to_its_end(tmp_path):
    with begun(tmp_path, "worker") as process:
        said = until(process, "worker_started")
        process.send_signal(signal.SIGTERM)
        said += [json.loads(line) for line in process.stdout]

        assert process.wait(60) == 0
    check(said)
    assert said[-1]["event"] == "worker_stopped"


@pytest.mark.parametrize("processes", [1, 2])
def test_pages_say_objects_and_so_does_the_server_beneath_them(tmp_path, processes):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ("web", "--port", str(port), "--processes", str(processes))
    with begun(tmp_path, *words) as process:
        said = until(process, "said")
        said += garbage(process, port)
        process.send_signal(signal.SIGTERM)
        said += [json.loads(line) for line in process.stdout]
    check(said)
    (wrong,) = [one for one in said if "Invalid HTTP" in one["event"]]
    assert (wrong["level"], wrong["logger"]) == ("warning", "uvicorn.error")


def garbage(process, port):
    """Send what is no request, as soon as somebody listens; give what is said of it."""
    while process.poll() is None:
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=60) as line:
                line.sendall(b"no request\r\n\r\n")
                line.recv(100)
            break
        except ConnectionRefusedError:
            with suppress(subprocess.TimeoutExpired):
                process.wait(0.2)
    return until(process, "Invalid HTTP request received.")


@pytest.mark.parametrize(
    ("words", "more", "level"),
    [
        (["send"], {}, "info"),
        (["send"], {"ROOTBOUND_SMTP_PORT": "none"}, "error"),
        (["backup", "{}/kept.tar"], {}, "error"),  # there is nothing to back up yet
    ],
)
def test_short_commands_of_timers_say_objects_too(tmp_path, words, more, level):
    done = subprocess.run(
        [sys.executable, "-c", RUN, *(word.format(tmp_path) for word in words)],
        env=environment(tmp_path, **more), text=True, check=False,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    said = [json.loads(line) for line in done.stdout.splitlines()]

    check(said)
    assert (said[-1]["event"], said[-1]["level"]) == ("said", level)
    assert done.returncode == (level == "error")
