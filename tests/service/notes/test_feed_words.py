"""What machines pass on to people: every rung, every end, both unit systems."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import pytest

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes.speech import say
from service.feeds.scene import a_row

NIGHT = date(2026, 7, 14)
LONGEST = "Grandmother's far corner beyond the old mill and the church, north half"
UNITS = ("us", "metric")
NOTHING = "The held roots have no water left in reach"


@pytest.mark.parametrize("rung", range(5))
def test_a_headline_has_the_fields_name_and_the_rung_by_word_and_number(rung):
    plain = say.warning_headline(LONGEST, rung, "", blind=False)
    blind = say.warning_headline(LONGEST, rung, "", blind=True)
    eased = say.warning_headline(LONGEST, rung, "eased", blind=False)

    for told in (plain, blind, eased):
        assert told.startswith(f"{LONGEST}: ")
        assert told.endswith(f"{rung} {RUNG_NAMES[rung]}")
    assert len({plain, blind, eased}) == 3
    assert "no answer" in blind


def test_an_end_names_no_rung_where_there_is_none():
    wrong, over = (say.warning_headline("Acre", 0, ends, blind=False) for ends in ("wrong", "over"))

    assert (wrong, over) == (
        "Acre: the warning is withdrawn",
        "Acre: the watch of this season is over",
    )


@pytest.mark.parametrize(("rung", "units"), [*product(range(2, 5), UNITS)])
def test_figures_are_whole_sentences_in_one_unit_system(rung, units):
    told = say.warning_text(a_row(NIGHT, rung), units, "", blind=False)
    other = {"us": (" mm", " 12 July"), "metric": (" in of", "July 12")}[units]

    assert told.endswith(".")
    assert "None" not in told
    assert not [one for one in other if one in told]
    assert "about 6 days sooner than with free roots (4 to 9 in 8 of 10 outlook years)" in told


@pytest.mark.parametrize(
    ("held", "free", "told"),
    [
        (9.7, 41.2, "The held roots have 0.4 in of water in reach; free roots would have 1.6 in."),
        (-0.3, 12.0, f"{NOTHING}; free roots would have 0.5 in."),
        (0.0, 0.4, f"{NOTHING}; free roots would have none either."),
        (9.7, None, "The held roots have 0.4 in of water in reach."),
        (None, 9.7, "Water in reach is not known."),
    ],
)  # fmt: skip
def test_water_in_reach_is_told_as_far_as_it_is_known(held, free, told):
    row = replace(a_row(NIGHT, 3), water_in_reach_mm=held, free_water_mm=free)

    assert say.warning_text(row, "us", "", blind=False).startswith(told)


def test_what_is_not_known_is_left_out_and_never_called_fine():
    row = replace(a_row(NIGHT, 3), stage="", weather_through=None, days_ahead_kind="none")

    assert say.warning_text(row, "us", "", blind=False).count(".") == 3  # two are decimal points
    assert "no all-clear" in say.warning_text(row, "us", "", blind=True)
    assert say.warning_text(row, "us", "eased", blind=False) == "The warning no longer holds."


@pytest.mark.parametrize(
    ("kind", "crop"), [*product(("dig", "dig-again", "silk", "stress"), ("maize", "soybean"))]
)
def test_every_date_has_a_title_a_reason_and_its_cautions(kind, crop):
    title, text = say.visit_title(kind, LONGEST, crop), say.visit_text(kind)

    assert title.endswith(LONGEST)
    assert ("Silking" in title) == (kind == "silk" and crop == "maize")
    assert "811" in text
