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
from tables import put_tables

NOW = datetime(2026, 7, 14, 17, 0, tzinfo=UTC)


@pytest.fixture
def run(tmp_path):
    clock = SetClock(NOW)
    env = {"ROOTBOUND_DATA_DIR": str(tmp_path)}
    put_tables(tmp_path)
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
    spoken = run("people", "silence", "Maren Holt", "Long Acre", "--until", "2026-07-13")
    assert spoken[1] == "Maren Holt hears of Long Acre again."
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


BEN = "Ben Marsh <ben@marsh.example>"


def test_somebody_without_a_field_is_entered_and_made_second_contact(run):
    assert run("people", "new", BEN, "--time-zone", "america/denver")[1] == "Entered: Ben Marsh #2."
    said = run("people", "second", "Long Acre", "Ben Marsh")
    assert said == (0, "Ben Marsh is the second contact of Long Acre.")
    shown = run("people", "show", "#2")[1]
    assert "us units, by the clock of America/Denver" in shown
    assert "is the second contact of Long Acre" in shown
    ended = run("people", "second", "Long Acre", "Ben Marsh", "--end")[1]
    assert ended == "Ben Marsh is no longer the second contact of Long Acre."
    assert "was not" in run("people", "second", "Long Acre", "Ben Marsh", "--end")[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("new", "Ben Marsh", "--time-zone", "America/Denver"), "is not a name with a mail"),
        (("new", BEN), "nights need a time zone"),
        (("new", BEN, "--time-zone", "America/Dever"), "did you mean America/Denver?"),
        (("new", "M <maren@alder.example>", "--time-zone", "UTC"), "is on record"),
        (("change", "Maren Holt", "--units", "feet"), "give metric or us"),
        (("change", "Maren Holt", "--language", "xx"), "give en"),
        (("change", "Maren Holt"), "nothing is to change"),
        (("second", "Long Acre", "Maren Holt"), "is the grower"),
    ],
)
def test_what_a_person_cannot_be_is_said(run, words, told):
    code, said = run("people", *words)

    assert code == 1
    assert told in said


def test_units_and_clock_change_and_the_rest_stays(run):
    said = run("people", "change", "Maren Holt", "--units", "metric")[1]

    assert said == "Maren Holt reads en, metric units, by the clock of America/Chicago."


def test_what_is_not_given_stays_as_it_was(run):
    number = ("people", "add", "Maren Holt", "--text", "515 555 0121")
    run(*number, "--from-rung", "3", "--field", "Long Acre", "--consent", "I do.")

    assert run(*number, "--no-notes")[1] == "Changed: Maren Holt hears by text, notes -."
    assert "notes from 3, 1 fields" in run(*number, "--notes")[1]
    assert run(*number, "--every-field")[1].endswith("notes from 3.")
    mail = ("people", "add", "Maren Holt", "--email", "Maren@alder.example")
    assert "Changed" in run(*mail, "--digest", "friday")[1]
    run(*mail, "--from-rung", "1")
    assert "digest on friday" in run("people", "show", "Maren Holt")[1]


def test_a_stopped_number_gets_no_first_text_and_it_is_said(run):
    number = ("people", "add", "Maren Holt", "--text", "515 555 0121", "--consent", "I do.")
    run(*number)
    run("people", "stop", "Maren Holt")
    before = run("outbox", "list")[1]

    assert "It was stopped there (all)" in run(*number)[1]
    assert run("outbox", "list")[1] == before
    shown = run("people", "show", "Maren Holt")[1]
    assert "2026-07-14 17:00 UTC given by command: I do." in shown
    assert "stopped: all (stop by command)" in shown


def test_a_number_that_somebody_else_stopped_is_not_written_to(run):
    run("people", "new", BEN, "--time-zone", "America/Denver")
    run("people", "add", "Ben Marsh", "--text", "515 555 0121", "--consent", "I do.")
    run("people", "stop", "Ben Marsh")
    before = run("outbox", "list")[1]
    said = run("people", "add", "Maren Holt", "--text", "515 555 0121", "--consent", "Me too.")[1]

    assert "It was stopped there (all)" in said
    assert run("outbox", "list")[1] == before
