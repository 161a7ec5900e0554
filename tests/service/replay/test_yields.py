"""A table of yields is read whole or refused with every problem at its line."""

from __future__ import annotations

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.yields import read_yields


@pytest.fixture
def table(tmp_path):
    def write(*lines):
        path = tmp_path / "yields.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


def refused(path):
    with pytest.raises(RefusedInput) as caught:
        read_yields(path)
    return [str(problem) for problem in caught.value.problems]


def test_yields_come_in_the_order_of_the_years_and_in_their_own_unit(table):
    found = read_yields(table("year,yield_bu_ac", "1988,86.8", "1987,142.9"))
    assert found.unit == "bu/ac"
    assert list(found.by_year.items()) == [(1987, 142.9), (1988, 86.8)]
    assert read_yields(table("YEAR;Yield_t_ha", "2001;9.5")).unit == "t/ha"


def test_a_year_with_an_empty_yield_is_left_out(table):
    found = read_yields(table("year,yield_t_ha", "2000,9", "2001,", "2002,8"))
    assert list(found.by_year) == [2000, 2002]


def test_a_year_left_out_unsaid_is_told_at_the_line_after_it(table):
    (problem,) = refused(table("year,yield_t_ha", "2000,9", "2003,8"))
    assert problem.startswith("yields.csv, line 3, year: ")
    assert "2001 to 2002 are left out" in problem
    assert "empty yield" in problem


def test_every_bad_line_is_told_with_its_column_and_what_would_be_right(table):
    lines = ("2000,nine", "2001,-3", "200,8", "2002,inf", "2001,9", "2003,9,9", "2004,99999")
    first, *rest = refused(table("year,yield_bu_ac", *lines))
    assert first == (
        'yields.csv, line 2, yield_bu_ac: "nine" is not a number; '
        "give a number, or leave the cell empty where the yield is not known"
    )
    assert rest[0].startswith("yields.csv, line 3, yield_bu_ac: is -3; give a yield between 0")
    assert rest[1] == 'yields.csv, line 4, year: "200" is not a year; write the year as 2012'
    assert rest[2].startswith('yields.csv, line 5, yield_bu_ac: "inf" is not a number')
    assert rest[3].startswith("yields.csv, line 6, year: 2001 stands already in line 3")
    assert rest[4].startswith("yields.csv, line 7: the row is broken")
    assert rest[5].startswith("yields.csv, line 8, yield_bu_ac: is 99999")
    assert len(rest) == 6


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("year,yield", "2000,9"), "line 1, yield: is not a known name"),
        (("yield_t_ha", "9"), "the column year is missing"),
        (("year", "2000"), "yields.csv: has no column of yields"),
        (("year,yield_t_ha,yield_bu_ac", "2000,9,150"), "yields.csv: has yields in two units"),
        (("year,yield_t_ha", "2000,"), "yields.csv: has no yield"),
        (("year,yield_t_ha",), "yields.csv: has no row"),
        (("year,yield_t_ha", '2000,"9'), "line 2: the row is broken"),
        (("",), "yields.csv: is empty"),
    ],
)
def test_a_table_that_is_none_is_refused(table, lines, said):
    assert any(said in problem for problem in refused(table(*lines)))
    assert all(problem.startswith("yields.csv") for problem in refused(table(*lines)))


def test_a_broken_first_line_does_not_hide_the_unit_of_the_others(table):
    problems = refused(table("year,yield_t_ha", "2000,9,9", "2001,99"))
    assert problems[0].startswith("yields.csv, line 2: the row is broken")
    assert problems[1].startswith("yields.csv, line 3, yield_t_ha: is 99")


def test_a_long_list_of_problems_is_cut_and_counted(table):
    problems = refused(table("year,yield_t_ha", *(f"{2000 + i},x" for i in range(30))))
    assert len(problems) == 21
    assert problems[-1].startswith("yields.csv: has 10 more problems")
