"""The USDA soil survey's answers, held to recorded shapes: what is read and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import responses

from rootbound_service.public.http import Unavailable
from rootbound_service.soil.survey import Survey

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
URL = "http://127.0.0.1/tabular/post.rest"
HEAD = "ColumnOrdinal=0,ColumnSize=4,NumericPrecision=10,DataTypeName="


def table(names, kinds, *rows):
    """An answer with one table."""
    return {"Table": [list(names), [HEAD + kind for kind in kinds], *map(list, rows)]}


NO_TABLE = table(["mukey", "wtdepaprjunmin"], ["int", "smallint"])
NO_STOP = table(["cokey", "reskind", "resdept_r"], ["int", "varchar", "smallint"])


@pytest.fixture
def ask(caller):
    """Ask for a place: horizons, then water table, then layers that stop roots."""

    def go(horizons, water_table=NO_TABLE, restrictions=NO_STOP):
        with responses.RequestsMock(assert_all_requests_are_fired=False) as mock:
            for answer in (horizons, water_table, restrictions):
                text, status = answer if isinstance(answer, tuple) else (json.dumps(answer), 200)
                mock.post(URL, body=text, status=status)
            profile = Survey(caller, "http://127.0.0.1/").fetch(42.03, -93.62)
            go.asked = [json.loads(call.request.body) for call in mock.calls]
        return profile

    return go


@pytest.fixture
def refused(ask):
    """Ask likewise, and give the error."""

    def go(*answers):
        with pytest.raises(Unavailable) as caught:
            ask(*answers)
        assert str(caught.value).startswith("USDA soil survey, lat 42.0300, lon -93.6200: ")
        return caught.value

    return go


def component(horizons, cokey="24610001", **changes):
    """Change every row of a component."""
    names = horizons["Table"][0]
    for row in horizons["Table"][2:]:
        if row[names.index("cokey")] == cokey:
            for name, value in changes.items():
                row[names.index(name)] = value
    return horizons


def test_a_recorded_answer_becomes_the_profile_of_the_largest_component(ask, recorded):
    profile = ask(recorded("sda_horizons"))

    assert profile.source == "survey"
    assert profile.name == "Clarion in Clarion loam, 2 to 6 percent slopes"
    assert (profile.share_pct, profile.drainage) == (80.0, "Moderately well drained")
    assert [(one.top_cm, one.bottom_cm, one.texture) for one in profile.layers] == [
        (0, 20, "Loam"),
        (20, 84, "Clay loam"),
        (84, 203, "Loam"),
    ]
    top, _, bottom = profile.layers
    assert (top.sand_pct, top.silt_pct, top.clay_pct) == (37, 39, 24)
    assert (top.organic_matter_pct, top.bulk_density, top.available_water) == (3.5, 1.42, 0.21)
    assert (top.field_capacity, top.wilting_point) == (0.271, 0.149)
    assert bottom.organic_matter_pct is None
    assert (profile.water_table_cm, profile.restriction_cm, profile.remarks) == (None, None, ())


def test_the_request_is_the_documented_one_and_the_keys_come_from_the_answer(ask, recorded):
    ask(recorded("sda_horizons"))

    first, second, third = ask.asked
    assert first == {
        name: text.replace("-93.62 42.03", "-93.620000 42.030000")
        for name, text in recorded("sda_request_body").items()
    }
    assert second["query"].endswith("FROM muaggatt WHERE mukey = 411308")
    assert third["query"].endswith("FROM corestrictions WHERE cokey = 24610001")


def test_the_answers_are_kept_as_they_came(ask, recorded):
    raw = json.loads(ask(recorded("sda_horizons")).raw)

    assert raw["horizons"] == recorded("sda_horizons")
    assert set(raw) == {"horizons", "water_table", "restrictions"}


def test_water_table_and_the_first_layer_that_stops_roots_are_read(ask, recorded):
    names, kinds = ["cokey", "reskind", "resdept_r"], ["int", "varchar", "smallint"]
    stops = table(
        names,
        kinds,
        ["24610001", "Abrupt textural change", "30"],
        ["24610001", "Lithic bedrock", "120"],
        ["24610001", "Fragipan", "75"],
        ["24610001", "Densic material", None],
    )
    wet = table(["mukey", "wtdepaprjunmin"], ["int", "smallint"], ["411308", "61"])

    profile = ask(recorded("sda_horizons"), wet, stops)

    assert (profile.water_table_cm, profile.restriction_cm) == (61.0, 75.0)


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (((SHAPES / "sda_error_400.xml").read_text(), 400), "near the keyword 'from'"),
        (((SHAPES / "sda_maintenance.txt").read_text(), 200), "daily maintenance"),
        (("", 200), "cut short"),
        ({"Table": [["other"]]}, "is missing from the answer"),
    ],
)
def test_a_further_question_that_fails_does_not_lose_the_layers(ask, recorded, broken, said):
    profile = ask(recorded("sda_horizons"), broken, broken)

    assert len(profile.layers) == 3
    table_note, stop_note = profile.remarks
    assert table_note.startswith("its water table could not be had: ")
    assert said in table_note
    assert stop_note.startswith("layers that stop roots could not be had: ")


def test_nothing_mapped_is_an_empty_object(refused, recorded):
    error = refused(recorded("sda_empty"))

    assert error.what == "no soil is mapped at this place"
    assert not error.retry_later


def test_a_refused_query_gives_the_services_own_words(refused):
    error = refused(((SHAPES / "sda_error_400.xml").read_text(), 400))

    assert error.what == (
        "refused the request (HTTP 400): Invalid query: Incorrect syntax near the keyword 'from'."
    )
    assert not error.retry_later


def test_maintenance_is_worth_another_try(refused):
    error = refused(((SHAPES / "sda_maintenance.txt").read_text(), 200))

    assert error.what == "is under its daily maintenance"
    assert error.retry_later


@pytest.mark.parametrize(
    ("answer", "later"),
    [
        (("<html>gateway</html>", 502), True),
        (("<html>gateway</html>", 200), True),
        (('{"Table": [["mukey"', 200), True),
        (("no such page", 404), False),
        (("[]", 200), False),
    ],
)
def test_what_is_no_answer_is_refused(refused, answer, later):
    assert refused(answer).retry_later is later


def test_a_horizon_with_several_textures_is_one_layer_of_the_first(ask, recorded):
    horizons = recorded("sda_horizons")
    again = [*horizons["Table"][2][:-1], "Sandy loam"]
    horizons["Table"].insert(3, again)

    layers = ask(horizons).layers

    assert [one.texture for one in layers] == ["Loam", "Clay loam", "Loam"]


def test_the_largest_share_counts_whatever_the_order(ask, recorded):
    horizons = recorded("sda_horizons")
    horizons["Table"][2:] = horizons["Table"][:1:-1]

    assert ask(horizons).name.startswith("Clarion in ")


def test_a_minor_component_never_stands_in(refused, recorded):
    gone = dict.fromkeys(("chkey", "hzdept_r", "hzdepb_r"))

    error = refused(component(recorded("sda_horizons"), compname="Water", **gone))

    assert error.what == "maps Water here, without soil layers"
    assert not error.retry_later


def test_beside_town_the_next_major_component_is_taken_and_that_is_said(ask, recorded):
    horizons = component(recorded("sda_horizons"), "24610002", majcompflag="Yes")
    gone = dict.fromkeys(("chkey", "hzdept_r", "hzdepb_r"))

    profile = ask(component(horizons, compname="Urban land", **gone))

    assert profile.name.startswith("Nicollet in ")
    assert profile.remarks == ("Urban land covers 80 % of the map unit and has no layers",)


@pytest.mark.parametrize("rock", ["R", "Cr", "2Cr1"])
def test_rock_is_where_roots_stop_and_no_layer(ask, recorded, rock):
    horizons = recorded("sda_horizons")
    row = horizons["Table"][4]
    row[horizons["Table"][0].index("hzname")] = rock

    profile = ask(horizons)

    assert len(profile.layers) == 2
    assert profile.restriction_cm == 84.0


@pytest.mark.parametrize(
    ("column", "value", "what"),
    [
        ("sandtotal_r", "thirty", "sandtotal_r is thirty, which is no number"),
        ("sandtotal_r", "1e999", "sandtotal_r is inf, no soil has that"),
        ("sandtotal_r", "NaN", "which is no number"),
        ("claytotal_r", "124", "claytotal_r is 124, no soil has that (0 to 100)"),
        ("wthirdbar_r", "-1", "wthirdbar_r is -1, no soil has that"),
        ("sandtotal_r", ["37"], "which is no number"),
        ("sandtotal_r", True, "sandtotal_r is True, which is no number"),
        ("compname", {"a": 1}, "which is no text"),
        ("hzdept_r", "40", "the horizon Ap runs from 40.0 to 20.0 cm"),
        ("hzdept_r", None, "the horizon Ap runs from None to 20.0 cm"),
        ("hzdepb_r", "30", "two horizons lie at 20 cm"),
    ],
)
def test_a_value_that_no_soil_has_is_refused_by_name(refused, recorded, column, value, what):
    horizons = recorded("sda_horizons")
    horizons["Table"][2][horizons["Table"][0].index(column)] = value

    error = refused(horizons)

    assert what in error.what
    assert not error.retry_later


def test_a_number_that_comes_as_text_by_type_is_refused(refused, recorded):
    horizons = recorded("sda_horizons")
    at = horizons["Table"][0].index("om_r")
    horizons["Table"][1][at] = HEAD + "varchar"

    assert refused(horizons).what == "om_r is of the type varchar, a number was expected"


def test_without_the_row_of_types_the_values_are_the_same(ask, recorded):
    horizons = recorded("sda_horizons")
    del horizons["Table"][1]

    assert ask(horizons).layers == ask(recorded("sda_horizons")).layers


def test_the_survey_covers_its_own_country_only(caller):
    covers = Survey(caller).covers

    assert covers(42.03, -93.62)
    assert covers(20.8, -156.4)
    assert not covers(52.5, 13.4)
    assert not covers(-30.0, -62.0)
