"""FAO-56 Examples 2-18, 20, 28-36: our functions give the printed numbers."""

from __future__ import annotations

import pytest

from outside.cases import NOTHING, Case, answered, cases, unaccounted
from outside.fao56_answers import ANSWERS, NOT_ANSWERED, emitted
from rootbound_rules.water.radiation import STEFAN_BOLTZMANN

BOOK = cases("fao56.csv")


@pytest.mark.parametrize("case", answered(BOOK, NOT_ANSWERED))
def test_our_function_gives_the_printed_number(case: Case):
    case.check(ANSWERS[case.quantity](case.inputs))


def test_every_value_carried_is_answered_or_says_why_not():
    assert unaccounted(BOOK, ANSWERS, NOT_ANSWERED) == NOTHING


@pytest.mark.parametrize("example", [*range(2, 19), 20, *range(28, 31), *range(32, 37)])
def test_every_example_of_the_book_that_we_can_answer_is_carried(example):
    prefix = f"fao56.ex{example}."

    assert [c.id for c in BOOK if c.id.startswith(prefix) and c.quantity in ANSWERS]


def test_kelvin_in_equation_39_is_273_16_and_its_constant_is_the_books():
    assert emitted(25.1) == pytest.approx(STEFAN_BOLTZMANN * (25.1 + 273.16) ** 4, rel=1e-12)
