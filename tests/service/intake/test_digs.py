"""One dig card: days within the season, counts in pairs, a pan with its depth."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.intake.digs import dig_record
from rootbound_service.records import DigRecord

PLANTED = date(2026, 5, 4)
WALL = "wall class is 0 to 3 (0 crumbles, 1 firm, 2 smeared, 3 hard and shiny)"

WRONG = {
    "before planting": (
        {"date": "2026-05-03"},
        "date: 2026-05-03 is before planting (2026-05-04); dig after planting",
    ),
    "in the future": (
        {"date": "2026-07-15"},
        "date: 2026-07-15 is in the future (today is 2026-07-14); give the day of the dig",
    ),
    "no such class": (
        {"wall_class": "4"},
        f"wall_class: 4 is above what it can be; {WALL}",
    ),
    "half a class": ({"wall_class": "1.5"}, f"wall_class: 1.5 is not a whole number; {WALL}"),
    "no class": ({"wall_class": ""}, f"wall_class: is missing; {WALL}"),
    "negative plants": (
        {"plants": "-2"},
        "plants: -2 is negative; number of plants dug is 0 to 200, never negative",
    ),
    "half the counts": (
        {"plants": "6", "crossing": "9"},
        (
            "held: is missing beside crossing; "
            "count both the roots that cross and those held, or neither"
        ),
    ),
    "counts without plants": (
        {"crossing": "9", "held": "21"},
        (
            "plants: roots are counted but no plants; "
            "say how many plants the roots were counted on, 1 or more"
        ),
    ),
    "a pan without depth": (
        {"pan_class": "2"},
        "pan_depth_cm: is missing for the pan; say how deep the top of the pan lies, 2 to 80 cm",
    ),
    "a depth without pan": (
        {"pan_depth_cm": "20"},
        (
            "pan_class: says no pan but a pan depth is given; "
            "give the class of the pan, 1 to 3, or leave its depth out"
        ),
    ),
    "unknown moisture": (
        {"soil_moisture": "moust"},
        (
            'soil_moisture: "moust" is not a known soil moisture; '
            "did you mean moist? known: dry, moist, wet"
        ),
    ),
}


@pytest.mark.parametrize(("change", "told"), WRONG.values(), ids=WRONG.keys())
def test_a_wrong_card_is_refused_with_what_would_be_right(
    dig_values, today, said, change, told
) -> None:
    values = dig_values | change

    assert said(lambda: dig_record(values, planted=PLANTED, today=today)) == [told]


def test_a_dig_counts_up_to_200_days_after_planting(dig_values, said) -> None:
    at_the_end = dig_values | {"date": "2026-11-20"}
    too_late = dig_values | {"date": "2026-11-21"}

    assert dig_record(at_the_end, planted=PLANTED).dug_on == date(2026, 11, 20)
    assert said(lambda: dig_record(too_late, planted=PLANTED)) == [
        (
            "date: 2026-11-21 is 201 days after planting (2026-05-04); "
            "a dig counts up to 200 days after planting"
        )
    ]


def test_a_whole_card_becomes_a_record(dig_values, today) -> None:
    more = {
        "plants": 6,
        "crossing": "9",
        "held": 21.0,
        "pan_class": "2",
        "pan_depth_cm": "22.5",
        "seed_depth_cm": "4.5",
        "soil_moisture": "Moist",
        "note": "smeared\r\non one side",
        "form_id": "abc",
    }

    card = dig_record(dig_values | more, planted=PLANTED, today=today)

    assert card == DigRecord(
        dug_on=date(2026, 6, 10),
        wall_class=2,
        plants=6,
        crossing=9,
        held=21,
        pan_class=2,
        pan_depth_cm=22.5,
        seed_depth_cm=4.5,
        soil_moisture="moist",
        note="smeared\non one side",
        form_id="abc",
    )
