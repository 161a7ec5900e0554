"""What a reader meets who opens a field of a service of very many, whatever has happened since."""

from __future__ import annotations

import shutil
from copy import deepcopy
from datetime import date, timedelta
from functools import partial

import pytest

from rootbound_service.errors import ServiceError
from rootbound_service.nights.again import night_again
from rootbound_service.nights.pictures import card_of
from rootbound_service.nights.shown import AHEAD
from rootbound_service.records import DigRecord
from rootbound_service.store.fields import find_field
from rootbound_service.store.season_pictures import picture_of
from rootbound_service.web.dressing import look as words
from rootbound_service.web.dressing.hand import Hand
from rootbound_service.web.dressing.look import look
from service.nights.many.weeks import MANY
from service.nights.rig import HISTORY_YEARS, YEAR
from service.web.dressing.scene import opened
from service.web.stores import new, stand

FIRST, NIGHT = date(YEAR, 6, 27), date(YEAR, 6, 30)
FREE, UNDUG = "Free", "Undug"


@pytest.fixture
def big(tmp_path):
    """Two nights of a service of very many; nobody has opened anything."""
    with opened(tmp_path, **MANY) as made:
        made.rig.bring(FIRST)
        made.live(FIRST, NIGHT, 3)
        assert AHEAD not in made.rig.row(FREE).detail
        yield made


def kept(big, name):
    with big.service.engine.connect() as conn:
        return picture_of(conn, big.fields[name].season_id)


def failing(stored):
    raise MemoryError("none left")


def test_an_opened_field_is_computed_once_and_kept_for_everybody(big):
    first, second = big.page(FREE), big.page(FREE)
    big.settled()
    program = big.program().get(f"/fields/{big.fields[FREE].id}").json()

    assert first == second
    assert big.computed == [FREE]
    assert program["standing"]["rain_to_hold"] is not None
    assert program["standing"]["remark"] is None
    night, packed = kept(big, FREE)
    assert night == NIGHT
    assert AHEAD in card_of(packed, NIGHT, big.service.clock.now())


def test_opening_a_field_changes_its_picture_and_nothing_else(big):
    before = stand(big.service.engine)
    big.page(FREE)
    big.settled()
    after = stand(big.service.engine)
    assert {table for table, _ in new(before, after)} == {"season_picture", "web_session"}


def test_lists_compute_nothing(big):
    web, program = big.browser(), big.program()
    assert web.get("/today").status_code == 200
    listed = program.get("/fields").json()["fields"]
    assert big.computed == []
    remarks = {one["name"]: one["standing"]["remark"] for one in listed if one["standing"]}
    assert remarks[FREE] == words.MORE


def test_another_accounts_field_is_neither_shown_nor_computed(big):
    answer = big.browser().get("/fields/999")
    assert answer.status_code == 404
    assert big.computed == []


def test_a_failing_computation_gives_the_page_with_what_is_stored(big):
    big.dress_with(failing)
    page, told = big.page(FREE), big.program().get(f"/fields/{big.fields[FREE].id}")
    season = big.program().get(f"/fields/{big.fields[FREE].id}/season")

    assert words.NOT_HERE in page.replace("&#39;", "'")
    assert told.json()["standing"]["remark"] == words.NOT_HERE
    assert told.json()["standing"]["rung"] == 0
    assert (season.status_code, season.json()["detail"]) == (503, words.NOT_HERE)
    assert int(season.headers["retry-after"]) > 0
    assert big.computed == [FREE]


def test_a_field_that_takes_long_comes_with_the_next_look(big):
    big.dress_with(partial(night_again, big.service.parts), wait_s=0.0)
    first = big.page(UNDUG)
    big.settled()
    second = big.page(UNDUG)

    assert words.COMING in first.replace("&#39;", "'")
    assert "<svg" not in first.split("<main", 1)[1].split("What it comes to")[0]
    assert words.COMING not in second.replace("&#39;", "'")
    assert "The season in one picture" in second
    assert big.computed == [UNDUG]


def test_where_no_weather_is_stored_the_page_says_so_calmly(big):
    shutil.rmtree(big.service.settings.data_dir / "weather")
    page = big.page(FREE)
    assert words.NOT_HERE in page.replace("&#39;", "'")
    assert "The season in one picture" not in page


def corrected(big, brought, days, **values):
    """The days before the night are found to have been otherwise, and are brought again."""
    play = deepcopy(big.rig.sky.play)
    for name, value in values.items():
        at = (NIGHT - date(YEAR - HISTORY_YEARS, 1, 1)).days
        play.columns[name][at - days : at] = value
    big.rig.sky.play = play
    big.rig.bring(brought)


def test_a_night_that_is_run_again_is_dressed_again(big):
    first = look(big.desk, big.fields[FREE])
    big.settled()
    corrected(big, NIGHT, 6, rain_mm=4.0)
    big.clock_on(hours=2)
    big.service.nightly(NIGHT)
    second = look(big.desk, big.fields[FREE])

    assert big.computed == [FREE, FREE]
    assert second.said == ""
    assert second.rows[-1].night == first.rows[-1].night == NIGHT
    assert second.rows[-1].water_in_reach_mm > first.rows[-1].water_in_reach_mm + 1.0
    assert second.packed != first.packed
    assert AHEAD not in big.rig.row(FREE).detail


SCORCHED = {"rain_mm": 0.0, "tmax_c": 40.0, "tmin_c": 24.0}


def test_weather_corrected_within_the_day_to_another_rung_is_said_and_not_shown(big):
    corrected(big, NIGHT, 14, **SCORCHED)
    seen, page = look(big.desk, big.fields[FREE]), big.page(FREE)
    assert seen.said == words.CORRECTED.format(night=NIGHT)
    assert seen.rows[-1].detail == big.rig.row(FREE).detail
    assert seen.said in page.replace("&#39;", "'")
    big.settled()
    assert kept(big, FREE) is None


def test_weather_corrected_within_the_day_on_the_same_rung_is_said_and_shown(big):
    corrected(big, NIGHT, 5, rain_mm=4.0)
    seen = look(big.desk, big.fields[FREE])
    assert seen.said == words.MOVED.format(night=NIGHT)
    assert AHEAD in seen.rows[-1].detail
    big.settled()
    assert kept(big, FREE) is None  # whoever opens it elsewhere is to read the same sentence


def test_a_correction_of_a_later_day_leaves_the_night_as_it_was(big):
    usual = look(big.desk, big.fields[FREE])
    big.forget()
    corrected(big, NIGHT + timedelta(days=1), 14, **SCORCHED)
    seen = look(big.desk, big.fields[FREE])
    assert seen.said == ""
    assert seen.packed == usual.packed
    assert len(big.computed) == 2


def test_what_came_after_the_night_does_not_count(big):
    usual = look(big.desk, big.fields[UNDUG]).rows[-1].detail[AHEAD]
    big.forget()
    later = NIGHT + timedelta(days=1)
    big.rig.at(later)
    recorded = big.service.clock.now()
    big.rig.dig(UNDUG, DigRecord(NIGHT, 3, plants=6, recorded_at=recorded))
    big.rig.bring(later)

    with big.service.engine.connect() as conn:
        seen = look(big.desk, find_field(conn, UNDUG))
    assert seen.said == ""
    assert seen.rows[-1].status == "unrated"
    assert seen.rows[-1].detail[AHEAD] == usual


def test_a_process_of_its_own_computes_the_same_and_is_begun_again_when_it_dies(big):
    asked, hand = [], Hand(big.service.settings)
    big.dress_with(lambda stored: asked.append(stored) or night_again(big.service.parts, stored))
    look(big.desk, big.fields[FREE])
    here = night_again(big.service.parts, asked[0])
    try:
        there = hand.compute(asked[0])
        hand._process.kill()
        hand._process.join()
        again = hand.compute(asked[0])
    finally:
        hand.close()
    assert (here.kind, there.kind, again.kind) == ("same",) * 3
    assert here.packed == there.packed == again.packed


def test_what_cannot_be_computed_comes_back_from_the_process_as_a_sentence(big):
    hand = Hand(big.service.settings)
    try:
        with pytest.raises(ServiceError, match="AttributeError"):
            hand.compute(None)
    finally:
        hand.close()
