"""``rootbound feed``: an address made, shown once, read and ended."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field
from rootbound_service.web.app import make_app
from rootbound_service.wiring import open_service
from service.feeds.scene import a_field
from tables import put_tables


@pytest.fixture
def run(tmp_path, clock, monkeypatch):
    monkeypatch.delenv("ROOTBOUND_BASE_URL", raising=False)
    put_tables(tmp_path)
    with open_service(load_settings({"ROOTBOUND_DATA_DIR": str(tmp_path)}), clock) as service:
        with service.engine.begin() as conn:
            add_field(conn, a_field(id=0, season_id=0), clock.now())
        web = TestClient(make_app(service), base_url="http://127.0.0.1:8040")

        def call(*words):
            where = ["--data-dir", str(tmp_path)]
            done = CliRunner().invoke(app, [*where, *words], obj=Session(clock=clock))
            return done.exit_code, done.output.splitlines()

        call.web = web
        yield call


def addresses(lines):
    return [line.strip() for line in lines if "/f/" in line]


def test_the_addresses_that_are_shown_can_be_read_until_they_are_ended(run):
    code, lines = run("feed", "maren@alder.example")
    shown = addresses(lines)

    assert code == 0
    assert len(shown) == 4
    assert "not shown again" in lines[0]
    assert [run.web.get(one).status_code for one in shown] == [200] * 4
    assert run("feed", "Maren Holt", "--end") == (0, ["1 address of Maren Holt ended."])
    assert [run.web.get(one).status_code for one in shown] == [404] * 4


def test_each_call_makes_another_address_and_one_end_ends_them_all(run):
    shown = [addresses(run("feed", "Maren Holt")[1])[0] for _ in range(2)]

    assert shown[0] != shown[1]
    assert run("feed", "Maren Holt", "--end")[1] == ["2 addresses of Maren Holt ended."]
    assert [run.web.get(one).status_code for one in shown] == [404, 404]


def test_without_a_web_address_it_is_said_that_only_this_machine_can_read(run):
    assert any("ROOTBOUND_BASE_URL" in line for line in run("feed", "Maren Holt")[1])


def test_a_public_address_stands_in_the_feeds_where_there_is_one(run, monkeypatch):
    monkeypatch.setenv("ROOTBOUND_BASE_URL", "https://rootbound.example")
    lines = run("feed", "Maren Holt")[1]

    assert all(one.startswith("https://rootbound.example/f/") for one in addresses(lines))
    assert not any("ROOTBOUND_BASE_URL" in line for line in lines)


def test_nobody_of_that_name_gets_no_address(run):
    code, lines = run("feed", "Maren Hold")

    assert code != 0
    assert "did you mean maren holt" in " ".join(lines).casefold()
    assert addresses(lines) == []
