"""Fetching: first usable answer, each place once, once a night, and nobody stops the others."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import Engine

from rootbound_service.public.http import Unavailable
from rootbound_service.records import FieldRecord, Person, SoilRecord
from rootbound_service.soil.ask import ask_soil
from rootbound_service.soil.fetch import fetch_soils, profile_from
from rootbound_service.soil.profile import Layer, Profile
from rootbound_service.store.fields import add_field, list_fields
from rootbound_service.store.soil import change_by_hand
from rootbound_service.store.soil_answers import newest_answers, raw_answer

NIGHT = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)
LOAM = Layer(0, 150, 40, 40, 20, 3.0, field_capacity=0.28, wilting_point=0.14)
CLAY = Layer(0, 150, 20, 30, 50, 3.0, field_capacity=0.42, wilting_point=0.28)
BUSY = Unavailable("service", "is not well (HTTP 504)", retry_later=True)
UNMAPPED = Unavailable("service", "no soil is mapped at this place", retry_later=False)


@dataclass
class Fake:
    """A soil service that says what it is told to."""

    name: str
    says: Layer | Exception
    title: str = "The service"
    everywhere: bool = True
    asked: list[tuple[float, float]] = field(default_factory=list)

    def covers(self, lat: float, lon: float) -> bool:
        return self.everywhere

    def fetch(self, lat: float, lon: float) -> Profile:
        self.asked.append((lat, lon))
        if isinstance(self.says, Exception):
            raise self.says
        return Profile(self.name, "unit", 80.0, (self.says,), drainage="Well drained", raw=b'{"a"}')


@pytest.fixture
def survey() -> Fake:
    return Fake("survey", LOAM)


@pytest.fixture
def grids() -> Fake:
    return Fake("soilgrids", CLAY)


@pytest.fixture
def enrol(store: Engine):
    """Enrol a field without soil, unless told otherwise."""

    def go(name="North Forty", lat=42.03, lon=-93.62, soil: SoilRecord | None = None):
        record = FieldRecord(
            name=name,
            lat=lat,
            lon=lon,
            elevation_m=None,
            row_spacing_cm=76.0,
            time_zone="America/Chicago",
            grower=Person("Ada Quill", "ada@quill.example", "grower"),
            adviser=None,
            soil=soil or SoilRecord(),
            crop="maize",
            planted=date(2026, 4, 28),
            black_layer_gdd_f=None,
            seed_depth_cm=5.0,
        )
        with store.begin() as conn:
            return add_field(conn, record)

    return go


@pytest.fixture
def night(store: Engine, survey: Fake, grids: Fake):
    """Fetch for all fields at a time, from the survey and then from SoilGrids."""

    def go(now: datetime = NIGHT, *, again: bool = False):
        with store.connect() as conn:
            fields = list_fields(conn)
        return fetch_soils(store, lambda *_: (survey, grids), fields, now, again=again)

    return go


def soil_now(store: Engine) -> SoilRecord:
    """What counts for the first field."""
    with store.connect() as conn:
        return list_fields(conn)[0].soil


def test_the_first_usable_answer_wins_and_the_others_are_not_asked(survey, grids) -> None:
    asked = ask_soil((survey, grids), 42.0, -93.0)

    assert asked.profile is not None
    assert (asked.profile.source, asked.reasons, asked.retry_later) == ("survey", (), False)
    assert grids.asked == []


@pytest.mark.parametrize(("trouble", "later"), [(BUSY, True), (UNMAPPED, False)])
def test_the_reason_of_one_that_had_none_is_kept(survey, grids, trouble, later) -> None:
    survey.says = trouble

    asked = ask_soil((survey, grids), 42.0, -93.0)

    assert asked.profile is not None
    assert asked.profile.source == "soilgrids"
    assert (asked.reasons, asked.retry_later) == ((str(trouble),), later)


def test_an_answer_that_nothing_follows_from_is_not_usable(survey, grids) -> None:
    survey.says = Layer(0, 100, texture="Muck")

    asked = ask_soil((survey, grids), 42.0, -93.0)

    assert asked.profile is not None
    assert asked.profile.source == "soilgrids"
    assert "neither water contents nor a texture" in asked.reasons[0]


def test_one_that_does_not_cover_the_place_is_not_asked(survey, grids) -> None:
    survey.everywhere = False

    asked = ask_soil((survey, grids), 42.0, -93.0)

    assert survey.asked == []
    assert asked.reasons == ("The service does not cover this place",)


def test_without_any_service_that_is_the_reason() -> None:
    assert ask_soil((), 42.0, -93.0).reasons == ("no soil service is named for this place",)


def test_a_field_without_soil_gets_one_with_the_origin_of_every_value(store, enrol, night) -> None:
    assert not enrol().soil.is_known

    (result,) = night()

    soil = soil_now(store)
    assert result.source == "survey"
    assert result.soil == soil
    assert (soil.texture, soil.field_capacity, soil.wilting_point) == ("loam", 0.28, 0.14)
    assert soil.origin == "soil survey"
    assert set(soil.origins) == {
        "texture",
        "field_capacity",
        "wilting_point",
        "clay_pct",
        "organic_matter_pct",
    }
    assert result.sentence == "North Forty: soil from soil survey"


def test_the_answer_is_kept_as_it_came_and_gives_the_same_profile(store, enrol, night) -> None:
    field = enrol()
    night()

    with store.connect() as conn:
        kept = newest_answers(conn, (field.id,))[field.id]
        assert raw_answer(conn, field.id) == b'{"a"}'
    profile = profile_from(kept)
    assert profile == Profile("survey", "unit", 80.0, (LOAM,), drainage="Well drained")
    assert kept.asked_at == NIGHT


def test_a_field_whose_soil_was_entered_is_not_asked_for(enrol, night, survey) -> None:
    enrol(soil=SoilRecord(texture="silt loam"))

    assert night() == []
    assert survey.asked == []


def test_fields_on_the_same_ground_are_asked_for_together(store, enrol, night, survey) -> None:
    enrol("North", 42.03, -93.62)
    enrol("South", 42.0304, -93.6196)
    enrol("Far", 42.05, -93.62)

    results = night()

    assert len(survey.asked) == 2
    assert [one.field.name for one in results if one.source] == ["North", "South", "Far"]


def test_a_place_that_was_described_already_is_not_asked_for_again(enrol, night, survey) -> None:
    enrol("North")
    night()
    enrol("South", 42.0304, -93.6196)

    (result,) = night(NIGHT + timedelta(days=1))

    assert (result.field.name, result.source) == ("South", "survey")
    assert len(survey.asked) == 1


def test_a_field_nobody_answers_for_is_asked_once_a_night(store, enrol, night, survey, grids):
    enrol()
    survey.says = grids.says = BUSY

    (first,) = night()
    assert night(NIGHT + timedelta(hours=2)) == []
    (second,) = night(NIGHT + timedelta(days=1))

    assert (first.source, first.retry_later, second.source) == (None, True, None)
    assert len(survey.asked) == 2
    assert "North Forty: its soil is not known yet: service: is not well" in first.sentence
    assert not soil_now(store).is_known


def test_a_place_nobody_maps_is_asked_for_again_after_a_month(enrol, night, survey, grids) -> None:
    enrol()
    survey.says = grids.says = UNMAPPED
    night()

    assert night(NIGHT + timedelta(days=5)) == []
    assert len(night(NIGHT + timedelta(days=31))) == 1


def test_where_a_stand_in_answered_the_preferred_one_is_asked_again(
    store, enrol, night, survey
) -> None:
    enrol()
    survey.says = BUSY
    night()
    assert soil_now(store).texture == "clay"
    survey.says = LOAM

    night(NIGHT + timedelta(days=1))

    soil = soil_now(store)
    assert (soil.texture, soil.field_capacity, soil.origin) == ("loam", 0.28, "soil survey")
    assert night(NIGHT + timedelta(days=2)) == []


def test_one_place_that_breaks_stops_no_other(store, enrol, night, survey, grids) -> None:
    enrol("North")
    enrol("Far", 42.05)
    whole = survey.fetch
    survey.fetch = lambda lat, lon: whole(lat, lon) if lat > 42.04 else 1 / 0  # type: ignore[method-assign]

    north, far = night()

    assert (north.source, far.source) == (None, "survey")
    assert "this should not have happened: division by zero" in north.reasons[0]


def test_a_field_that_is_gone_stops_no_other(store, enrol, survey) -> None:
    field = enrol()
    ghost = replace(field, id=field.id + 99, name="Ghost")

    results = fetch_soils(store, lambda *_: (survey,), (ghost, field), NIGHT)

    assert [one.source for one in results] == [None, "survey"]


def test_what_was_entered_by_hand_stays_when_the_services_are_asked(store, enrol, night) -> None:
    field = enrol()
    with store.begin() as conn:
        change_by_hand(conn, field.id, {"clay_pct": 33.0}, (), NIGHT)

    night()
    night(again=True)

    soil = soil_now(store)
    assert (soil.clay_pct, soil.field_capacity) == (33.0, 0.28)
    assert soil.origin == "entered by hand and soil survey"


def test_asking_again_takes_what_the_service_says_now(store, enrol, night, survey) -> None:
    enrol()
    night()
    survey.says = replace(LOAM, organic_matter_pct=None)

    night(again=True)

    assert len(survey.asked) == 2
    assert soil_now(store).organic_matter_pct is None


def test_a_field_that_moves_loses_the_soil_of_its_old_place(store, enrol, night) -> None:
    field = enrol()
    night()
    moved = replace(field, lat=42.2, planted=date(2027, 4, 30), soil=SoilRecord())
    with store.begin() as conn:
        assert not add_field(conn, moved).soil.is_known

    (result,) = night(NIGHT + timedelta(days=300))

    assert result.source == "survey"
    assert soil_now(store).is_known
