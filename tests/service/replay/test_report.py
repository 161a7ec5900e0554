"""The report says what was played, what it cannot tell, and nothing it does not know."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from lxml import html

from rootbound_service.errors import RefusedInput
from rootbound_service.notes import palette
from rootbound_service.replay.harvests import harvests_of
from rootbound_service.replay.headline import headline
from rootbound_service.replay.report.facts import facts_of
from rootbound_service.replay.report.page import page
from rootbound_service.replay.report.season_rows import season_rows
from rootbound_service.replay.summary import summary
from rootbound_service.replay.views import views
from service.replay.rig import came, played
from service.replay.told import about, bushels, seasons


def text(found):
    """The page as it reads, spaces pressed together."""
    return " ".join(html.fromstring(found).text_content().split())


def written(kinds, **others):
    return page(facts_of(seasons(kinds), about(**others)))


def test_the_headline_tells_lead_vain_and_unwarned_in_sentences():
    found = headline(views(seasons("rrqqvu")))

    assert len(found) == 1
    assert found[0] == (
        "Wall class 2: 6 seasons, 3 of which ran short, 1.2 notes a season on average. "
        "The first word came a median of 8 days before the field ran short, 8 at the least. "
        "1 season ran short without a word before (1996). "
        "1 season was warned of in vain (1995)."
    )


def test_a_single_season_is_told_in_the_singular():
    (found,) = headline(views(seasons("r")))

    assert found.startswith("Wall class 2: 1 season, which ran short")
    assert "The first word came 8 days before the field ran short." in found
    assert "No season was warned of in vain." in found


def test_where_no_season_ran_short_no_lead_is_told():
    found = text(written("qqqqqqq"))

    assert "none of which ran short" in found
    assert "No season ran short of water" in found
    assert "days before the field ran short" not in found


def test_under_five_events_it_says_too_few_and_gives_no_score():
    found = text(written("rrrrqqqqqq"))

    assert "too few to say" in found
    assert "Peirce score" not in found
    assert "It came in 4 seasons: too few to say." in found
    assert "skill over that share" not in found


def test_with_five_events_and_five_without_the_scores_are_given():
    found = text(written("rrrrrqqqqv"))

    assert "100 % detected, 17 % of warnings in vain, Peirce score +0.80" in found
    assert "skill over that share" in found


def test_shares_come_with_wilsons_interval():
    """4 of 5: Wilson's 95 % interval is 37.6 to 96.4 % (Brown, Cai & DasGupta 2001, Stat. Sci.)."""
    assert "4 of 5 (38 to 96 %)" in text(written("rrrruqqqqq"))


def test_without_yields_it_says_so():
    assert "No yields were given." in text(written("rq"))


def test_stress_that_follows_the_yields_is_told_to():
    kinds = "rqrqrqrqrq"
    shares = [-0.20 - 0.02 * k if kind == "r" else 0.02 for k, kind in enumerate(kinds)]
    harvests = harvests_of(bushels(shares), range(1991, 2001), "Y.csv")

    facts = facts_of(seasons(kinds), about(harvests=harvests, baselines=False))

    ours = next(way for way in facts.yields.ours if way.name == "wall class 2")
    assert ours.whole.pearson.value < -0.95
    found = text(page(facts))
    assert "10 seasons of Y.csv" in found
    assert "July rain" not in found
    assert any(line.startswith("Yields, wall class 2: correlation −") for line in summary(facts))
    # a poor yield is the event now: every r season lies 20 % or more under the trend
    row = next(one for one in facts.warned if one.view.wall_class == 2 and one.rung == 2)
    assert (row.poor.hits, row.poor.misses, row.poor.false_alarms) == (5, 0, 0)


def test_a_score_that_never_changes_has_no_correlation():
    harvests = harvests_of(bushels([0.1, -0.1] * 5), range(1991, 2001), "Y.csv")

    facts = facts_of(seasons("q" * 10), about(harvests=harvests, baselines=False))

    assert facts.yields.ours[0].whole.pearson is None
    assert "too few to say, or no season with stress" in summary(facts)[-1]
    assert text(page(facts)).count("too few to say") >= 3


def test_plain_ways_stand_beside_the_stress_and_say_why_one_is_missing():
    harvests = harvests_of(bushels([0.1, -0.15, 0.05, -0.2, 0.0] * 2), range(1991, 2001), "Y.csv")

    found = text(page(facts_of(seasons("rqrqrqrqrq"), about(harvests=harvests))))

    for way in ("July rain", "May-August rain", "Plain bucket"):
        assert way in found
    assert "SPEI: there are 20 whole years of weather" in found
    assert "By how much it tells more than plain ways" in found


def test_wet_seasons_are_counted_apart():
    harvests = harvests_of(bushels([0.1, -0.15] * 5), range(1991, 2001), "Y.csv")
    made = seasons("rqrqrqrqrq")
    made[1] = replace(made[1], rain_mm=800.0)

    facts = facts_of(made, about(harvests=harvests, baselines=False))

    assert facts.yields.wet.tolist() == [False, True] + [False] * 8
    assert facts.yields.ours[0].dry.years == 9
    assert "more than 600 mm of rain" in text(page(facts))


def test_water_is_told_in_the_readers_unit():
    assert "11.8 in" in text(written("rq", units="us"))
    assert "300 mm" in text(written("rq"))


def test_yields_of_too_few_of_the_seasons_are_refused():
    with pytest.raises(RefusedInput, match="has the yields of 4 of the 10 years that are played"):
        harvests_of(bushels([0.0] * 4), range(1991, 2001), "Y.csv")


def test_every_season_has_its_rows_with_notes_lead_and_days_ahead():
    found = text(written("ru"))

    assert "1: 2 Jul, 2: 4 Jul, 3: 5 Jul" in found
    assert "2 Jul: 1, 4 Jul: 2, 5 Jul: 3" in found
    assert "8 days before" in found
    assert "no word" in found
    assert "said 4 Jul: 6 (2 to 12) days; came: free roots did not run short" in found


def test_a_year_in_which_nothing_was_said_and_nothing_came_has_one_row():
    rows = season_rows(facts_of(seasons("qr"), about()))

    assert [(row.year, row.roots) for row in rows] == [
        (1991, "all"),
        (1992, "free roots"),
        (1992, "wall class 2"),
    ]
    assert rows[0].firsts == "stayed at 0"
    assert rows[0].stress == "0.0 at the most"


def test_rain_and_losses_that_are_not_known_are_said_to_be_so():
    made = [replace(one, rain_mm=nan) for one in seasons("r")]
    found = text(page(facts_of(made, about())))

    assert "rain not known" in found


def test_the_limits_are_written_down():
    found = text(written("rq"))

    for words in ("Drowned roots, lost nitrogen", "hail", "disease", "Few seasons", "No forecast"):
        assert words in found
    assert "No figure here promises a yield" in found
    assert "No forecast." not in text(written("rq", forecast=True))
    assert "Weather of the day before." in found
    assert "Weather of the day before." not in text(written("rq", late=3))
    assert "weather up to 4 days before" in text(written("rq", late=3))


def test_names_are_text_and_never_markup():
    made = [replace(one, field="<b>Ditch & far</b>") for one in seasons("rq")]

    found = page(facts_of(made, about(remarks=("a <i>remark</i>",))))

    assert "<b>Ditch" not in found
    assert "<i>remark" not in found
    assert "<b>Ditch & far</b>" in text(found)


def test_the_page_needs_nothing_beside_it():
    tree = html.fromstring(written("rrqq"))

    sources = [one.get("src") for one in tree.iter("img")]
    assert sources
    assert all(one.startswith("data:image/svg+xml;base64,") for one in sources)
    assert not list(tree.iter("script", "link", "iframe"))
    assert all(one.get("alt") for one in tree.iter("img"))


def test_rungs_are_shown_by_number_word_and_colour_of_our_scale():
    tree = html.fromstring(written("rrqq"))
    named = [one for one in tree.iter("span") if one.get("class") == "rung"][:5]

    assert [one.text_content() for one in named] == [
        "0 ample", "1 drawing down", "2 tight", "3 short", "4 failing",
    ]  # fmt: skip
    assert all(fill in one.get("style") for fill, one in zip(palette.RUNG_FILL, named, strict=True))


def test_the_same_seasons_give_the_same_page():
    assert written("rqrv") == written("rqrv")


def test_several_fields_are_told_apart():
    made = seasons("rq") + [replace(one, field="Other") for one in seasons("qv")]

    facts = facts_of(made, about())

    assert [line.split(":")[0] for line in facts.headline] == [
        "By Hand, wall class 2",
        "Other, wall class 2",
    ]
    assert "Other, free roots" in text(page(facts))


def test_a_season_without_a_night_breaks_nothing():
    found = text(page(facts_of([played(1991, {}, came({}))], about())))

    assert "too few to say" in found
