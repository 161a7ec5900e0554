"""The weekly letter: order, the week in a sentence, what is not known, size."""

from __future__ import annotations

from datetime import date
from html.parser import HTMLParser

import pytest

from rootbound_rules.risk.dig_again import AgainReason, DigAgain
from rootbound_rules.risk.dig_list import FirstDig, reasons_of
from rootbound_rules.risk.dig_window import DigWindow
from rootbound_rules.risk.more_plants import MorePlants
from rootbound_rules.risk.spring import Spring
from rootbound_service.notes.dig_lists import DigList
from rootbound_service.notes.digest import CUTS, compose_digest, picture_name
from rootbound_service.notes.en.subjects import digest_subject
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.order import by_urgency
from rootbound_service.notes.week import Week
from service.notes.cast import INES, MAREN, NOW, TOBIAS, alder_county, field, unknown, unrated


class Pictures(HTMLParser):
    """Collect what a mail program would load as a picture."""

    def __init__(self) -> None:
        super().__init__()
        self.sources: list[str | None] = []

    def handle_starttag(self, tag, attrs) -> None:
        if tag == "img":
            self.sources.append(dict(attrs).get("src"))


OCCASION = Occasion(NOW, members=30)
WET_THEN_DRY = Spring(
    planted_share=0.96, rain_before_mm=22.0, rain_planting_mm=5.0, since_soaking=12,
    days_planted=24, longest_dry=12, top_dry=0.88, clay_pct=34.0, texture="clay loam",
    irrigated=False,
)  # fmt: skip


def undug(field_id, place, window, spring):
    return FirstDig(field_id, place, window, spring, reasons_of(spring) if spring else ())


def digest(person=INES, fields=None):
    return compose_digest(person, alder_county() if fields is None else fields, OCCASION)


def told(message) -> str:
    return " ".join(message.text.split())


def test_the_subject_counts_the_fields_that_are_short():
    assert digest().subject == "Week 29: 2 of 12 fields short of water in reach"


@pytest.mark.parametrize(
    ("fields", "subject"),
    [
        ([field(), field(rung=0)], "Week 29: 1 of 2 fields tight on water in reach"),
        ([field(rung=1), field(rung=0)], "Week 29: 1 of 2 fields drawing down"),
        ([field(rung=0)], "Week 29: water in reach is ample on 1 of 1 field"),
        # a field without an answer is never covered by good news
        (
            [field(rung=0), unrated(), unknown()],
            "Week 29: none of 3 fields known to be short, 1 unrated, 1 without an answer",
        ),
    ],
)
def test_the_subject_says_the_worst_there_is(fields, subject):
    assert digest_subject(fields, 29) == subject


def test_fields_come_by_urgency_and_silence_before_ample():
    order = [facts.field_name for facts in by_urgency(alder_county())]

    assert order == [
        "North Sixty", "Mill Bottom", "Long Acre", "Quarry Top", "Heron Flats",
        "Chapel Field", "Gravel Piece", "Brick Kiln",
        "Little Marsh", "Orchard Forty", "Willow Bend", "Late Strip",
    ]  # fmt: skip


def test_the_week_is_summed_up_in_words():
    assert told(digest()).startswith(
        "3 of 12 fields are tight or worse on water in reach. North Sixty comes first: 4 failing, "
        "no water left in reach, R1. Since last week 4 fields climbed and 1 eased. "
        "2 fields are still to be dug. 1 field has no answer."
    )


def test_every_field_has_its_rung_change_water_days_and_stage():
    row = (
        "[2 tight] Long Acre, Maren Holt (up from 1) Water in reach 0.4 in, free roots 1.6 in. "
        "6 days sooner (4 to 9). V15, silk in 8 days; weather 2 days old."
    )
    assert row in told(digest())


def test_unrated_unknown_and_changed_fields_have_their_sections():
    text = told(digest())

    assert "Dig these first" in text
    assert "Gravel Piece (Maren Holt): Free roots would be at 1 drawing down." in text
    assert (
        "Chapel Field (Tobias Reyl): No answer. The last real weather is too old. "
        "NASA POWER, real through July 2 (14 days old)."
    ) in text
    assert "Orchard Forty (Tobias Reyl): Down from 2 tight to 0 ample." in text
    assert (
        "NASA POWER: real through July 14, 2 days old: 11 fields; real through July 2, 14 days "
        "old: 1 field." in text
    )


def test_the_order_to_dig_is_told_with_its_figures_and_cautions():
    first = (
        undug(16, 1, DigWindow("open", 4, 4.2), WET_THEN_DRY),
        undug(15, 2, DigWindow("past", None, 12.0), None),
    )
    text = told(compose_digest(INES, alder_county(), OCCASION, Week(DigList(first))))

    assert (
        "Dig these first --------------- Not rated: without a dig nobody knows how the roots "
        "stand, and the figures are those of free roots. The order says where to look first; it "
        "is no rating: only the spade knows a wall. Before you dig: have buried lines located (in "
        "the US, call 811), keep pesticide re-entry intervals, do not dig alone in heat."
    ) in text
    assert (
        "Brick Kiln (Tobias Reyl): The dig window (V2 to V5) is open, closes in 4 days. Planted "
        "wet, dry since: if the slot was smeared, its walls have had time to harden. Medium to "
        "fine soil, more at risk. At planting the top layer held 96% of field capacity, with 1.1 "
        "in of rain in the three days before and on the day; since then up to 12 days without a "
        "soaking rain, and the top layer is 88% dried out now (clay loam, 34% clay). "
        "Gravel Piece (Maren Holt): The dig window (V2 to V5) is past: a dig shows where the roots "
        "have ended up, which says more for the next planting than for this summer. Free roots "
        "would be at 1 drawing down."
    ) in text
    assert "Dig again" not in text


def test_a_second_dig_is_told_with_what_it_would_settle():
    again = (
        DigAgain(
            20, (AgainReason.INTERVAL, AgainReason.LATE_CROSSING), date(2025, 6, 3), 3, 14.0, 7.4,
            2, 0, MorePlants("more", 4, 2, 1),
        ),
    )  # fmt: skip
    message = compose_digest(INES, alder_county(), OCCASION, Week(DigList((), again)))

    assert (
        "Quarry Top (Maren Holt): V7, dug June 3; 0.6 in of water 3 days ago. The coming two weeks "
        "may bring it to 2 tight as dug, free roots to 0 ample. The dig leaves open 1 drawing down "
        "to 2 tight: 4 more plants would settle it."
    ) in told(message)
    assert told(message).count("call 811") == 1
    assert "<h2" in message.html
    assert "Dig again" in message.html


def test_a_reader_is_told_of_no_field_but_their_own():
    first = (undug(999, 1, DigWindow("open", 4, 4.2), WET_THEN_DRY),)

    assert compose_digest(INES, alder_county(), OCCASION, Week(DigList(first))) == digest()


def test_a_section_with_nothing_in_it_is_left_out():
    text = digest(MAREN, [field(rung=2, previous_rung=2)]).text

    assert "Dig these first" not in text
    assert "No answer" not in text
    assert "What changed" not in text


def test_an_adviser_reads_whose_fields_they_are_and_a_grower_does_not():
    assert "Maren Holt" in digest(INES).text
    assert "Maren Holt" not in digest(MAREN).text


def test_a_metric_reader_gets_millimetres_only():
    message = digest(TOBIAS)

    assert "Water in reach 10 mm" in told(message)
    assert "0.4 in" not in told(message)
    assert "In millimetres." in message.html


def test_each_of_the_most_urgent_fields_has_a_picture_with_its_numbers_in_words():
    fields = [facts for facts in by_urgency(alder_county()) if facts.series is not None]
    message = digest()
    reader = Pictures()
    reader.feed(message.html)

    assert list(message.images) == [picture_name(facts) for facts in fields[: CUTS[0].panels]]
    assert reader.sources == [f"cid:{name}" for name in message.images]
    assert 'alt="North Sixty, 4 failing, no water left in reach, free roots 0.8 in' in message.html


def test_no_line_of_the_text_passes_72_columns():
    assert max(len(line) for line in digest().text.splitlines()) < 72


def test_a_second_digest_of_the_week_is_the_same_message():
    assert digest() == digest()
    assert digest().dedupe_key == "digest-3-2025-W29"


def test_a_name_cannot_break_out_of_the_page():
    message = digest(INES, [unrated("<img src=x onerror=alert(1)>")])

    reader = Pictures()
    reader.feed(message.html)
    assert reader.sources == [f"cid:{name}" for name in message.images]
    assert len(reader.sources) == 1


def test_a_digest_about_nothing_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        digest(INES, [])
