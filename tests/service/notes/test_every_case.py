"""Every rung, stage, cause, news, reason and status, in both units, under the longest names."""

from __future__ import annotations

import dataclasses
import itertools
import re

import pytest

from rootbound_rules.risk.cause import Cause
from rootbound_rules.risk.rungs import RUNG_NAMES, Reason
from rootbound_service import gsm
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.facts import DaysAhead
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.speech import say
from rootbound_service.notes.texting import compose_text
from rootbound_service.notes.views import field_view
from rootbound_service.records import Contact
from service.notes.cast import INES, MAREN, NOW
from service.notes.fullest import FIELD_NAME, GROWER_NAME, STAGES, fullest, hold

UNITS = ("us", "metric")
BEFORE = (None, 0, 1, 2, 3, 4)
MOVES = list(itertools.product(range(5), BEFORE))
AHEAD = (
    DaysAhead("days", 6.2, 4.0, 9.3), DaysAhead("days", -2.0, -3.0, None),
    DaysAhead("free_would_not"), DaysAhead("neither"), DaysAhead("none"),
)  # fmt: skip
BARE = {
    "unrated": {"wall_class": None, "dug_on": None, "plants_dug": 0, "reach": None},
    "unknown": {"rung": None, "free_rung": None, "water_in_reach_mm": None, "free_water_mm": None},
    "waiting": {"rung": None, "free_rung": None, "water_in_reach_mm": None, "free_water_mm": None},
    "finished": {"rung": None, "free_rung": None},
}
"""What is not known of a field that has no rung."""
OTHER_UNIT = {"us": r"\d (mm|cm)\b", "metric": r"(?<![A-Z\d.])\d+(\.\d+)? in\b(?! \d)|\binch"}
"""Neither ``R3 in about 8 days`` nor ``4 to 9 in 8 of 10`` is a length."""
BROKEN = re.compile(r"\bNone\b(?! needed)|\bnan\b|[{}]|  |\.\.(?!\.)| [.,;:]|\(\)|[.] [a-z]|-0\b")
PROMISED = re.compile(r"\b(safe|guarantee|certain to|bushels?|will yield|no risk)\b", re.IGNORECASE)


def amiss(text: str, units: str) -> list[str]:
    """What no reader should see in a sentence or a heading."""
    seen = " ".join(text.split()) if "\n" in text else text
    found = [BROKEN.search(seen), PROMISED.search(seen), re.search(OTHER_UNIT[units], seen)]
    return [seen[max(one.start() - 60, 0) : one.end() + 20] for one in found if one]


def strings(value) -> list[str]:
    """Every text within a view."""
    if isinstance(value, str):
        return [value]
    if dataclasses.is_dataclass(value):
        value = [getattr(value, one.name) for one in dataclasses.fields(value)]
    return (
        [text for one in value for text in strings(one)] if isinstance(value, (list, tuple)) else []
    )


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("rung", range(5))
def test_every_rung_stage_and_cause_has_whole_sentences(rung, units):
    wrong, told, causes = (
        [],
        0,
        itertools.cycle(Cause),
    )  # five causes over six rungs before: all meet
    for crop, stages in STAGES.items():
        for stage, before in itertools.product(stages, BEFORE):
            cause = next(causes)
            facts = fullest(rung=rung, previous_rung=before, crop=crop, stage=stage, cause=cause,
                            free_rung=min(rung, 1), critical_window=before == 2)  # fmt: skip
            texts = strings(field_view(facts, units, 30))
            told += len(texts)
            wrong += [bad for text in texts for bad in amiss(text, units)]
    assert told > 4_000
    assert sorted(set(wrong)) == []


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("status", BARE)
def test_every_status_without_a_rung_says_why_and_never_that_all_is_well(status, units):
    for reason, before, rung in itertools.product(Reason, BEFORE, range(5)):
        known = {"rung": rung, "free_rung": rung} | BARE[status]
        facts = fullest(status=status, reason=reason, previous_rung=before, **known)
        texts = [*strings(field_view(facts, units, 30)), say.note_headline([facts], units)]

        assert [bad for text in texts for bad in amiss(text, units)] == []
        assert say.change(facts)
        assert not any(re.search("Good news|should last|brought it down", text) for text in texts)
        assert FIELD_NAME in say.note_headline([facts], units)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("news", ["", "grown_free", "held_again"])
def test_every_reason_and_news_is_told_as_what_it_is(news, units):
    for reason, (rung, before) in itertools.product(Reason, MOVES):
        facts = fullest(reason=reason, rung=rung, previous_rung=before, news=news)
        texts = strings(field_view(facts, units, 0))
        glad = any("Good news" in text for text in texts)

        assert [bad for text in texts for bad in amiss(text, units)] == []
        eased = before is not None and rung < before
        assert not glad or eased or "grown_free" in {news, reason}
        assert rung or not eased or news == "held_again" or glad or reason == "held_again"


@pytest.mark.parametrize(("rung", "before"), MOVES)
def test_a_subject_says_the_rung_and_the_field_before_a_phone_cuts_it(rung, before):
    facts = fullest(rung=rung, previous_rung=before)
    subject, headline = say.note_subject([facts], "us"), say.note_headline([facts], "us")

    assert RUNG_NAMES[rung] in subject[:25].lower()
    assert FIELD_NAME[:8] in subject[:40]
    assert RUNG_NAMES[rung] in headline
    eased = before is not None and rung < before
    assert eased == bool(re.match(r"Eased|Back", subject))


@pytest.mark.parametrize(("rung", "before"), MOVES)
def test_a_field_without_a_dig_is_never_headed_by_a_rung_of_its_own(rung, before):
    facts = fullest(status="unrated", rung=rung, free_rung=rung, previous_rung=before)

    assert say.note_subject([facts], "us").startswith("Not dug: ")
    assert f"{RUNG_NAMES[rung]}, held roots may be worse." in say.note_headline([facts], "us")


@pytest.mark.parametrize("ahead", AHEAD, ids=lambda ahead: ahead.kind)
@pytest.mark.parametrize("units", UNITS)
def test_every_kind_of_days_ahead_is_told_in_full_and_in_short(ahead, units):
    for status, rung in itertools.product(["watched", "unrated"], range(5)):
        facts = fullest(days_ahead=ahead, status=status, rung=rung, held_short=None)
        view = field_view(facts, units, 0)

        assert [bad for text in strings(view) for bad in amiss(text, units)] == []
        assert (say.LABELS["ahead"] in dict(view.facts)) == (status == "watched")


@pytest.mark.parametrize(
    "kind", ["rain", "none_needed", "at_top", "already_climbing", "none_would"]
)
@pytest.mark.parametrize("units", UNITS)
def test_every_answer_of_rain_to_hold_has_its_sentence(kind, units):
    for rung in range(5):
        facts = fullest(rung=rung, rain_to_hold=hold(kind), water_to_hold=hold(kind))
        texts = strings(field_view(facts, units, 30))

        assert [bad for text in texts for bad in amiss(text, units)] == []
        assert dict(field_view(facts, units, 30).key_facts)[say.LABELS["rain"]]


@pytest.mark.parametrize("person", [MAREN, INES], ids=["grower", "adviser"])
@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("linked", [True, False])
def test_every_rung_makes_a_whole_letter(person, units, linked):
    reader = dataclasses.replace(person, units=units)
    for rung, before in itertools.product(range(5), BEFORE):
        stage = STAGES["maize"][3 + rung]
        facts = fullest(rung=rung, previous_rung=before, stage=stage, series=None)
        note = FieldNote(facts, "note-a", 5, irrigated=bool(rung % 2))
        message = compose_note(reader, [note], Occasion(NOW, 30, linked=linked))
        body = re.sub(r"https://\S+|(?m:^-- $)", "", message.text)

        assert amiss(re.sub(r"\[[\d, ]+\]", "", body), units) == []
        assert say.rung_label(rung) in message.text
        assert "promise no yield" in " ".join(message.text.split())
        assert (GROWER_NAME in " ".join(message.text.split())) == (person is INES)
        assert ("links.invalid/stop" in message.html) == linked
        assert ("links.invalid/stop" in message.text) == linked
        assert "{{" not in message.html
        assert max(map(len, body.splitlines())) < 72


@pytest.mark.parametrize("units", UNITS)
def test_every_rung_fits_a_text_of_one_part_that_says_field_rung_and_stop(units):
    reader, contact = dataclasses.replace(MAREN, units=units), Contact(1, "text", "+15550100")
    for rung, before, news in itertools.product(range(5), BEFORE, ["", "grown_free", "held_again"]):
        facts = fullest(rung=rung, previous_rung=before, news=news)
        text = compose_text(reader, contact, [FieldNote(facts, "a", 5)], Occasion(NOW, 30)).text

        assert gsm.size(text).units <= gsm.SINGLE
        assert "#11" in text
        assert "STOP" in text
        assert RUNG_NAMES[rung] in text or say.ROOT_NEWS.get(news, "-") in text
        assert amiss(text.replace("...", ""), units) == []
