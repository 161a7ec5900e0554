"""Everything a night can be handed broken: it is told, nothing is lost, the rest goes on."""

from __future__ import annotations

import os
from datetime import date, timedelta

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.public.http import Patience
from rootbound_service.records import SoilRecord
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.wiring import open_service
from service.nights.rig import DRY, INES, NORTH, OPERATOR, POWER_ONLY, SOUTH, YEAR, a_field, a_rig

FIRST = date(YEAR, 6, 29)
NEXT = FIRST + timedelta(days=1)
JUNE = (date(YEAR, 6, 1), date(YEAR, 6, 26))
CELL = NasaPower.grid.snap(*SOUTH)
WHO = "NASA POWER, cell nasa_power:263-136: "
REFUSED = (
    "refused the request (HTTP 422): "
    "Please supply a different user name; reserved names are not allowed"
)
GOES_ON = "; 1 field goes on with the weather stored through 2026-06-26"


def june(rig):
    """Temperature and rain of a good part of June, as stored of the southern cell."""
    store = rig.service.parts.feeds["nasa_power"].store
    return store.read([CELL], *JUNE, ["tmax_c", "rain_mm"]).values.tolist()


@pytest.fixture
def rig(tmp_path):
    """Two fields in two cells, and one night that went well."""
    with a_rig(tmp_path, DRY) as made:
        made.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        made.night(FIRST)
        made.send()
        made.box.received.clear()
        yield made


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ("500", "is not well (HTTP 500)"),
        ("429", "asks us to come back later (HTTP 429)"),
        ("html", "answered with a web page instead of data"),
        ("truncated", "the answer was cut short"),
        ("half", "the answer was cut short or is no data"),
        ("timeout", "did not answer within 1 s"),
        ("422", REFUSED),
    ],
)
def test_a_fault_is_told_to_the_operator_harms_nothing_stored_and_stops_no_other_field(
    rig, fault, sentence
):
    before, rows = june(rig), rig.rows("Long Acre")
    rig.sky.faults.append(fault)

    report = rig.night(NEXT)
    rig.send()

    assert report.failures == (WHO + sentence + GOES_ON,)
    assert (report.fields_ok, report.fields_failed) == (2, 0)
    assert WHO + sentence + GOES_ON in " ".join(rig.text_to(OPERATOR).split())
    assert june(rig) == before
    assert rig.rows("Long Acre")[: len(rows)] == rows
    assert rig.row("Far").weather_through == date(YEAR, 6, 27)
    assert rig.row("Long Acre").weather_through == date(YEAR, 6, 26)


def test_an_answer_of_nothing_but_fill_is_no_news_and_no_harm(rig):
    before = june(rig)
    rig.sky.faults.append("all_fill")

    report = rig.night(NEXT)

    assert (report.failures, report.fields_ok) == ((), 2)
    assert june(rig) == before
    assert rig.row("Far").weather_through == date(YEAR, 6, 27)


def test_the_command_line_tells_the_same_sentence_and_the_night_counts_as_done(rig, monkeypatch):
    settings = rig.service.settings
    for name in [name for name in os.environ if name.startswith("ROOTBOUND_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(settings.data_dir))
    monkeypatch.setenv("ROOTBOUND_SOURCES_FILE", str(POWER_ONLY))
    monkeypatch.setenv("ROOTBOUND_NASA_POWER_URL", settings.nasa_power_url)
    monkeypatch.setenv("ROOTBOUND_HISTORY_YEARS", "3")
    rig.sky.faults.append("html")
    rig.at(NEXT)

    def opener(settings, clock):
        return open_service(settings, clock, Patience(retries=0))

    session = Session(clock=rig.clock, opener=opener)
    result = CliRunner().invoke(app, ["nightly"], obj=session)

    assert (result.exit_code, result.stderr) == (
        0,
        f"rootbound: {WHO}answered with a web page instead of data{GOES_ON}\n",
    )
    assert "2 fields computed, 0 failed" in result.stdout


def test_a_soil_that_cannot_be_computed_stops_no_other_field(rig):
    rig.enrol(a_field("Odd", soil=SoilRecord(field_capacity=0.10, wilting_point=0.30)))
    rig.enrol(a_field("Bare", soil=SoilRecord()))

    report = rig.night(NEXT)
    rig.send()

    assert (report.fields_ok, report.fields_failed) == (2, 2)
    odd, bare = report.failures
    assert odd.startswith("Odd: ")
    assert "wilting" in odd
    assert bare == (
        "Bare: soil: nothing is known of it; "
        "give a texture class, or field capacity and wilting point, "
        "or have it fetched: rootbound soil FIELD --fetch"
    )
    assert (rig.row("Odd").status, rig.row("Odd").reason) == ("unknown", "could_not_be_computed")
    assert rig.row("Long Acre").status == "watched"
    assert "2 fields without an answer" in rig.subjects(OPERATOR)[-1]


def test_an_error_nobody_thought_of_in_one_field_stops_no_other(rig, monkeypatch):
    from rootbound_service.nights import one as by_itself

    real = by_itself.compute

    def fails_for_one(field, *rest):
        if field.name == "Long Acre":
            raise ZeroDivisionError("float division by zero")
        return real(field, *rest)

    monkeypatch.setattr(by_itself, "compute", fails_for_one)
    report = rig.night(NEXT)

    (told,) = report.failures
    said = "Long Acre: could not be computed: ZeroDivisionError: float division by zero "
    assert told.startswith(said + "(test_night_faults.py:")
    assert rig.row("Far").status == "watched"


def test_a_stored_cell_that_cannot_be_read_stops_no_other(rig, monkeypatch):
    real = GridStore.read

    def torn(store, cells, *rest):
        if CELL in cells:
            raise OSError(5, "Input/output error")
        return real(store, cells, *rest)

    monkeypatch.setattr(GridStore, "read", torn)
    report = rig.night(NEXT)

    (told,) = report.failures
    assert "no answer for Long Acre" in told
    assert "[Errno 5] Input/output error" in told
    assert rig.row("Far").status == "watched"


def test_a_chart_that_cannot_be_drawn_costs_the_picture_and_not_the_words(rig, monkeypatch):
    def broken(*_, **__):
        raise ValueError("no font")

    monkeypatch.setattr("rootbound_service.notes.compose.note_chart", broken)
    report = rig.night(NEXT)
    rig.send()

    assert (report.notes, report.messages, report.failures) == (1, 2, ())
    assert "Drawing down" in rig.subjects(INES.email)[-1]


def test_a_letter_that_cannot_be_written_is_told_and_the_others_go(rig, monkeypatch):
    from rootbound_service.nights import letters

    real = letters.compose_note

    def fails_for_one(person, *rest):
        if person.email == INES.email:
            raise ValueError("cannot be worded")
        return real(person, *rest)

    monkeypatch.setattr(letters, "compose_note", fails_for_one)
    report = rig.night(NEXT)
    rig.send()

    (told,) = report.failures
    assert told.startswith("the note to person ")
    assert "could not be written: ValueError: cannot be worded (test_night_faults.py:" in told
    assert "@" not in told
    assert len(rig.box.received) == 2  # the grower's, and the operator's about this


def test_a_refused_relay_keeps_the_notes_until_it_lets_us_in(rig):
    rig.night(NEXT)
    rig.box.set_fault(INES.email, "5.7.1", times=1)
    rig.send()
    assert rig.outbox()["pending"] >= 1

    rig.clock.set(rig.clock.now() + timedelta(hours=1))
    rig.send()

    assert rig.outbox()["pending"] == 0
    assert len(rig.box.to(INES.email)) == 1
