"""``rootbound trace``: one field at a desk, from two files to a table."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

COLUMNS = (
    "date,gdd_f,gdd_f_total,stage,et0_mm,kcb,ke,taw_mm,raw_mm,root_depth_m,reach,free_ks,held_ks,"
    "free_depletion_mm,held_depletion_mm,free_stress_days,held_stress_days"
)
FINE = ("date,tmax_c,tmin_c,rain_mm", "2021-05-05,20,10,0", "2021-05-06,21,11,3")


@pytest.fixture
def season(desk, sky):
    """The table of the usual field in the usual weather."""
    return desk.told(desk.field(), desk.weather(sky()))


def test_the_table_begins_with_the_promised_columns(season) -> None:
    assert ",".join(season).startswith(f"{COLUMNS},")
    assert len({len(column) for column in season.values()}) == 1


def test_the_table_has_every_day_of_the_weather_once(season, sky) -> None:
    assert season["date"] == [str(row["date"]) for row in sky()]


def test_the_season_runs_from_bare_soil_through_every_stage_to_maturity(season) -> None:
    told = list(dict.fromkeys(season["stage"]))

    assert told[:4] == ["fallow", "planted", "VE", "V1"]
    assert told[-7:] == ["VT", "R1", "R2", "R3", "R4", "R5", "R6"]


def test_heat_units_add_up_from_the_day_after_planting(season, as_numbers) -> None:
    daily, total = as_numbers(season["gdd_f"]), as_numbers(season["gdd_f_total"])
    planted = season["date"].index("2021-05-05")

    assert total[planted] == 0.0
    assert total[planted:] == pytest.approx(np.cumsum(daily[planted:]) - daily[planted], abs=1e-3)


def test_a_hard_wall_costs_reach_and_brings_stress_sooner(season, as_numbers) -> None:
    free, held = (as_numbers(season[f"{twin}_stress_days"]) for twin in ("free", "held"))

    assert as_numbers(season["reach"]).min() < 0.6
    assert held[-1] > free[-1] + 2.0
    assert np.argmax(held > 2.0) < np.argmax(free > 2.0)


def test_without_a_dig_both_twins_are_one(desk, sky, field_text) -> None:
    told = desk.told(desk.field(field_text), desk.weather(sky()))

    for name in ("ks", "depletion_mm", "stress_days"):
        assert told[f"free_{name}"] == told[f"held_{name}"]
    assert set(told["reach"]) == {"1.0"}


def test_the_limit_of_easy_water_lies_within_the_whole_water(season, as_numbers) -> None:
    taw, raw = as_numbers(season["taw_mm"]), as_numbers(season["raw_mm"])
    depletion, ks = as_numbers(season["free_depletion_mm"]), as_numbers(season["free_ks"])

    assert (raw < taw).all()
    assert (depletion <= taw + 1e-6).all()
    assert (np.diff(as_numbers(season["root_depth_m"])) >= 0.0).all()
    assert ((ks >= 0.0) & (ks <= 1.0)).all()


def test_a_given_et0_is_used_as_it_is(desk, sky) -> None:
    given = [round(2.0 + 0.013 * i, 3) for i in range(len(sky()))]
    rows = [row | {"et0_mm": et0} for row, et0 in zip(sky(), given, strict=True)]

    told = desk.told(desk.field(), desk.weather(rows))

    assert [float(et0) for et0 in told["et0_mm"]] == given


def test_a_day_without_the_given_et0_is_computed_and_said(desk, sky, season) -> None:
    rows = [row | {"et0_mm": 5.0} for row in sky()]
    rows[40]["et0_mm"] = ""
    weather, field = desk.weather(rows), desk.field()

    told = desk.told(field, weather)

    assert told["et0_mm"][39:42] == ["5.0", season["et0_mm"][40], "5.0"]
    notes = desk.trace(field, weather).stderr
    assert "note: et0_mm: 1 of 230 days are missing and estimated\n" in notes


def test_irrigation_lowers_depletion_from_its_day_on(desk, sky, season, as_numbers) -> None:
    rows = [row | {"irrigation_mm": 0.0} for row in sky()]
    watered = season["date"].index("2021-07-10")
    rows[watered]["irrigation_mm"] = 40.0

    told = desk.told(desk.field(), desk.weather(rows))

    for twin in ("free", "held"):
        dry = as_numbers(season[f"{twin}_depletion_mm"])
        wet = as_numbers(told[f"{twin}_depletion_mm"])
        assert (wet[:watered] == dry[:watered]).all()
        assert wet[watered] < dry[watered] - 20.0
        assert (wet[watered:] <= dry[watered:] + 1e-6).all()
    assert float(told["held_stress_days"][-1]) < float(season["held_stress_days"][-1]) - 1.0


def test_weather_that_begins_on_planting_day_is_enough(desk, sky) -> None:
    planted = date(2021, 5, 5)

    told = desk.told(desk.field(), desk.weather(sky(first=planted, days=150)))

    assert (told["date"][0], told["stage"][0]) == ("2021-05-05", "planted")
    assert told["stage"][-1] == "R6"


def test_weather_that_ends_on_planting_day_is_traced_as_well(desk) -> None:
    told = desk.told(desk.field(), desk.text(*FINE[:2]))

    assert told["stage"] == ["planted"]


def test_a_start_that_is_given_is_the_depletion_of_the_first_day(desk, field_text) -> None:
    wet, dry = (
        desk.told(desk.field(f"{field_text}[start]\ndepletion_fraction = {share}"), weather)
        for share in ("0", "0.9")
        for weather in [desk.text(*FINE)]
    )

    shares = [float(t["free_depletion_mm"][0]) / float(t["taw_mm"][0]) for t in (wet, dry)]
    assert shares[0] < 0.25
    assert shares[1] > 0.9


def test_dry_soil_numbers_stand_in_for_a_texture(desk, sky, field_text) -> None:
    numbers = field_text.replace('texture = "silt loam"', "field_capacity = 0.3\nwilting_point=0.1")

    told = desk.told(desk.field(numbers), desk.weather(sky()))

    last = {name: float(told[name][-1]) for name in ("taw_mm", "root_depth_m")}
    assert last["taw_mm"] == pytest.approx(1000.0 * 0.2 * last["root_depth_m"], rel=1e-4)


def test_the_summary_says_how_the_season_went(desk, sky, season) -> None:
    result = desk.trace(desk.field(), desk.weather(sky()))
    last = {name: float(season[name][-1]) for name in season if name not in {"date", "stage"}}

    lines = result.stdout.splitlines()
    assert lines[0] == (
        f"Gravel Bend: 2021-03-06 to 2021-10-21, {last['gdd_f_total']:.0f} heat units, R6"
    )
    assert lines[1] == (
        f"  stress-day equivalents since V8: free {last['free_stress_days']:.1f}, "
        f"held {last['held_stress_days']:.1f}"
    )
    assert lines[3] == f"  reach of the held roots at the end: {last['reach']:.2f}"


def test_missing_values_are_bridged_and_said(desk, sky) -> None:
    rows = sky()
    for i in (30, 31):
        rows[i]["tmax_c"] = -999
    result = desk.trace(desk.field(), desk.weather(rows))

    assert result.exit_code == 0
    said = "note: tmax_c: 2 of 230 days are missing and bridged in a straight line\n"
    assert said in result.stderr


def test_a_field_without_elevation_says_that_sea_level_is_taken(desk, field_text) -> None:
    low = desk.field(field_text.replace("elevation_m = 280\n", ""))

    result = desk.trace(low, desk.text(*FINE))

    assert result.stderr.startswith("note: no elevation_m: sea level is taken\n")


@pytest.mark.parametrize(
    ("crop", "mature", "since"),
    [("soybean", "R7", "V8"), ("sorghum", "black layer", "8-leaf"), ("corn", "R6", "V8")],
)
def test_other_crops_run_to_maturity(desk, sky, field_text, dig_text, crop, mature, since) -> None:
    text = field_text.replace("maize", crop).replace("black_layer_gdd_f = 2600\n", "") + dig_text
    field, weather = desk.field(text), desk.weather(sky())

    told = desk.told(field, weather)

    assert told["stage"][-1] == mature
    assert float(told["held_stress_days"][-1]) > float(told["free_stress_days"][-1])
    assert f"stress-day equivalents since {since}: " in desk.trace(field, weather).stdout


@pytest.mark.parametrize("crop", ["soybean", "sorghum"])
def test_a_crop_says_what_it_has_no_source_for(desk, field_text, crop) -> None:
    field = desk.field(field_text.replace("maize", crop))

    notes = desk.trace(field, desk.text(*FINE)).stderr.splitlines()

    assert (
        f"note: {crop}: how a furrow wall holds its roots is taken from maize; no source" in notes
    )
    assert all(note.startswith(f"note: {crop}: ") for note in notes)


def test_a_table_that_cannot_be_written_is_said_in_a_sentence(desk) -> None:
    result = desk.trace(desk.field(), desk.text(*FINE), "--out", desk.folder)

    told = f"rootbound: {desk.folder}: cannot be written: Is a directory; "
    assert result.exit_code == 1
    assert f"{told}name a place you may write to\n" in result.stderr
