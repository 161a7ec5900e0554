"""What a digest tells of the week beside the fields: what came, what did not arrive, silences."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from rootbound_rules.season.heat_normal import HeatNormal
from rootbound_service.notes.digest import compose_digest
from rootbound_service.notes.en.digest_words import (
    grower_text,
    heat_words,
    outcome_text,
    source_text,
    unreached_text,
)
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.week import Outcome, Week
from rootbound_service.store.unreached import NOT_TOLD, Unreached
from service.notes.cast import INES, MAREN, NIGHT, NOW, alder_county, field, unknown, unrated

WARNED = Outcome(11, NIGHT - timedelta(days=5), 2, 3, 1.4, 12.7)
MISSED = Unreached(1, 1, NIGHT - timedelta(days=2), 3, "expired", 1, "email")


def told(person=INES, fields=None, **week):
    occasion = Occasion(NOW, members=30, linked=True)
    message = compose_digest(person, fields or alder_county(), occasion, Week(**week))
    return " ".join(message.text.split())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "2 tight on July 11, 3 short now after 0.5 in of rain. It came: 1.4 days of stress"),
        ({"stress": 1.0}, "It came: 1.0 day of stress since."),
        ({"stress": 0.5}, "It came: 0.5 days of stress since."),
        ({"stress": 0.4}, "A little came: 0.4 days of stress since."),
        ({"stress": 0.04}, "No stress since: so far it has not come."),
        ({"stress": None}, "of rain; stress since then is not known."),
        ({"rain_mm": 1.0}, "3 short now after no rain. It came"),
        ({"rain_mm": None}, "3 short now. It came"),
        ({"rung_now": 2}, "2 tight on July 11, the same now"),
        ({"rung_now": None}, "2 tight on July 11, no answer now"),
        ({"rung_now": None, "over": True}, "2 tight on July 11, finished now"),
        ({"dug": False}, "Not dug; free roots at 2 tight on July 11"),
    ],
)  # fmt: skip
def test_a_warning_is_held_against_the_weather_that_came(changes, words):
    assert words in outcome_text(replace(WARNED, **changes), "us")


def test_metric_readers_hear_of_millimetres_and_their_order_of_day_and_month():
    assert outcome_text(WARNED, "metric").startswith(
        "2 tight on 11 July, 3 short now after 13 mm of rain."
    )


def test_a_reader_hears_of_the_warnings_of_their_own_fields_only():
    text = told(outcomes=(WARNED, replace(WARNED, field_id=999, rung=4)))

    assert "Long Acre (Maren Holt): 2 tight on July 11" in text
    assert "4 failing on July 11" not in text


def test_a_note_that_did_not_arrive_is_told_near_the_top():
    text = told(unreached=(("Mill Bottom", MISSED),))

    assert "Mill Bottom: 3 short on July 14; it came too late to be sent." in text
    assert text.index("Notes that did not reach you") < text.index("What changed")


def test_every_way_of_not_arriving_has_its_own_words():
    told_of = {status: unreached_text(replace(MISSED, status=status), "us") for status in NOT_TOLD}

    assert told_of == {
        "expired": "3 short on July 14; it came too late to be sent.",
        "dead": "3 short on July 14; it was refused by the mail or text service.",
        "folded": "3 short on July 14; it was over two texts a week.",
        "dropped": "3 short on July 14; it was not sent.",
    }
    assert unreached_text(replace(MISSED, to_rung=None), "us").startswith("No answer on July 14;")


def test_a_silenced_field_is_still_in_the_table_and_named_with_its_date():
    text = told(silent={11: NIGHT + timedelta(days=9)})

    assert "[2 tight] Long Acre" in text
    assert (
        "Silent at your wish ------------------- Long Acre (Maren Holt): No notes until July 25."
        in text
    )


def test_an_adviser_reads_each_growers_count_and_a_grower_does_not():
    mine = [one for one in alder_county() if one.grower_name == MAREN.name]

    assert (
        "Maren Holt: 6 fields: 1 failing, 1 tight, 2 drawing down, 1 not dug, 1 not up yet. "
        "Tobias Reyl: 6 fields: 1 short, 3 ample, 1 not dug, 1 without an answer."
    ) in told()
    assert "By grower" not in told(MAREN, mine)


def test_every_field_of_a_grower_is_counted_once():
    fields = [field(), field(rung=0), unrated(), unknown(), field(status="finished", rung=None)]

    assert grower_text(fields) == (
        "5 fields: 1 tight, 1 ample, 1 not dug, 1 without an answer, 1 finished."
    )


@pytest.mark.parametrize(
    ("total", "units", "words"),
    [
        (1184.0, "us", "1,184 GDD F, 94 above normal, unusual"),
        (1150.0, "us", "1,150 GDD F, 60 above normal"),
        (1000.0, "metric", "556 GDD C, 50 below normal"),
        (1090.2, "us", "1,090 GDD F, as normal"),
    ],
)
def test_heat_units_stand_beside_those_of_past_years(total, units, words):
    facts = field(gdd_f_total=total, heat_normal=HeatNormal(1090.0, 980.0, 1160.0))

    assert heat_words(facts, units) == words
    assert heat_words(replace(facts, heat_normal=None), units) == ""
    assert heat_words(replace(facts, status="finished"), units) == ""


def test_a_source_says_its_last_real_days_and_the_fields_behind_each():
    many = {None: 2, NIGHT: 1, NIGHT - timedelta(days=3): 40}

    assert source_text(many, NIGHT, "us") == (
        "real through July 16, 0 days old: 1 field; real through July 13, 3 days old: 40 fields; "
        "no real weather yet: 2 fields."
    )
