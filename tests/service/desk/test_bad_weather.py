"""Bad weather files: each is refused with its line, what is wrong and what would be right."""

from __future__ import annotations

from datetime import date

import pytest

HEADER = "date,tmax_c,tmin_c,rain_mm"
FINE = ("2021-05-04,20,10,0", "2021-05-05,22,11,2", "2021-05-06,21,12,0")
WANTED = (
    "use date, tmax_c, tmin_c, rain_mm and any of solar_mj, dewpoint_c, rhmax_pct, rhmin_pct, "
    "wind_m_s, et0_mm, irrigation_mm"
)
HOT = "highest temperature is -60 to 60 degC; is it in Fahrenheit?"
NO_RAIN = "rain_mm: is missing; write 0 if none fell"
NO_DAY = "cannot be read; write the day as 2026-05-04"
OUT_OF_ORDER = "stands where 2021-05-05 belongs; give every day once, in order"
LINES = {
    "fahrenheit": ("2021-05-05,80,11,2", f"tmax_c: is 80; {HOT}"),
    "infinite": ("2021-05-05,inf,11,2", f"tmax_c: is inf; {HOT}"),
    "negative rain": ("2021-05-05,22,11,-2", "rain_mm: is -2; rain is 0 to 610 mm a day"),
    "text": ("2021-05-05,warm,11,2", 'tmax_c: "warm" cannot be read; give a number, as 12.5'),
    "no rain": ("2021-05-05,22,11,", NO_RAIN),
    "rain -999": ("2021-05-05,22,11,-999", NO_RAIN),
    "rain nan": ("2021-05-05,22,11,nan", NO_RAIN),
    "no such day": ("2021-02-30,22,11,2", f'date: "2021-02-30" {NO_DAY}'),
    "american day": ("5/5/2021,22,11,2", f'date: "5/5/2021" {NO_DAY}'),
    "gap": ("2021-05-07,22,11,2", f"date: 2021-05-07 {OUT_OF_ORDER}"),
    "repeated": ("2021-05-04,22,11,2", f"date: 2021-05-04 {OUT_OF_ORDER}"),
}


def refused(desk, *lines: str) -> list[str]:
    """What is said of a weather file, which must be refused and leave nothing behind."""
    result = desk.trace(desk.field(), desk.text(*lines), "--out", desk.table)

    assert result.exit_code == 1
    assert result.stdout == ""
    assert not desk.table.exists()
    said = result.stderr.splitlines()
    assert all(line.startswith("rootbound: ") for line in said)
    return [line.removeprefix("rootbound: ") for line in said]


def test_the_fine_lines_are_fine(desk) -> None:
    assert desk.trace(desk.field(), desk.text(HEADER, *FINE)).exit_code == 0


@pytest.mark.parametrize("case", LINES)
def test_a_bad_line_is_refused_by_its_number(desk, case) -> None:
    bad, told = LINES[case]

    said = refused(desk, HEADER, FINE[0], bad, FINE[2])

    assert said[0] == f"line 3, {told}"
    assert said[1:] == [] or case in {"gap", "repeated"}


def test_a_day_warmer_by_night_than_by_day_is_refused(desk) -> None:
    said = refused(desk, HEADER, "2021-05-05,10,12.5,0")

    assert said == ["line 2: tmax_c 10 is below tmin_c 12.5; the highest temperature comes first"]


def test_a_missing_column_is_named(desk) -> None:
    said = refused(desk, "date,tmax_c,tmin_c", "2021-05-05,20,10")

    assert said == ["line 1, rain_mm: is missing; name this column once"]


def test_an_unknown_column_is_named_with_all_that_are_known(desk) -> None:
    said = refused(desk, f"{HEADER},snow_mm", "2021-05-05,20,10,0,0")

    assert said == [f"line 1, snow_mm: is no column of a weather table; {WANTED}"]


@pytest.mark.parametrize("column", ["rain_mm", "wind_m_s"])
def test_a_column_that_stands_twice_is_refused(desk, column) -> None:
    names = f"{HEADER},{column}" if column in HEADER else f"{HEADER},{column},{column}"

    said = refused(desk, names, "2021-05-05" + ",1" * names.count(","))

    assert said == [f"line 1, {column}: stands twice; name this column once"]


def test_a_line_with_a_cell_too_few_is_refused(desk) -> None:
    said = refused(desk, HEADER, *FINE[:2], "2021-05-06,20,10")

    assert said == ["line 4: has 3 cells, the header 4; give one cell for each column"]


def test_an_empty_file_says_what_it_should_hold(desk) -> None:
    assert refused(desk) == [f"weather.csv: is empty; {WANTED.replace('use', 'give columns', 1)}"]


def test_a_header_alone_is_no_weather(desk) -> None:
    assert refused(desk, HEADER) == ["weather.csv: has no day under its header; add days"]


@pytest.mark.parametrize(
    ("lines", "span"),
    [
        (("2021-05-06,20,10,0",), "2021-05-06 to 2021-05-06"),
        (("2021-05-03,20,10,0", "2021-05-04,20,10,0"), "2021-05-03 to 2021-05-04"),
    ],
)
def test_weather_without_the_planting_day_is_refused(desk, lines, span) -> None:
    (said,) = refused(desk, HEADER, *lines)

    wanted = "let the weather begin on planting day or up to 90 days before"
    assert said == f"weather.csv: covers {span}, the field was planted on 2021-05-05; {wanted}"


def test_a_temperature_that_is_never_there_is_refused(desk) -> None:
    (said,) = refused(desk, HEADER, "2021-05-05,20,-999,0", "2021-05-06,20,,0")

    what = "tmin_c has no value on any day: nothing can be computed from it"
    assert said == f"weather.csv: {what}; give real values, at least in the growing season"


def test_a_file_that_is_not_there_is_named(desk) -> None:
    result = desk.trace(desk.field(), desk.folder / "none.csv")

    assert result.exit_code == 1
    assert result.stderr == "rootbound: none.csv: is not there; give the name of a file\n"


def test_every_bad_line_is_told_at_once_up_to_twenty(desk) -> None:
    first = date(2021, 5, 5).toordinal()
    bad = [f"{date.fromordinal(first + i)},20,10,-1" for i in range(27)]

    said = refused(desk, HEADER, *bad)

    assert [line.split(":")[0] for line in said[:20]] == [
        f"line {number}, rain_mm" for number in range(2, 22)
    ]
    assert said[20:] == ["weather.csv: has 7 more problems; mend these first"]


def test_a_column_of_summer_in_fahrenheit_is_found_though_spring_would_pass(desk, sky) -> None:
    rows = [row | {"tmax_c": 1.8 * row["tmax_c"] + 32, "tmin_c": row["tmin_c"]} for row in sky()]

    result = desk.trace(desk.field(), desk.weather(rows))

    assert result.exit_code == 1
    assert "degC; is it in Fahrenheit?" in result.stderr.splitlines()[0]
