"""A mail system's pipe: a letter is taken in, or kept by the mail system until it can be."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

from rootbound_service.channels.bounce_address import tagged
from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.secret import links_of
from rootbound_service.settings import load_settings
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.suppressions import suppressed
from service.channels.fakes import message
from service.replies.test_mail import DSN


@pytest.fixture
def pipe(fake, clock, monkeypatch, tmp_path):
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    fake.parts = SimpleNamespace(settings=load_settings({"ROOTBOUND_DATA_DIR": str(tmp_path)}))

    class Opened:
        def __init__(self, *_):
            if fake.breaks:
                raise fake.breaks

        def __enter__(self):
            return fake

        def __exit__(self, *_):
            pass

    def go(raw, *words):
        session = Session(clock=clock, opener=Opened)
        return CliRunner().invoke(app, ["receive", *words], obj=session, input=raw)

    return go


def test_a_bounce_from_the_pipe_is_kept(pipe, fake, enrolled):
    links = links_of(fake.parts.settings)
    with fake.engine.begin() as conn:
        enqueue(conn, [message(person_id=None, to_address="ada@quill.example")])
    raw = DSN.format(to="x@y.example", action="failed", status="5.2.2", why="full")
    done = pipe(raw, "--to", tagged("bounces@rootbound.example", 1, links.secret))

    assert done.exit_code == 0
    assert done.output.endswith("A bounce; kept with its letter.\n")
    assert "@" not in done.output  # its log included


def test_a_word_to_stop_from_the_pipe_stops(pipe, fake, enrolled):
    done = pipe("From: ada@quill.example\nSubject: stop\n\nStop.\n")

    assert done.exit_code == 0
    with fake.engine.connect() as conn:
        assert suppressed(conn, "email", "ada@quill.example") == {"all"}


def test_what_cannot_be_taken_in_now_is_left_to_the_mail_system(pipe, fake):
    """EX_TEMPFAIL (75): any other number would send the letter back to its writer."""
    fake.breaks = OSError("disk of ada@quill.example is full")
    done = pipe("From: ada@quill.example\n\nStop.\n")

    assert done.exit_code == 75
    assert "ada@" not in done.output
