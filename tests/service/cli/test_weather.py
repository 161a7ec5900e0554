"""``rootbound weather`` on stand-ins of every public service."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, date, datetime

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from service.nights.public_rig import a_public_rig
from service.nights.rig import a_field

DAY = date(2026, 7, 6)
OWN, OTHER = "gridmet:187-716", "nasa_power:263-136"


class Desk:
    """A command line, the public services it asks, and the rig behind it."""

    def __init__(self, rig):
        self.rig = rig

    def __call__(self, *args):
        @contextmanager
        def opener(_settings, _clock):
            yield self.rig.service

        words = [str(arg) for arg in args]
        session = Session(clock=self.rig.clock, opener=opener)
        return CliRunner().invoke(app, words, obj=session)


@pytest.fixture(autouse=True)
def plain(monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """One field whose weather was pulled on the sixth of July."""
    with a_public_rig(tmp_path_factory.mktemp("desk"), DAY) as rig:
        rig.enrol(a_field("Long Acre"))
        desk = Desk(rig)
        assert desk("weather", "pull").exit_code == 0
        yield desk


@pytest.fixture
def desk(shared):
    shared.rig.server.faults.clear()
    shared.rig.at(DAY)
    return shared


@pytest.fixture
def empty(tmp_path):
    with a_public_rig(tmp_path, DAY) as rig:
        yield Desk(rig)


def words(text):
    return " ".join(text.split())


def row(result, name):
    """The cells of one line of a table, split at two spaces or more."""
    (line,) = (line for line in result.stdout.splitlines() if line.startswith(name))
    return [cell.strip() for cell in line.split("  ") if cell.strip()]


def test_without_a_field_nothing_is_shown_and_nothing_is_asked(empty):
    shown, pulled = empty("weather", "status"), empty("weather", "pull")

    said = "No field grows now, so no weather is needed. See rootbound enroll --help.\n"
    assert (shown.exit_code, shown.stdout) == (0, said)
    assert (pulled.exit_code, pulled.stdout) == (0, "No field grows now: nothing was asked for.\n")
    assert empty.rig.server.requests == []


def test_status_before_the_first_pull_says_that_nothing_is_known(empty):
    empty.rig.enrol(a_field("Long Acre"))
    result = empty("weather", "status")

    assert result.exit_code == 0
    assert row(result, "gridMET")[:4] == ["gridMET", "1 (0 asked)", "-", "-"]
    assert row(result, "gridMET")[-1] == "1 cells to come"
    assert row(result, "NASA POWER")[-1] == "complete"
    assert "Forecasts: none is stored." in result.stdout
    assert "Last night: none was run yet" in result.stdout
    assert empty.rig.server.requests == []


def test_status_tells_cells_days_age_gaps_and_past_of_every_source(desk):
    result = desk("weather", "status")

    gridmet, power = row(result, "gridMET"), row(result, "NASA POWER")
    assert gridmet[:5] == ["gridMET", "1", "2026-07-04", "2 d", "0"]
    assert power[:5] == ["NASA POWER", "1", "2026-07-03", "3 d", "0"]
    assert gridmet[-1] == power[-1] == "complete"
    assert "Forecasts: 1 of 1 places, the oldest" in result.stdout
    assert "Next pull: 2026-07-07 09:00 UTC" in result.stdout


@pytest.mark.parametrize(
    ("moment", "due"),
    [
        (datetime(2026, 7, 6, 8, 59, tzinfo=UTC), "2026-07-06 09:00 UTC"),
        (datetime(2026, 7, 6, 9, 0, tzinfo=UTC), "2026-07-07 09:00 UTC"),
        (datetime(2028, 2, 28, 12, 0, tzinfo=UTC), "2028-02-29 09:00 UTC"),
        # The clocks of the field's own zone change on this day; ours do not.
        (datetime(2026, 11, 1, 8, 0, tzinfo=UTC), "2026-11-01 09:00 UTC"),
    ],
)
def test_the_next_pull_is_at_nine_utc_whatever_the_clocks_of_a_field_do(desk, moment, due):
    from rootbound_service.nights.weather_state import look

    assert look(desk.rig.service.parts, moment).next_pull.startswith(due)


def test_a_pull_tells_requests_and_new_values_and_what_was_revised(desk):
    desk.rig.at(date(2026, 7, 7))
    result = desk("weather", "pull", "--no-past")

    assert result.exit_code == 0
    assert result.stderr == ""
    assert "NASA POWER: 1 requests, 6 new values" in result.stdout
    assert "gridMET: 1 requests, 6 new values" in result.stdout
    assert "gridMET revised " in result.stdout
    assert "at gridmet:187-716 from " in result.stdout
    assert "past years" not in result.stdout


def test_a_source_that_is_down_is_told_and_covered_and_the_pull_counts_as_done(desk):
    desk.rig.server.faults["gridmet"].extend(["500"] * 40)
    result = desk("weather", "pull")

    assert (result.exit_code, result.stderr) == (0, "")
    told = f"gridMET: no answer for 1 of 1 cell (gridMET, cell {OWN}: is not well (HTTP 500))"
    assert told in words(result.stdout)


def test_where_no_source_answers_the_pull_says_so_and_fails(desk):
    desk.rig.server.faults["all"].extend(["500"] * 60)
    result = desk("weather", "pull")

    assert result.exit_code == 1
    assert result.stderr.startswith(f"rootbound: gridMET, cell {OWN}: is not well (HTTP 500)")


def test_a_cell_is_shown_by_a_fields_name_or_number_or_its_own_key(desk):
    shown = [desk("weather", "show", name).stdout for name in ("Long Acre", "1", OWN)]

    assert shown[0] == shown[1] == shown[2]
    assert shown[0].startswith(f"{OWN}: 41.61° N, 94.93° W, 310 m\ngridMET")
    other = desk("weather", "show", OTHER)
    assert other.stdout.startswith(f"{OTHER}: 41.50° N, 95.00° W, 310 m\nNASA POWER;")


def test_every_day_has_its_values_with_units_and_where_they_come_from(desk):
    result = desk("weather", "show", OWN, "--days", "5")

    heads = words(result.stdout.splitlines()[2] + result.stdout.splitlines()[3])
    for unit in ("tmax [degC]", "rain [mm", "wind [m"):
        assert unit in heads
    days = [line.split()[0] for line in result.stdout.splitlines() if line.startswith("2026")]
    assert days == [f"2026-07-0{day}" for day in range(1, 6)]
    assert row(result, "2026-07-04")[-1] == "gridMET"
    assert "? nobody knows, taken for dry" in result.stdout


def test_a_day_that_no_source_has_yet_is_a_row_of_dashes(desk):
    desk.rig.at(date(2026, 7, 9))
    result = desk("weather", "show", OWN, "--days", "1")

    assert row(result, "2026-07-08") == ["2026-07-08", *["-"] * 6]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("gridmet:999-1", "weather cell: 'gridmet:999-1' names no cell; give one such as gridmet:"),
        ("nasa_power:x", "weather cell: 'nasa_power:x' names no cell; give one such as nasa_power"),
        ("Nowhere", "Nowhere"),
        ("daymet:1-1", "daymet:1-1"),
    ],
)
def test_an_unknown_cell_or_field_is_refused_with_what_would_do(desk, name, said):
    result = desk("weather", "show", name)

    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith("rootbound: ")
    assert said in result.stderr
    assert "should not have happened" not in result.stderr


def test_a_cell_of_which_nothing_is_stored_says_how_to_get_it(desk):
    result = desk("weather", "show", "nasa_power:10-10")

    assert result.exit_code == 1
    told = "no weather is stored yet; rootbound weather pull asks for it"
    assert result.stderr == f"rootbound: nasa_power:10-10: {told}\n"


@pytest.mark.parametrize("today", [DAY, date(2027, 1, 1)])
def test_the_plot_is_a_png_of_some_size_on_new_years_day_too(desk, tmp_path, today):
    desk.rig.at(today)
    path = tmp_path / "cell.png"
    result = desk("weather", "show", OWN, "--plot", path)

    assert result.exit_code == 0, result.stderr
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = (int.from_bytes(head[at : at + 4], "big") for at in (16, 20))
    assert (width, height) == (1200, 1050)
    assert result.stdout.endswith(f"Drawn to {path}.\n")


def test_a_plot_that_cannot_be_written_is_told_in_a_sentence(desk, tmp_path):
    result = desk("weather", "show", OWN, "--plot", tmp_path / "none" / "cell.png")

    assert result.exit_code == 1
    assert result.stderr.startswith("rootbound: ")
    assert "cell.png" in result.stderr
