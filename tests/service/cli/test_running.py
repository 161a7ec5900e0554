"""The commands that run the service: what they ask it, say and exit with."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.channels.send import SendReport


def test_a_night_is_run_for_today(run, fake) -> None:
    result = run("nightly")

    assert (result.exit_code, fake.asked) == (0, [date(2026, 7, 14)])
    assert result.stdout == (
        "Night of 2026-07-14: 3 fields computed, 0 failed, 1 notes decided, "
        "2 messages in the outbox.\n"
    )


def test_an_earlier_night_can_be_run(run, fake) -> None:
    run("nightly", "--date", "2026-07-01")

    assert fake.asked == [date(2026, 7, 1)]


@pytest.mark.parametrize(
    ("day", "told"),
    [
        ("2026-07-15", "--date: 2026-07-15 is in the future (today is 2026-07-14)"),
        ("15.7.2026", '--date: "15.7.2026" is not a day; write the day as year-month-day'),
    ],
)
def test_a_night_that_cannot_be_is_refused(run, fake, day, told) -> None:
    result = run("nightly", "--date", day)

    assert (result.exit_code, fake.asked) == (1, [])
    assert result.stderr.startswith(f"rootbound: {told}")


@pytest.mark.parametrize(("done", "code"), [(2, 3), (0, 1)])
def test_fields_that_failed_are_named_and_the_exit_tells(run, fake, done, code) -> None:
    fake.night.fields_ok, fake.night.fields_failed = done, 1
    fake.night.failures = ("West: no weather",)

    result = run("nightly")

    assert (result.exit_code, result.stderr) == (code, "rootbound: West: no weather\n")


@pytest.mark.parametrize(
    ("fate", "code", "told"),
    [
        ({}, 0, "0 messages sent, 0 put off, 0 given up, 0 cut off in the middle.\n"),
        ({"sent": 2}, 0, "2 messages sent, 0 put off, 0 given up, 0 cut off in the middle.\n"),
        (
            {"sent": 1, "lost": 1, "dead": 1},
            3,
            "2 messages sent, 0 put off, 1 given up, 0 cut off in the middle.\n",
        ),
        ({"retried": 2}, 1, "0 messages sent, 2 put off, 0 given up, 0 cut off in the middle.\n"),
        ({"unknown": 1}, 1, "0 messages sent, 0 put off, 0 given up, 1 cut off in the middle.\n"),
    ],
)
def test_sending_tells_what_went_and_what_did_not(run, fake, fate, code, told) -> None:
    fake.sent = SendReport(**fate)

    result = run("send")

    assert (result.exit_code, result.stdout) == (code, told)


def test_the_weekly_letters_are_counted(run, fake) -> None:
    result = run("digest", "--week", "2026-W29")

    assert (result.stdout, result.exit_code) == ("4 weekly letters in the outbox.\n", 0)
    assert fake.asked == [("digest", "2026-W29")]


@pytest.mark.parametrize("week", ["2026-29", "2026-W54", "2026-W00", "next"])
def test_a_week_that_is_none_is_refused(run, fake, week) -> None:
    result = run("digest", "--week", week)

    assert (result.exit_code, fake.asked) == (1, [])
    assert result.stderr == (
        f'rootbound: --week: "{week}" is not a week; write year and week as 2026-W29\n'
    )


def test_the_worker_stopped_by_hand_is_done(run, fake) -> None:
    fake.breaks = KeyboardInterrupt()

    result = run("worker")

    assert (result.exit_code, result.stdout, fake.asked) == (0, "Stopped.\n", ["worker"])


def test_a_channel_that_is_left_alone_is_told_with_what_it_says(run, fake) -> None:
    fake.sent = SendReport(waiting=2, stopped={"email": "5.7.1 denied"})

    result = run("send")

    assert result.exit_code == 1
    assert "2 left for the morning or the next try" in result.output
    assert "email is left alone for a while: the other side says 5.7.1 denied" in result.output
