"""Where a field stands: which reason goes first when several keep it off the ladder."""

from __future__ import annotations

import itertools
from datetime import date, timedelta

import pytest

from rootbound_rules.risk.ladder import Reason
from rootbound_rules.risk.standing import WORDS, standing

NIGHT = date(2026, 8, 1)
USUAL = {"missing": None, "rated": True, "emerged": True, "mature": False, "harvested_on": None}


def stands(**changes):
    found = standing(NIGHT, **USUAL | changes)
    return found.status, found.reason


@pytest.mark.parametrize(
    ("changes", "status", "reason"),
    [
        ({}, "watched", None),
        ({"rated": False}, "unrated", Reason.UNRATED),
        ({"emerged": False, "rated": False}, "waiting", Reason.NOT_EMERGED),
        ({"mature": True}, "finished", Reason.BLACK_LAYER),
        ({"mature": True, "rated": False}, "finished", Reason.BLACK_LAYER),
        ({"missing": Reason.WEATHER_TOO_OLD}, "unknown", Reason.WEATHER_TOO_OLD),
        ({"missing": Reason.NO_OUTLOOK, "rated": False}, "unknown", Reason.NO_OUTLOOK),
        # without weather a stage is only a guess
        ({"missing": Reason.WEATHER_TOO_OLD, "mature": True}, "unknown", Reason.WEATHER_TOO_OLD),
        ({"harvested_on": NIGHT}, "finished", Reason.HARVESTED),
        ({"harvested_on": NIGHT, "mature": True}, "finished", Reason.HARVESTED),
        (
            {"harvested_on": NIGHT, "missing": Reason.WEATHER_TOO_OLD},
            "finished",
            Reason.HARVESTED,
        ),
        # an earlier night run again does not know of a later harvest
        ({"harvested_on": NIGHT + timedelta(days=1)}, "watched", None),
    ],
)
def test_each_case_has_its_status_and_its_reason(changes, status, reason):
    assert stands(**changes) == (status, reason)


def test_only_watched_and_unrated_fields_are_on_the_ladder_and_none_without_a_word():
    missing = (None, Reason.WEATHER_TOO_OLD, Reason.NO_OUTLOOK, Reason.NOT_COMPUTED)
    flags = (False, True)
    for why, rated, emerged, mature, cut in itertools.product(missing, *[flags] * 4):
        day = NIGHT if cut else None
        found = standing(
            NIGHT, missing=why, rated=rated, emerged=emerged, mature=mature, harvested_on=day
        )
        assert found.on_ladder == (found.reason in {None, Reason.UNRATED})
        assert found.status == "watched" or found.words == WORDS[found.reason]
        assert "fine" not in found.words
        if why is not None:
            assert not found.on_ladder
