"""How belief moved, in the reader's words and units."""

from __future__ import annotations

import copy
from typing import Any

from rootbound_service.notes.en.believed import belief_lines

TOLD: dict[str, Any] = {
    "effective": 210.4,
    "draws": 512,
    "thin": False,
    "used": [{"day": "2026-07-10", "rolled": True, "expected": 0.62, "counts": 1.0}],
    "ignored": [],
    "moved": [
        {
            "name": "water",
            "words": "w",
            "unit": "mm",
            "before": [0, 12.7, 25.4],
            "after": [0, 2.54, 5.08],
        },
        {
            "name": "stress",
            "words": "s",
            "unit": "d",
            "before": [0.1, 0.6, 1.4],
            "after": [0.5, 0.9, 1.5],
        },
    ],
}


def told(**changes: Any) -> dict[str, Any]:
    return copy.deepcopy(TOLD) | changes


def test_a_report_is_told_with_what_it_changed_in_the_readers_units() -> None:
    first, water, stress = belief_lines(TOLD, "us")

    assert first == "1 report of leaves weighed in: July 10 rolled (rolled expected at 62 %)."
    assert water == (
        "Water in reach was 0.5 in (0.0 to 1.0) by weather and dig alone, is 0.1 in (0.0 to 0.2) "
        "with them."
    )
    assert stress == (
        "Stress of the past 7 days in stress-day equivalents was 0.6 (0.1 to 1.4) by weather and "
        "dig alone, is 0.9 (0.5 to 1.5) with them."
    )
    assert "13 mm (0 to 25)" in belief_lines(TOLD, "metric")[1]
    assert "10 July" in belief_lines(TOLD, "metric")[0]


def test_a_field_nobody_reported_on_has_no_line() -> None:
    assert belief_lines(None, "us") == []
    assert belief_lines({}, "us") == []


def test_what_did_not_move_is_not_said_to_have_moved() -> None:
    still = told()
    still["moved"][0]["after"] = still["moved"][0]["before"]

    assert (
        belief_lines(still, "us")[1]
        == "Water in reach is 0.5 in (0.0 to 1.0) with or without them."
    )


def test_of_many_reports_the_last_three_are_told() -> None:
    many = [
        {"day": f"2026-07-{day:02d}", "rolled": day % 2 == 0, "expected": 0.5, "counts": 0.6}
        for day in range(1, 6)
    ]
    first = belief_lines(told(used=many), "us")[0]

    assert first.startswith("5 reports of leaves weighed in, the last 3: July 3 not rolled")
    assert "July 2" not in first


def test_a_report_hardly_expected_asks_to_look_again_with_care() -> None:
    odd = [
        {"day": "2026-07-10", "rolled": True, "expected": 0.14, "counts": 1.0},
        {"day": "2026-07-20", "rolled": False, "expected": 0.88, "counts": 1.0},
        {"day": "2026-07-24", "rolled": False, "expected": 0.3, "counts": 1.0},
    ]
    line = belief_lines(told(used=odd), "us")[1]

    assert line.startswith("Hardly expected: July 10 rolled, July 20 not rolled. Look again")
    assert "heat and re-entry times" in line


def test_weights_that_wore_thin_are_told() -> None:
    lines = belief_lines(told(thin=True, effective=12.3), "us")

    assert lines[-1].startswith("Hardly any of the 512 draws fit these reports (they weigh as 12)")


def test_a_report_that_is_not_used_is_told_with_its_reason() -> None:
    early = [{"day": "2026-05-20", "rolled": True, "why": "before V8 a dip is not counted"}]

    assert belief_lines(told(used=[], moved=[], ignored=early), "us") == [
        "The report of May 20 rolled is kept but not used: before V8 a dip is not counted."
    ]
