"""``rootbound capacity``: sizes, simulated nights and the page, as a person types them."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.app import app

ASK = ("capacity", "--fields", "1e5", "--cells", "5000")


@pytest.fixture(autouse=True)
def plain(monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path / "none"))
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)


def run(*args):
    return CliRunner().invoke(app, list(args))


def test_a_size_is_told_in_tables_and_what_breaks_first():
    done = run(*ASK, "--mail", "0.1")

    assert done.exit_code == 0
    assert "cells of weather" in done.output
    assert "What breaks first" in done.output
    assert "letters sent" in done.output


def test_a_size_with_room_says_so():
    assert "There is room for all of it." in run("capacity", "--fields", "1e4").output


def test_json_has_every_part_unrounded():
    told = json.loads(run(*ASK, "--hosts", "2", "--json").output)

    assert told["cells"] == {"gridmet": 5000}
    assert told["asked"]["machines"]["hosts"] == 2
    used = [one["used"] for one in told["resources"]]
    assert used == sorted(used, reverse=True)
    assert told["rows"] == 100_000


def test_nights_are_played_and_come_out_the_same(tmp_path):
    args = ("capacity", "simulate", "--fields", "20000", "--workers", "4", "--nights", "2")
    picture = tmp_path / "night.svg"
    first = run(*args, "--seed", "7", "--bad", "2", "--picture", str(picture))

    assert first.exit_code == 0
    assert first.output == run(*args, "--seed", "7", "--bad", "2").output
    assert picture.read_text("utf-8").startswith("<?xml")
    told = json.loads(run(*args, "--seed", "7", "--json").output)
    assert [one["night"] for one in told] == [1, 2]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--fields", "lots"), "--fields: 'lots' is no number of things"),
        (("--fields", "1.5"), "--fields: '1.5' is no number of things"),
        (("--fields", "nan"), "--fields: 'nan' is no number of things"),
        (("--fields", "1e999"), "--fields: '1e999' is no number of things"),
        (("--fields", "10", "--cells", "20"), "cells: 20 cannot be"),
        (("--hosts", "0"), "hosts: 0 cannot be; give 1 to 1e+06"),
        (("--texts", "0"), "texts_per_s: 0 cannot be"),
        (("--mail", "nan"), "mail_per_s: nan cannot be"),
        (("--disk", "inf"), "disk_gb: inf cannot be"),
        (("--fields", "1e6", "simulate"), "--fields: stands before simulate"),
        (("--json", "page"), "--json: stands before page"),
        (("simulate", "--bad", "4"), "--bad: there is no night 4; give 1 to 3"),
        (("simulate", "--picture", "night.doc"), "--picture: night.doc is no picture"),
        (("simulate", "--picture", "nowhere/night.svg"), "--picture: nowhere is no folder"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(args, said):
    done = run("capacity", *args)

    assert done.exit_code == 1
    assert said in done.output


def test_nothing_is_opened_or_made_for_it(tmp_path):
    run(*ASK)

    assert not (tmp_path / "none").exists()
