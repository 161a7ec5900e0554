"""The report's pictures: our colours alone, a number where a rung begins, a mark at the onset."""

from __future__ import annotations

import base64
import re

from rootbound_service.notes import palette
from rootbound_service.replay.harvests import harvests_of
from rootbound_service.replay.report.facts import facts_of
from rootbound_service.replay.report.page import page
from service.replay.rig import came, from_july, played
from service.replay.told import about, bushels, seasons


def test_pictures_have_no_colour_but_ours():
    ours = {
        one.lower()
        for one in (*palette.RUNG_FILL, *palette.RUNG_TEXT, palette.HELD, palette.FREE,
                    palette.INK, palette.PAPER, palette.QUIET, palette.RULE)
    }  # fmt: skip
    harvests = harvests_of(bushels([0.1, -0.15] * 5), range(1991, 2001), "Y.csv")
    found = page(facts_of(seasons("rrrrrqqqqv"), about(harvests=harvests, baselines=False)))

    drawn = [
        base64.b64decode(one).decode() for one in re.findall(r"svg\+xml;base64,([^\"]+)", found)
    ]
    assert len(drawn) == 5
    used = {one.lower() for svg in drawn for one in re.findall(r"#[0-9a-fA-F]{6}\b", svg)}
    assert used - ours == set()


def ladder(kinds, nights=None):
    """The picture of the held roots' ladder as SVG."""
    made = seasons(kinds) if nights is None else nights
    found = re.findall(r"svg\+xml;base64,([^\"]+)", page(facts_of(made, about())))
    return base64.b64decode(found[1]).decode()


def test_a_number_is_written_where_a_rung_begins():
    rungs = from_july(1991, *[0] * 5, *[1] * 5, *[3] * 5)
    drawn = re.findall(r">([^<>]+)</text>", ladder("", [played(1991, rungs, came({}))]))

    assert drawn.count("1") == 1
    assert drawn.count("3") == 1
    assert "2" not in drawn
    assert "1991" in drawn


def test_a_mark_stands_where_a_season_ran_short():
    def marks(kinds):
        return len(re.findall(rf"<use [^>]*fill: {palette.INK.lower()}", ladder(kinds)))

    assert marks("rr") == marks("qq") + 2
    assert marks("ru") == marks("qq") + 2
