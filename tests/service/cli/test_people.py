"""``rootbound people``, ``feed`` and ``receive`` as an operator types them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field
from rootbound_service.wiring import open_service
from service.feeds.scene import a_field

NOW = datetime(2026, 7, 14, 17, 0, tzinfo=UTC)


@pytest.fixture
def run(tmp_path):
    clock = SetClock(NOW)
    env = {"ROOTBOUND_DATA_DIR": str(tmp_path)}
    with open_service(load_settings(env), clock) as service, service.engine.begin() as conn:
        add_field(conn, a_field(id=0, season_id=0), NOW)

    def call(*words, stdin=None):
        session, where = Session(clock=clock), ["--data-dir", str(tmp_path)]
        done = CliRunner().invoke(app, [*where, *words], obj=session, input=stdin)
        return done.exit_code, " ".join(done.output.split())

    return call


def test_a_number_with_consent_is_added_and_gets_a_first_text(run):
    code, said = run(
        "people", "add", "Maren Holt", "--text", "(515) 555-0121", "--consent", "I do."
    )

    assert (code, said) == (0, "Added: Maren Holt hears by text, notes from 2.")
    assert "+15155550121" in run("people", "list")[1]
    assert "1 pending" in run("outbox", "list")[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--text", "515 555 0121"), "needs consent"),
        (("--text", "12", "--consent", "x"), "too few or too many digits"),
        (("--text", "hello", "--consent", "x"), "no phone number"),
        (("--email", "nobody"), "--email"),
        ((), "neither an address nor a number"),
        (("--email", "a@b.example", "--digest", "someday"), "no weekday"),
        (("--text", "515 555 0121", "--consent", "x", "--digest", "monday"), "not go by text"),
        (("--email", "a@alder.example", "--field", "Nowhere"), "no field is called"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_kept(run, words, told):
    before = run("people", "list")
    code, said = run("people", "add", "Maren Holt", *words)

    assert code == 1
    assert told in said
    assert run("people", "list") == before


def test_a_name_that_nobody_has_is_met_with_one_that_is_near(run):
    assert "did you mean Maren Holt?" in run("people", "stop", "Maren Hold")[1]


def test_stop_start_silence_second_and_seen(run):
    assert run("people", "stop", "maren@alder.example")[1] == "Stopped: all, by 1 way."
    assert "all" in run("people", "list")[1]
    assert run("people", "start", "Maren Holt")[1] == "Started again by 1 of 1 way."
    silent = run("people", "silence", "Maren Holt", "Long Acre", "--until", "2026-07-21")
    assert silent[0] == 0
    too_long = run("people", "silence", "Maren Holt", "Long Acre", "--until", "2026-12-01")
    assert too_long[0] == 1
    assert run("people", "second", "Long Acre", "Maren Holt")[0] == 0
    assert run("people", "seen", "Maren Holt", "Long Acre")[0] == 0


def test_a_feed_is_shown_once_and_ended(run):
    code, said = run("feed", "Maren Holt")

    assert code == 0
    assert said.count("/f/") == 4
    assert run("feed", "Maren Holt", "--end")[1] == "1 address of Maren Holt ended."


def test_a_letter_from_the_mail_system_is_taken_in(run):
    raw = "From: maren@alder.example\nMessage-ID: <1@a>\nSubject: Re: Tight\n\nstop\n"

    first, again = (run("receive", stdin=raw)[1] for _ in range(2))
    assert first.endswith("A wish to stop; done.")
    assert again.endswith("It came before; nothing is done twice.")
