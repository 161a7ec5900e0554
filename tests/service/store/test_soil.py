"""The soil of a field: what each source says, what counts, and that nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine, func, select

from rootbound_service.errors import RefusedInput
from rootbound_service.records import FieldRecord, SoilRecord
from rootbound_service.store.fields import add_field, list_fields
from rootbound_service.store.schema import soil_value
from rootbound_service.store.soil import change_by_hand, put_source, soil_values
from rootbound_service.store.soil_answers import place_key
from rootbound_service.store.soil_record import SoilValue, effective, standing

FieldMaker = Callable[..., FieldRecord]
NOW = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)


def said(source: str, **values: float | str) -> list[SoilValue]:
    """What a source says, each value with an origin of its own."""
    return [SoilValue(name, value, source, f"{source} {name}") for name, value in values.items()]


SURVEY = said("survey", texture="loam", field_capacity=0.28, wilting_point=0.14, clay_pct=20.0)
GRIDS = said(
    "soilgrids",
    texture="clay",
    field_capacity=0.42,
    wilting_point=0.28,
    clay_pct=50.0,
    organic_matter_pct=2.2,
)


def test_by_hand_beats_the_survey_which_beats_the_grid() -> None:
    soil = effective([*GRIDS, *SURVEY, *said("hand", clay_pct=27.0)])

    assert soil == SoilRecord(
        "loam", 0.28, 0.14, 27.0, 2.2, origin="hand clay_pct and soil survey and SoilGrids"
    )
    assert dict(soil.origins) == {
        "texture": "survey texture",
        "field_capacity": "survey field_capacity",
        "wilting_point": "survey wilting_point",
        "clay_pct": "hand clay_pct",
        "organic_matter_pct": "soilgrids organic_matter_pct",
    }


def test_nothing_said_is_a_soil_to_be_fetched() -> None:
    soil = effective([])

    assert not soil.is_known
    assert (soil.origin, dict(soil.origins)) == ("to be fetched", {})


def test_water_contents_never_mix_two_services() -> None:
    half = said("survey", texture="loam", field_capacity=0.28)

    soil = effective([*GRIDS, *half])

    assert (soil.texture, soil.field_capacity, soil.wilting_point) == ("loam", 0.42, 0.28)


def test_one_water_content_by_hand_takes_the_other_from_whom_it_fits() -> None:
    hand = said("hand", field_capacity=0.31)

    assert effective([*hand, *SURVEY]).wilting_point == 0.14
    assert effective([*hand, *GRIDS]).wilting_point == 0.28


def test_a_texture_by_hand_sets_aside_what_belongs_to_another() -> None:
    soil = effective([*SURVEY, *GRIDS, *said("hand", texture="sand")])

    assert soil == SoilRecord("sand", organic_matter_pct=2.2, origin="hand texture and SoilGrids")


def test_the_same_texture_by_hand_sets_nothing_aside() -> None:
    assert effective([*SURVEY, *said("hand", texture="loam")]).field_capacity == 0.28


def test_what_was_assumed_gives_way_to_anybody() -> None:
    assumed = said("assumed", profile_depth_m=1.5)

    assert effective(assumed).profile_depth_m == 1.5
    assert effective([*said("soilgrids", profile_depth_m=0.8), *assumed]).profile_depth_m == 0.8


def test_a_service_nobody_ranked_comes_after_those_that_are() -> None:
    other = said("our_own", texture="silt", organic_matter_pct=4.0, water_table_m=2.0)

    soil = effective([*other, *GRIDS])

    assert (soil.texture, soil.organic_matter_pct, soil.water_table_m) == ("clay", 2.2, 2.0)


@pytest.fixture
def field_id(store: Engine, a_field: FieldMaker) -> int:
    """A field enrolled without soil."""
    with store.begin() as conn:
        return add_field(conn, a_field(soil=SoilRecord())).id


def listed(store: Engine) -> SoilRecord:
    """The soil as fields are listed with."""
    with store.connect() as conn:
        return list_fields(conn)[0].soil


def test_a_field_may_be_enrolled_without_soil(store: Engine, field_id: int) -> None:
    assert not listed(store).is_known
    assert listed(store).origin == "to be fetched"


def test_what_counts_is_what_fields_are_listed_with(store: Engine, field_id: int) -> None:
    with store.begin() as conn:
        put_source(conn, field_id, "survey", SURVEY, NOW)
        put_source(conn, field_id, "soilgrids", GRIDS, NOW)
        returned = change_by_hand(conn, field_id, {"water_table_m": 1.25}, (), NOW)
        composed = effective(soil_values(conn, field_id))

    assert listed(store) == returned == composed
    assert listed(store).origins == composed.origins
    assert listed(store).water_table_m == 1.25


def test_every_word_is_kept_with_its_time(store: Engine, field_id: int) -> None:
    later = datetime(2026, 7, 20, 9, 30, tzinfo=UTC)
    with store.begin() as conn:
        change_by_hand(conn, field_id, {"clay_pct": 28.0}, (), NOW)
        change_by_hand(conn, field_id, {"clay_pct": 31.0}, (), later)
        change_by_hand(conn, field_id, {}, ("clay_pct",), later)
        kept = soil_values(conn, field_id)

    assert [(one.value, one.recorded_at, one.withdrawn) for one in kept] == [
        (28.0, NOW, False),
        (31.0, later, False),
        (None, later, True),
    ]
    assert listed(store).clay_pct is None


def test_the_same_said_twice_is_kept_once(store: Engine, field_id: int) -> None:
    with store.begin() as conn:
        put_source(conn, field_id, "survey", SURVEY, NOW)
        put_source(conn, field_id, "survey", SURVEY, NOW)
        count = conn.scalar(select(func.count()).select_from(soil_value))

    assert count == len(SURVEY)


def test_what_a_service_says_no_more_is_withdrawn(store: Engine, field_id: int) -> None:
    with store.begin() as conn:
        put_source(conn, field_id, "survey", SURVEY, NOW)
        put_source(conn, field_id, "survey", SURVEY[:1], NOW)
        kept = soil_values(conn, field_id)

    assert set(standing(kept)["survey"]) == {"texture"}
    assert len(kept) == len(SURVEY) + 3
    assert listed(store).field_capacity is None


def test_a_value_withdrawn_may_be_said_again(store: Engine, field_id: int) -> None:
    with store.begin() as conn:
        for found in (SURVEY, SURVEY[:1], SURVEY):
            put_source(conn, field_id, "survey", found, NOW)

    assert listed(store).field_capacity == 0.28


@pytest.mark.parametrize(
    ("given", "what"),
    [
        ({"field_capacity": 0.12}, "wilting_point: no value that fits field_capacity 0.12"),
        (
            {"field_capacity": 0.1, "wilting_point": 0.2},
            "wilting_point: 0.2 is not below the field capacity, 0.1",
        ),
    ],
)
def test_water_contents_that_do_not_fit_are_refused(
    store: Engine, field_id: int, given: dict[str, float], what: str
) -> None:
    with store.begin() as conn:
        put_source(conn, field_id, "survey", SURVEY, NOW)
    before = listed(store)
    with pytest.raises(RefusedInput) as refused, store.begin() as conn:
        change_by_hand(conn, field_id, given, (), NOW)

    assert str(refused.value).startswith(what)
    assert listed(store) == before


def test_what_was_not_entered_cannot_be_cleared(store: Engine, field_id: int) -> None:
    with store.begin() as conn:
        put_source(conn, field_id, "survey", SURVEY, NOW)
        change_by_hand(conn, field_id, {"water_table_m": 2.0}, (), NOW)
    told = "what can be cleared is water_table_m"
    with pytest.raises(RefusedInput, match=told), store.begin() as conn:
        change_by_hand(conn, field_id, {}, ("clay_pct",), NOW)


def test_the_soil_of_no_field_is_refused(store: Engine) -> None:
    with store.begin() as conn, pytest.raises(RefusedInput, match="no field 99"):
        put_source(conn, 99, "survey", SURVEY, NOW)


def test_the_time_of_an_enrolment_is_kept_where_it_is_told(
    store: Engine, a_field: FieldMaker
) -> None:
    with store.begin() as conn:
        told = add_field(conn, a_field(), NOW)
        untold = add_field(conn, a_field(name="South Forty"))
        times = [{one.recorded_at for one in soil_values(conn, f.id)} for f in (told, untold)]

    assert times == [{NOW}, {None}]


def test_a_further_season_without_soil_keeps_what_is_known(
    store: Engine, a_field: FieldMaker
) -> None:
    with store.begin() as conn:
        old = add_field(conn, a_field())
        put_source(conn, old.id, "survey", said("survey", organic_matter_pct=4.0), NOW)
        new = add_field(conn, a_field(planted=date(2027, 5, 3), soil=SoilRecord()))

    assert new.soil == replace(
        old.soil, organic_matter_pct=4.0, origin="entered by hand and soil survey"
    )


def test_a_field_refused_by_the_database_leaves_no_soil(store: Engine, a_field: FieldMaker) -> None:
    with store.begin() as conn:
        first = add_field(conn, a_field())
        with pytest.raises(RefusedInput):
            add_field(conn, a_field(soil=SoilRecord(texture="sand")))
        kept = soil_values(conn, first.id)

    assert {one.value for one in kept} == {"silty clay loam", 33.0}


def test_places_some_hundred_metres_apart_share_their_key() -> None:
    assert place_key(42.03, -93.62) == place_key(42.0304, -93.6196)
    assert place_key(42.03, -93.62) != place_key(42.035, -93.62)
