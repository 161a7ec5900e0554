"""What breaks first, what then serves, and what a night tells."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from rootbound_service.desk.capacity.asked import Asked, Habits, Machines, Manners
from rootbound_service.desk.capacity.limits import SHARE, USUAL, resources
from rootbound_service.desk.capacity.measured import Measured, shipped
from rootbound_service.desk.capacity.night import sized, told
from rootbound_service.desk.capacity.steps import MENDS, round_up, steps
from rootbound_service.errors import RefusedInput

MEASURED = shipped()
POLITE = Manners(1.0)


def asked(fields: int, cells: int | None = None, **machines: float) -> Asked:
    return Asked(fields, POLITE, cells, replace(Machines(), **machines))


def slower(name: str, times: float) -> Measured:
    one = MEASURED.figures[name]
    return Measured(MEASURED.figures | {name: replace(one, value=one.value * times)})


@pytest.mark.parametrize("fields", [10**n for n in range(4, 9)])
def test_after_the_steps_everything_has_room_or_the_last_word_says_what_has_not(fields):
    found, last = steps(asked(fields), MEASURED)
    helpless = {step.name for step in found if step.mend.asked is None}

    assert {one.name for one in resources(last) if one.used > SHARE} == helpless
    assert all(step.used > SHARE for step in found)


def test_a_small_service_needs_nothing():
    found, _ = steps(asked(10_000), MEASURED)

    assert found == []


def test_a_request_a_place_is_what_a_million_fields_break_on():
    found, last = steps(asked(1_000_000, 50_000), MEASURED)

    assert found[0].name == USUAL
    assert not found[0].mend.built
    assert last.asked.manners.forecasts == "files"
    # 50,000 places at one a second alone are 13.9 of the 2 hours there are
    assert found[0].used > 50_000 / 7_200


@pytest.mark.parametrize(
    ("figure", "times", "name"),
    [
        ("kernel_cpu_us", 10_000, "computing"),
        ("row_write_us", 3_000, "rows into the database"),
        ("letter_cpu_ms", 10_000, "letters written"),
        ("risk_row_bytes", 3_000, "disk"),
        ("worker_mb", 3_000, "memory of workers"),
        ("web_cpu_ms", 30_000, "pages"),
    ],
)
def test_what_gets_slower_breaks_first(figure, times, name):
    found, last = steps(asked(100_000), slower(figure, times))

    assert found[0].name == name
    assert next(one for one in resources(last) if one.name == name).used <= SHARE


@pytest.mark.parametrize(
    ("changes", "name"),
    [({"mail_per_s": 0.01}, "letters sent"), ({"texts_per_s": 0.001}, "texts sent")],
)
def test_a_provider_that_takes_little_breaks_first(changes, name):
    assert steps(asked(10_000, **changes), MEASURED)[0][0].name == name


def test_every_resource_has_something_that_serves_it():
    assert {one.name for one in resources(sized(asked(10_000), MEASURED))} == set(MENDS)


def test_twice_the_hosts_halve_the_computing():
    one, two = (
        next(r for r in resources(sized(asked(10**6, hosts=hosts), MEASURED))
             if r.name == "computing")
        for hosts in (1, 2)
    )  # fmt: skip

    assert two.load == pytest.approx(one.load / 2)


def test_letters_go_to_people_not_to_fields():
    """With n fields that rise by chance p, a person hears with chance 1 - (1 - p)^n."""
    one = asked(40_000)
    habits = one.habits
    rising = 0.01
    growers = 40_000 / 20 * (1 - 0.99**20)
    advisers = 40_000 / 400 * (1 - 0.99**400)

    heard = told(one, rising)
    assert heard.notes == pytest.approx(400)
    assert heard.letters == pytest.approx(growers + advisers)
    assert heard.texts == pytest.approx(growers * habits.texting)


def test_a_night_of_a_bad_spell_is_the_tenth_of_all_fields_in_three_nights():
    one = sized(asked(300_000), MEASURED)

    assert one.drought.notes == pytest.approx(10_000)
    assert one.usual.notes == pytest.approx(300_000 * 0.7 / Habits().nights)


def test_a_limit_is_rounded_up_to_two_digits():
    assert [round_up(value) for value in (1.03, 12.0, 131.0, 0.0451)] == pytest.approx(
        [1.1, 12.0, 140.0, 0.046]
    )
    assert math.isclose(round_up(100.0), 100.0)


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({"fields": 0}, "fields"),
        ({"fields": 10**10}, "fields"),
        ({"fields": 10, "cells": 11}, "cells"),
        ({"fields": 10, "machines": Machines(hosts=0)}, "hosts"),
        ({"fields": 10, "machines": Machines(mail_per_s=0.0)}, "mail_per_s"),
        ({"fields": 10, "machines": Machines(disk_gb=math.nan)}, "disk_gb"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given, where):
    with pytest.raises(RefusedInput) as told:
        Asked(manners=POLITE, **given)

    assert [one.where for one in told.value.problems] == [where]
