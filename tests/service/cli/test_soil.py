"""``rootbound soil``: each value with its unit and origin, corrected by hand, fetched."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from rootbound_service.public.http import Unavailable
from rootbound_service.public.order import Order, Rule
from rootbound_service.records import SoilRecord
from rootbound_service.soil.profile import Layer, Profile
from rootbound_service.store.fields import add_field, list_fields

LOAM = Layer(
    0, 20, 37, 39, 24, 3.5, 1.42, field_capacity=0.271, wilting_point=0.149, texture="Loam"
)
DEEP = Layer(20, 150, 38, 36, 26, 0.8, None, field_capacity=0.264, wilting_point=0.152)


class Survey:
    """A soil service that says what it is told to."""

    name = "survey"
    title = "USDA soil survey"
    says: Profile | Exception = Profile(
        "survey",
        "Clarion in Clarion loam",
        80.0,
        (LOAM, DEEP),
        water_table_cm=107.0,
        drainage="Moderately well drained",
        remarks=("layers that stop roots could not be had: is not well",),
    )

    def covers(self, lat: float, lon: float) -> bool:
        return True

    def fetch(self, lat: float, lon: float) -> Profile:
        if isinstance(self.says, Exception):
            raise self.says
        return self.says


@pytest.fixture
def survey(fake) -> Survey:
    made = Survey()
    fake.parts = SimpleNamespace(
        order=Order({}, (Rule("soil", "world", ("survey", "soilgrids")),)),
        soils={"survey": made, "soilgrids": made},
    )
    return made


@pytest.fixture
def bare(store, north):
    """The usual field, enrolled without soil."""
    with store.begin() as conn:
        return add_field(conn, replace(north, soil=SoilRecord()))


@pytest.fixture
def stored(store):
    """The soil that counts for the first field."""

    def go() -> SoilRecord:
        with store.connect() as conn:
            return list_fields(conn)[0].soil

    return go


def words(result) -> str:
    """What was printed, in one line."""
    return " ".join(result.stdout.split())


def test_a_field_without_soil_says_when_it_gets_one(run, bare) -> None:
    result = run("soil", "North Forty")

    assert result.exit_code == 0
    assert result.stdout.startswith("North Forty (field 1): soil not known yet: ")
    assert "with the next night, or now with --fetch" in result.stdout
    assert "clay_pct not known" in words(result)


def test_the_card_of_a_field_without_soil_says_so(run, bare) -> None:
    assert "soil not known yet, to be fetched" in words(run("show", "1"))


def test_each_value_is_shown_with_its_unit_and_where_it_is_from(run, enrolled) -> None:
    result = run("soil", "1")

    assert "soil known, entered by hand" in result.stdout
    assert "texture silt loam entered by hand" in words(result)
    assert "clay_pct 22 % entered by hand" in words(result)
    assert "field_capacity follows from the others" in words(result)


def test_what_is_fetched_is_shown_with_its_layers(run, bare, survey, stored) -> None:
    result = run("soil", "1", "--fetch")

    assert result.exit_code == 0
    assert stored().is_known
    shown = words(result)
    assert "water_table_m 1.07 m USDA soil survey, Clarion in Clarion loam (80 % of the" in shown
    assert "Layers of Clarion in Clarion loam, 80 % of the map unit (survey, 2026-07-14)" in shown
    assert "0-20 37 39 24 3.5 1.42 0.271 0.149 loam" in shown
    assert "20-150 38 36 26 0.8 – 0.264 0.152" in shown
    assert "drainage moderately well drained" in shown
    assert "layers that stop roots could not be had: is not well" in shown
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_value_entered_by_hand_counts_and_the_other_is_shown_beside_it(
    run, bare, survey, stored
) -> None:
    run("soil", "1", "--fetch")

    result = run("soil", "1", "--set", "clay_pct=31", "--set", "organic_matter_pct=4")

    assert (stored().clay_pct, stored().organic_matter_pct) == (31.0, 4.0)
    assert stored().field_capacity is not None
    shown = words(result)
    assert "clay_pct 31 % entered by hand, 2026-07-14 (24.67 % set aside: USDA soil" in shown


def test_a_value_cleared_gives_way_to_the_services(run, bare, survey, stored) -> None:
    run("soil", "1", "--fetch")
    run("soil", "1", "--set", "clay_pct=31")

    result = run("soil", "1", "--clear", "clay_pct")

    assert result.exit_code == 0
    assert stored().clay_pct == 24.67
    assert "set aside" not in result.stdout


def test_what_was_entered_stays_when_the_soil_is_fetched(run, bare, survey, stored) -> None:
    run("soil", "1", "--set", "clay_pct=31")

    run("soil", "1", "--fetch")

    assert stored().clay_pct == 31.0
    assert stored().origin == "entered by hand and soil survey"


def test_a_fetch_that_brings_nothing_says_why_and_fails(run, bare, survey, stored) -> None:
    survey.says = Unavailable("SoilGrids", "is not well (HTTP 504)", retry_later=True)

    result = run("soil", "1", "--fetch")

    assert result.exit_code == 1
    assert "rootbound: SoilGrids: is not well (HTTP 504)" in result.stderr
    assert "on 2026-07-14, nobody had an answer" in words(result)
    assert not stored().is_known


def test_what_was_entered_beside_a_fetch_that_failed_is_partly_done(
    run, bare, survey, stored
) -> None:
    survey.says = Unavailable("SoilGrids", "is not well (HTTP 504)", retry_later=True)

    result = run("soil", "1", "--set", "texture=loam", "--fetch")

    assert result.exit_code == 3
    assert stored().texture == "loam"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--set", "clay_pct=94"], "--set clay_pct: 94 is above what it can be; clay is 0 to 60 %"),
        (["--set", "clay=2"], "--set clay: is not a known name; did you mean clay_pct?"),
        (["--clear", "texture", "--set", "texture=loam"], "is set and cleared at once"),
        (["--clear", "water_table_m"], "water_table_m: was not entered by hand; what can be"),
        (["--set", "field_capacity=0.3"], "wilting_point: no value that fits field_capacity 0.3"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_stored(run, enrolled, stored, given, said) -> None:
    before = stored()

    result = run("soil", "1", *given)

    assert result.exit_code == 1
    assert said in result.stderr
    assert result.stdout == ""
    assert stored() == before


def test_an_unknown_field_is_refused(run, enrolled) -> None:
    result = run("soil", "South Forty")

    assert result.exit_code == 1
    assert "no field is called South Forty; did you mean North Forty?" in result.stderr
