"""``rootbound dig-list`` on a service whose weather was stored before."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from datetime import date

import pytest
import typer
from typer.testing import CliRunner

from rootbound_service.cli.dig_list import dig_list
from rootbound_service.cli.errors import PlainGroup
from rootbound_service.cli.session import Session
from rootbound_service.records import Person, SoilRecord
from service.nights.rig import DRY, MAREN, NORTH, TOBIAS, YEAR, a_field, a_rig

V3, GROWN = date(YEAR, 5, 22), date(YEAR, 7, 4)
app = typer.Typer(cls=PlainGroup, pretty_exceptions_enable=False)
app.callback()(lambda: None)
app.command("dig-list")(dig_list)


class Desk:
    """The command on a rig."""

    def __init__(self, rig):
        self.rig = rig

    def __call__(self, *args):
        @contextmanager
        def opener(_settings, _clock):
            yield self.rig.service

        session = Session(clock=self.rig.clock, opener=opener)
        return CliRunner().invoke(app, ["dig-list", *map(str, args)], obj=session)


@pytest.fixture(autouse=True)
def plain(monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("desk"), DRY) as rig:
        rig.enrol(
            a_field("Long Acre"),
            a_field("Mill Bottom", NORTH, digs=(), planted=date(YEAR, 5, 3)),
            a_field(
                "Heron Flats", digs=(), planted=date(YEAR, 5, 2), grower=TOBIAS,
                soil=SoilRecord(texture="clay loam"),
            ),
            a_field("Beans", digs=(), crop="soybean", black_layer_gdd_f=None),
        )  # fmt: skip
        for day in (V3, GROWN):
            rig.bring(day)
        yield Desk(rig)


@pytest.fixture
def desk(shared):
    shared.rig.at(V3)
    return shared


def flat(result):
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def line_of(result, name):
    (line,) = [one for one in result.stdout.splitlines() if name in one and "%" in one]
    return " ".join(line.split())


def test_a_field_has_its_window_and_its_figures_on_one_line_of_80(desk):
    result = desk()

    assert line_of(result, "Heron Flats").startswith("2 Heron Flats Tobias Reyl closes in ")
    assert line_of(result, "Heron Flats").endswith("35%")
    assert max(len(line) for line in result.stdout.splitlines()) <= 80


def test_each_has_its_sentence_and_the_list_says_that_it_is_no_rating(desk):
    told = flat(desk())

    assert "2 Heron Flats: " in told
    assert "The order is no rating." in told
    assert "No source gives a dig window for soybean" in told
    assert "wall class" not in told


@pytest.mark.parametrize("caution", ["call 811", "re-entry", "alone in heat", "trench"])
def test_the_cautions_of_digging_are_always_there(desk, caution):
    assert caution in flat(desk())


def test_nothing_is_asked_of_the_weather_sources(desk, monkeypatch):
    asked = []
    real = desk.rig.sky.answer
    monkeypatch.setattr(desk.rig.sky, "answer", lambda query: asked.append(query) or real(query))
    desk()
    assert asked == []

    desk.rig.bring(date(YEAR, 7, 9))  # the ear is at the door: what does ask is heard
    assert asked


def test_a_narrow_screen_keeps_place_name_window_and_reason(desk, monkeypatch):
    monkeypatch.setenv("COLUMNS", "44")
    result = desk()

    assert "Heron Flats" in result.stdout
    assert "closes in" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 44


def test_one_persons_fields_come_in_their_units(desk):
    everybody, his = flat(desk()), flat(desk("--for", "tobias  reyl"))

    assert "Mill Bottom" in everybody
    assert "Mill Bottom" not in his
    assert " mm " in his
    assert flat(desk("--for", TOBIAS.email)) == his


def test_a_name_nobody_has_is_refused_with_the_nearest(desk):
    result = desk("--for", "Tobias Reil")

    assert result.exit_code == 1
    assert result.stderr == (
        "rootbound: --for: nobody is called Tobias Reil; did you mean Tobias Reyl?\n"
    )


@pytest.mark.parametrize(
    ("given", "said"),
    [("2027-01-01", "is in the future"), ("soon", "--on: ")],
)
def test_a_day_that_cannot_be_is_refused(desk, given, said):
    result = desk("--on", given)

    assert result.exit_code == 1
    assert said in result.stderr


def test_another_day_is_looked_at_as_it_was_then(desk):
    desk.rig.at(GROWN)
    told = flat(desk("--on", V3))

    assert "closes in" in told
    assert "The dig window (V2 to V5) is past: a dig shows where" in flat(desk())


def test_before_any_field_it_says_how_to_enrol_one(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.at(V3)
        told = flat(Desk(rig)())

    assert told.startswith("No field has a season by then.")
    assert "rootbound enroll" in told


def test_where_everything_is_dug_it_says_when_a_field_comes_back(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.at(date(YEAR, 6, 2))
        told = flat(Desk(rig)())

    assert told.startswith("Nothing to dig: every field with a season going on has a dig.")
    assert "V6 to V8" in told


def test_without_weather_it_says_what_brings_it(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre", digs=()))
        rig.at(V3)
        told = flat(Desk(rig)())

    assert "1 Long Acre Maren Holt not known" in told
    assert "rootbound weather pull brings it" in told


def test_of_two_people_of_one_name_the_mail_is_asked_for(tmp_path):
    twin = replace(MAREN, email="other@holt.example")
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"), a_field("Quarry Top", grower=twin))
        rig.at(V3)
        result = Desk(rig)("--for", MAREN.name)

    assert isinstance(twin, Person)
    assert "fits 2 people; give the mail address" in result.stderr
