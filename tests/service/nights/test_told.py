"""What the sources did tonight, in sentences: who failed, who stood in, what was revised."""

from __future__ import annotations

from collections import Counter
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from rootbound_service.nights.told import LARGEST, troubles_by_place, weather_told
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_layout import index_of
from rootbound_service.weather.places import Place
from rootbound_service.weather.pull import Pulled
from rootbound_service.weather.revisions import ROW, Revisions
from service.nights.public_rig import a_public_rig
from service.nights.rig import a_field
from service.weather.feed_rig import COARSE, FINE

NIGHT = date(2026, 7, 6)
OWN, NEAR = FINE.cell(177, 747), FINE.cell(177, 748)
OTHER = COARSE.snap(*OWN.centre)
HERE, THERE = Place(OWN, (OTHER,)), Place(NEAR, (OTHER,))


def pulled(source="fine", failed=None, revisions=(), flags=None, cells=2):
    one = Pulled(source, source.title(), cells=cells, failed=failed or {})
    one.revisions.extend(revisions)
    one.flags = Counter(flags or {})
    return one


def revised(*changes, key=OWN.key):
    """Revisions from (quantity, day, old, new)."""
    rows = np.zeros(len(changes), ROW)
    for row, (name, day, old, new) in zip(rows, changes, strict=True):
        row["quantity"], row["day"] = QUANTITY_NAMES.index(name), index_of(day)
        row["old_value"], row["new_value"] = old, new
    return Revisions((key,), rows)


def leaning(key, words):
    """A cell of the night that rests on more than its own source."""
    return SimpleNamespace(key=key, leans=True, days=SimpleNamespace(words=words))


def steady(key):
    return SimpleNamespace(key=key, leans=False, days=SimpleNamespace(words="Fine"))


def test_an_ordinary_night_tells_nothing():
    usual = [pulled(), pulled("coarse", flags={"stuck": 3, "cross": 1})]

    assert weather_told(usual, [steady("a"), steady("b")], NIGHT) == ()


def test_a_place_is_in_trouble_only_if_no_source_answered():
    own = pulled(failed={OWN.key: "Fine: is down.", NEAR.key: "Fine: is down."})
    other = pulled("coarse", failed={OTHER.key: "Coarse: is down."})

    assert troubles_by_place([HERE, THERE], [own]) == {}
    assert troubles_by_place([HERE, THERE], [other]) == {}
    assert troubles_by_place([HERE, THERE], [other, own]) == {
        OWN.key: "Fine: is down.",
        NEAR.key: "Fine: is down.",
    }
    half = pulled(failed={OWN.key: "Fine: is down."})
    assert set(troubles_by_place([HERE, THERE], [half, other])) == {OWN.key}


def test_the_past_years_of_a_cell_that_fail_are_no_answer_for_it_either():
    night, history = pulled(), pulled(failed={OWN.key: "Fine: is down."})

    assert troubles_by_place([Place(OWN)], [night, history]) == {OWN.key: "Fine: is down."}


def test_a_failure_that_another_source_covers_is_told_with_its_reason():
    failed = {OWN.key: "Fine, cell fine:177-747: is not well (HTTP 500)."}
    cells = [leaning(OWN.key, "Fine; 2 days from Coarse"), steady(NEAR.key)]

    assert weather_told([pulled(failed=failed), pulled("coarse")], cells, NIGHT) == (
        "Fine: no answer for 1 of 2 cells (Fine, cell fine:177-747: is not well (HTTP 500))",
        (
            "In the two weeks before 2026-07-06, 1 cell of 2 rest on more than their own source "
            f"(of {OWN.key}: Fine; 2 days from Coarse)"
        ),
    )


def test_a_revision_is_told_with_day_place_and_both_values():
    change = revised(("rain_mm", date(2026, 7, 5), 2.0, 14.1))

    assert weather_told([pulled(revisions=[change])], [], NIGHT) == (
        (
            "Fine revised 1 value; the largest: "
            "rain of 5 July 2026 at fine:177-747 from 2.0 to 14.1 mm"
        ),
    )


def test_of_many_revisions_the_largest_are_told_whichever_answer_they_came_in():
    small = revised(*(("rain_mm", date(2026, 6, day), 1.0, 1.0 + day / 10) for day in range(1, 9)))
    large = revised(("rain_mm", date(2026, 7, 5), 2.0, 54.0), key=NEAR.key)
    (said,) = weather_told([pulled(revisions=[small, large])], [], NIGHT)

    assert said.startswith(
        "Fine revised 9 values; the largest: rain of 5 July 2026 at fine:177-748"
    )
    assert said.count(";") == LARGEST


def test_values_that_are_stored_and_not_used_are_counted_by_kind():
    flags = {"limit": 2, "outlier": 1, "stuck": 40, "cross": 3, "rain_outlier": 1}

    assert weather_told([pulled(flags=flags)], [], NIGHT) == (
        (
            "Fine: values stored but not used: 2 outside what is possible, "
            "1 far from what is usual at that time of year"
        ),
    )


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """One field with both sources, and one night that went well."""
    with a_public_rig(tmp_path_factory.mktemp("told"), NIGHT) as made:
        made.enrol(a_field("Long Acre"))
        made.night(NIGHT)
        yield made


def test_while_the_own_source_is_down_the_stand_in_carries_the_field_and_nobody_is_alarmed(rig):
    reports = []
    for day in (7, 8, 9):
        rig.server.faults["gridmet"].extend(["503"] * 40)
        reports.append(rig.night(date(2026, 7, day)))
        rig.server.faults["gridmet"].clear()

    assert [report.failures for report in reports] == [()] * 3
    assert [report.fields_ok for report in reports] == [1] * 3
    # NASA POWER is a day further behind than gridMET: on the 7th it brings nothing newer
    assert rig.row("Long Acre").weather_through == date(2026, 7, 6)
    down, leans = reports[-1].told
    assert down.startswith("gridMET: no answer for 1 of 1 cell (gridMET, cell gridmet:187-716: ")
    assert "(of gridmet:187-716: gridMET; 2 days from NASA POWER" in leans
    with rig.service.engine.connect() as conn:
        from rootbound_service.store.runs import last_run

        run = last_run(conn)
    assert not run.weather_came
    assert down in run.weather


def test_when_it_is_back_its_own_days_take_their_place_again(rig):
    report = rig.night(date(2026, 7, 10))

    assert report.told == () or "revised" in report.told[0]
    assert rig.row("Long Acre").weather_through == date(2026, 7, 8)
    feed = rig.service.parts.feeds["gridmet"]
    cell = feed.snap(41.62, -94.92)
    assert feed.store.spans([cell])[0].last_day == date(2026, 7, 8)
