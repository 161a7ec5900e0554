"""Errors are sentences on stderr, without a traceback unless asked for."""

from __future__ import annotations

import pytest

from rootbound_service.errors import Problem, RefusedInput, ServiceError


def test_a_refusal_is_told_line_by_line_and_exits_with_1(run, fake) -> None:
    fake.breaks = RefusedInput((Problem("a", "is wrong", "b"), Problem("c", "is wrong", "d")))

    result = run("send")

    assert result.exit_code == 1
    assert result.stderr == "rootbound: a: is wrong; b\nrootbound: c: is wrong; d\n"


def test_an_unforeseen_error_is_one_sentence_without_what_may_be_private(run, fake) -> None:
    fake.breaks = ValueError("no such table\n[parameters: ('ada@quill.example',)]")

    result = run("send")

    assert result.exit_code == 1
    assert result.stderr == (
        "rootbound: this should not have happened: ValueError: no such table; "
        "set ROOTBOUND_DEBUG=1 to see where it arose\n"
    )


@pytest.mark.parametrize("error", [ServiceError("the mail server is away"), ValueError("bug")])
def test_the_traceback_is_there_when_asked_for(run, fake, monkeypatch, error) -> None:
    monkeypatch.setenv("ROOTBOUND_DEBUG", "1")
    fake.breaks = error

    assert run("send").exception is error


def test_the_global_options_override_the_environment(run, fake, tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("ROOTBOUND_DATABASE_URL_FILE", str(tmp_path / "absent"))

    run("--data-dir", tmp_path / "there", "--database", "sqlite:///other.db", "send")

    assert fake.settings is not None
    assert fake.settings.data_dir == tmp_path / "there"
    assert fake.settings.database_url == "sqlite:///other.db"


def test_a_wrong_setting_stops_the_command_with_its_name(run, fake, monkeypatch) -> None:
    monkeypatch.setenv("ROOTBOUND_SMTP_PORT", "smtp")

    result = run("send")

    assert (result.exit_code, fake.asked) == (1, [])
    assert result.stderr.startswith("rootbound: ROOTBOUND_SMTP_PORT: ")
