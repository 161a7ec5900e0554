"""``rootbound access`` as an operator types it: links, operators, accounts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field
from rootbound_service.web.app import make_app
from rootbound_service.wiring import open_service
from service.feeds.scene import a_field
from tables import put_tables

NOW = datetime(2026, 7, 14, 17, 0, tzinfo=UTC)
HERE = "http://127.0.0.1:8040"
ZONE = ("--time-zone", "America/Chicago")


@pytest.fixture
def clock():
    return SetClock(NOW)


@pytest.fixture
def run(tmp_path, clock, monkeypatch):
    monkeypatch.setenv("COLUMNS", "160")
    env = {"ROOTBOUND_DATA_DIR": str(tmp_path)}
    put_tables(tmp_path)
    with open_service(load_settings(env), clock) as service, service.engine.begin() as conn:
        add_field(conn, a_field(id=0, season_id=0), NOW)

    def call(*words):
        session, where = Session(clock=clock), ["--data-dir", str(tmp_path)]
        done = CliRunner().invoke(app, [*where, "access", *words], obj=session)
        return done.exit_code, " ".join(done.output.split())

    return call


@pytest.fixture
def browser(tmp_path, clock):
    with open_service(load_settings({"ROOTBOUND_DATA_DIR": str(tmp_path)}), clock) as service:
        yield TestClient(make_app(service), base_url=HERE, follow_redirects=False)


def path_in(said):
    found = [word for word in said.split() if "/enter/" in word]
    assert len(found) == 1
    return found[0].removeprefix(HERE)


def test_a_printed_link_signs_in_the_person_it_names_and_only_once(run, browser):
    code, said = run("link", "maren@alder.example")
    path = path_in(said)

    assert (code, said.startswith("For Maren Holt, once, for 15 minutes:")) == (0, True)
    assert browser.post(path).status_code == 303
    assert "Maren Holt" in browser.get("/today").text
    assert browser.post(path).status_code == 410


def test_a_printed_link_is_worth_nothing_after_a_quarter_of_an_hour(run, browser, clock):
    path = path_in(run("link", "maren@alder.example")[1])
    clock.set(NOW + timedelta(minutes=15, seconds=1))

    assert browser.post(path).status_code == 410


def test_the_web_address_stands_before_a_link_where_there_is_one(run, monkeypatch):
    monkeypatch.setenv("ROOTBOUND_BASE_URL", "https://rootbound.example")
    said = run("link", "maren@alder.example")[1]

    assert "https://rootbound.example/enter/" in said
    assert "127.0.0.1" not in said


def test_nobody_unknown_gets_a_link(run):
    code, said = run("link", "nobody@alder.example")

    assert code == 1
    assert "nobody with the address nobody@alder.example may come in" in said


def test_after_five_links_within_the_hour_there_is_a_pause(run):
    assert [run("link", "maren@alder.example")[0] for _ in range(6)] == [0, 0, 0, 0, 0, 1]


def test_an_account_is_made_with_its_adviser_who_can_come_in(run):
    code, said = run("account", "Quade farms", "--adviser", "Ferris Quade <f@quade.example>", *ZONE)

    assert (code, said) == (0, "Made: account Quade farms #2, adviser Ferris Quade.")
    assert run("link", "f@quade.example")[0] == 0
    assert "Ferris Quade #2 <f@quade.example> adviser" in run("list")[1]


def test_an_account_that_is_there_gets_a_further_adviser(run):
    run("account", "Quade farms", "--adviser", "Ferris Quade <f@quade.example>", *ZONE)
    code, said = run("account", "quade FARMS", "--adviser", "maren@alder.example")

    assert (code, said) == (0, "Changed: account Quade farms #2, adviser Maren Holt.")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("account", "Quade farms", "--adviser", "Ferris <f@quade.example>"), "needs a time zone"),
        (("account", "Quade farms", "--adviser", "Ferris <f@>", *ZONE), "not a mail address"),
        (("account", "Quade farms", "--adviser", "Ferris"), "nobody is called Ferris"),
        (("account", "#77", "--adviser", "Maren Holt"), "there is no account #77"),
        (("account", " ", "--adviser", "Maren Holt"), "NAME: is empty"),
        (("operator", "nobody@alder.example"), "nobody is called"),
        (
            ("account", "Q", "--adviser", "F <f@quade.example>", "--time-zone", "Mars/North"),
            "is no time zone",
        ),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_kept(run, words, told):
    before = run("list")
    code, said = run(*words)

    assert code == 1
    assert told in said
    assert run("list") == before


def test_an_operator_sees_the_operators_pages_until_it_is_ended(run, browser):
    whom = "Jonna Wirth <jonna@wirth.example>"
    assert run("operator", whom, *ZONE)[1] == "Jonna Wirth sees the operator's pages."
    browser.post(path_in(run("link", "jonna@wirth.example")[1]))
    assert browser.get("/operate").status_code == 200

    ended = run("operator", "jonna@wirth.example", "--end")[1]
    assert ended == "Jonna Wirth no longer sees the operator's pages."
    assert browser.get("/operate").status_code == 303
