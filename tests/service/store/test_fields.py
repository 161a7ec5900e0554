"""Fields are enrolled whole or not at all, and found by name or number."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import IntegrityError

from rootbound_service.errors import RefusedInput
from rootbound_service.records import FieldRecord, Person, SoilRecord
from rootbound_service.store.fields import add_field, find_field, list_fields, set_elevation
from rootbound_service.store.people import list_people

FieldMaker = Callable[..., FieldRecord]
DORA = Person("Dora Finch", "dora@finch.example", "grower")


def _without_ids(record: FieldRecord) -> FieldRecord:
    grower, adviser = replace(record.grower, id=0), record.adviser
    adviser = adviser and replace(adviser, id=0)
    return replace(record, id=0, season_id=0, account_id=0, grower=grower, adviser=adviser)


def test_a_field_comes_back_as_enrolled(store: Engine, a_field: FieldMaker) -> None:
    with store.begin() as conn:
        stored = add_field(conn, a_field())
    with store.execution_options(ro=True).connect() as conn:
        listed = list_fields(conn)

    assert min(stored.id, stored.season_id, stored.grower.id) > 0
    assert _without_ids(stored) == a_field()
    assert listed == [stored]


def test_two_fields_share_their_people(store: Engine, a_field: FieldMaker) -> None:
    with store.begin() as conn:
        one = add_field(conn, a_field())
        two = add_field(conn, a_field(name="South Forty"))
        people, listed = list_people(conn), list_fields(conn)

    assert one.grower == two.grower
    assert len(people) == 2
    assert listed == [one, two]


def test_a_name_the_grower_uses_already_is_refused_and_changes_nothing(
    store: Engine, a_field: FieldMaker
) -> None:
    again = a_field(name="north  FORTY", lat=44.0, adviser=DORA, planted=date(2026, 5, 9))
    with store.begin() as conn:
        first = add_field(conn, a_field())
        with pytest.raises(RefusedInput) as refused:
            add_field(conn, again)
        listed, people = list_fields(conn), list_people(conn)

    assert "Ada Quill has a field of this name, planted 2026-04-28" in str(refused.value)
    assert "another name, or a planting date in another year" in str(refused.value)
    assert listed == [first]
    assert DORA.name not in {one.name for one in people}


def test_another_grower_may_use_the_same_name(store: Engine, a_field: FieldMaker) -> None:
    with store.begin() as conn:
        add_field(conn, a_field())
        add_field(conn, a_field(grower=DORA))

        assert [one.grower.name for one in list_fields(conn)] == ["Ada Quill", "Dora Finch"]


def test_a_field_that_the_database_refuses_leaves_nothing_and_stops_no_other(
    store: Engine, a_field: FieldMaker
) -> None:
    with store.begin() as conn:
        with pytest.raises(IntegrityError):
            add_field(conn, a_field(name="Off the map", lat=123.0, grower=DORA))
        good = add_field(conn, a_field())

        assert list_fields(conn) == [good]
        assert DORA.name not in {one.name for one in list_people(conn)}


@pytest.fixture
def two_years(store: Engine, a_field: FieldMaker) -> tuple[FieldRecord, FieldRecord]:
    """One field in two seasons, the soil mapped anew in the second."""
    mapped = SoilRecord(texture="loam", water_table_m=1.2, origin="survey")
    with store.begin() as conn:
        old = add_field(conn, a_field())
        new = add_field(conn, a_field(planted=date(2027, 5, 3), crop="soybean", soil=mapped))
    return old, new


def test_a_new_year_is_a_new_season_of_the_same_field(
    two_years: tuple[FieldRecord, FieldRecord],
) -> None:
    old, new = two_years

    assert new.id == old.id
    assert new.season_id != old.season_id
    assert (new.crop, new.soil.texture, new.soil.clay_pct) == ("soybean", "loam", None)


@pytest.mark.parametrize(
    ("on", "season"),
    [
        # before the first planting: the one to come
        (date(2026, 4, 1), 0),
        (date(2026, 4, 28), 0),
        # the winter after, with the next one enrolled already
        (date(2027, 5, 2), 0),
        (date(2027, 5, 3), 1),
        (None, 1),
    ],
)
def test_the_season_listed_is_the_one_of_the_day(
    store: Engine, two_years: tuple[FieldRecord, FieldRecord], on: date | None, season: int
) -> None:
    with store.connect() as conn:
        (listed,) = list_fields(conn, on)

    assert listed.season_id == two_years[season].season_id


def test_an_elevation_found_later_is_kept(store: Engine, a_field: FieldMaker) -> None:
    with store.begin() as conn:
        field = add_field(conn, a_field())
        set_elevation(conn, field.id, 287.5)

        assert list_fields(conn) == [replace(field, elevation_m=287.5)]


def test_an_elevation_of_no_field_is_refused(store: Engine) -> None:
    with store.begin() as conn, pytest.raises(RefusedInput, match="no field 99"):
        set_elevation(conn, 99, 287.5)


@pytest.fixture
def county(store: Engine, a_field: FieldMaker) -> dict[str, FieldRecord]:
    """Three fields by name; the second is named by the first one's number."""
    with store.begin() as conn:
        first = add_field(conn, a_field())
        number = add_field(conn, a_field(name=str(first.id)))
        return {
            "first": first,
            "number": number,
            "creek": add_field(conn, a_field(name="Creek bottom")),
            "other creek": add_field(conn, a_field(name="creek bottom", grower=DORA)),
        }


def _find(conn: Connection, asked: str) -> int:
    return find_field(conn, asked).id


def test_a_field_is_found_by_name_in_any_case_and_by_number(
    store: Engine, county: dict[str, FieldRecord]
) -> None:
    with store.connect() as conn:
        assert _find(conn, " north forty ") == county["first"].id
        assert _find(conn, str(county["creek"].id)) == county["creek"].id
        assert _find(conn, f"#{county['first'].id}") == county["first"].id
        assert find_field(conn, "North Forty") == county["first"]


@pytest.mark.parametrize("asked", ["creek bottom", "number"])
def test_a_name_that_fits_several_fields_is_refused_with_their_numbers(
    store: Engine, county: dict[str, FieldRecord], asked: str
) -> None:
    fits = ["creek", "other creek"] if asked == "creek bottom" else ["first", "number"]
    asked = county["number"].name if asked == "number" else asked
    with store.connect() as conn, pytest.raises(RefusedInput, match="fits 2 fields") as refused:
        find_field(conn, asked)

    for one in fits:
        assert f"#{county[one].id} (" in str(refused.value)


@pytest.mark.usefixtures("county")
@pytest.mark.parametrize("asked", ["Nroth Forty", "99999999999999999999", ""])
def test_an_unknown_name_is_refused(store: Engine, asked: str) -> None:
    with store.connect() as conn, pytest.raises(RefusedInput, match="no field is called") as no:
        find_field(conn, asked)

    assert ("did you mean North Forty?" in str(no.value)) is (asked == "Nroth Forty")


def test_a_search_before_the_first_enrolment_says_so(store: Engine) -> None:
    with store.connect() as conn, pytest.raises(RefusedInput, match="enrol a field first"):
        find_field(conn, "North Forty")
