"""Chains of CAP messages: what begins one, renews it, ends it, and what each names."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.feeds.cap_chain import BLIND_NIGHTS, HOLDS, LEAD, Mark, chain_of
from service.feeds.scene import FIRST, a_stand, chain, night_at, told


def kinds(links):
    return [one.kind for one in links]


def test_a_chain_begins_with_an_alert_and_each_update_names_all_that_still_hold():
    """CAP 1.2, 3.2.1: an Update updates and supersedes the earlier messages it names."""
    links = chain(0, 2, 3, 3, 4)

    assert kinds(links) == ["Alert", "Update", "Update", "Update"]
    # each holds for 36 hours: two nights back it has run out
    assert [len(one.names) for one in links] == [0, 1, 1, 1]
    assert links[2].names == (links[1].mark,)


def test_only_what_differs_from_the_night_before_is_news():
    links = chain(2, 2, 3, 3, "unknown", "unknown", 3, 2, 1)

    assert [one.is_news for one in links] == [
        True, False, True, False, True, False, True, True, True,
    ]  # fmt: skip


def test_a_field_that_eases_ends_its_chain_with_an_update_once():
    last = chain(2, 1)[-1]

    assert (last.kind, last.ends, last.rung) == ("Update", "eased", 1)
    assert chain(2, 1, 0, 0)[-1] == last


def test_a_finished_season_ends_its_chain_and_says_so():
    links = chain(3, "finished", "finished")

    assert [(one.kind, one.ends) for one in links] == [("Alert", ""), ("Update", "over")]


def test_a_warning_whose_dig_no_longer_stands_is_cancelled():
    last = chain(2, "unrated")[-1]

    assert (last.kind, last.ends) == ("Cancel", "wrong")


def test_a_field_without_an_answer_keeps_its_last_rung_and_is_not_cleared():
    links = chain(3, "unknown", "unknown")

    assert kinds(links) == ["Alert", "Update", "Update"]
    assert [(one.rung, one.blind, one.ends) for one in links] == [
        (3, False, ""), (3, True, ""), (3, True, ""),
    ]  # fmt: skip


def test_after_a_week_without_an_answer_a_warning_runs_out_uncleared():
    links = chain(3, *["unknown"] * 12)

    assert len(links) == 1 + BLIND_NIGHTS
    assert not any(one.ends for one in links)


def test_a_field_seen_again_as_ample_while_its_warning_holds_is_cleared():
    assert [one.ends for one in chain(3, "unknown", 0)] == ["", "", "eased"]


def test_after_nights_that_were_not_run_nothing_holds_any_more_and_a_new_alert_begins():
    assert kinds(chain(3, None, None, 3)) == ["Alert", "Alert"]


def test_one_night_that_was_not_run_breaks_the_chain_for_nothing_holds_longer():
    """36 hours after the first message the second night is 48 hours away."""
    assert kinds(chain(3, None, 3)) == ["Alert", "Alert"]


def test_fields_below_tight_and_fields_nobody_dug_are_never_warned_of():
    assert chain(0, 1, "waiting", "unrated", 1, "unknown", "finished") == []


def test_a_night_run_again_with_another_rung_names_what_it_takes_the_place_of():
    (link,) = chain(3, told=[told(0, 2)])

    assert link.kind == "Update"
    assert link.names == (Mark(107, night_at(0)[1].replace(microsecond=0) - timedelta(hours=1)),)
    assert link.is_news


def test_a_night_run_again_without_a_warning_cancels_the_one_it_had_made():
    (link,) = chain(1, told=[told(0, 3)])

    assert (link.kind, link.ends) == ("Cancel", "wrong")
    assert len(link.names) == 1


def test_what_earlier_nights_rightly_warned_of_is_no_mistake_when_tonight_is_run_again():
    last = chain(2, 1, told=[told(1, 3)])[-1]

    assert (last.kind, last.ends) == ("Update", "eased")
    assert len(last.names) == 2


def test_a_night_run_again_without_an_answer_keeps_what_it_had_said():
    (link,) = chain("unknown", told=[told(0, 3)])

    assert (link.kind, link.rung, link.blind) == ("Update", 3, True)


def test_what_letters_said_of_free_roots_was_no_warning():
    assert chain(1, told=[told(0, 2, "unrated")]) == []
    assert chain(0, told=[told(0, 1)]) == []


def test_a_message_is_named_by_the_moment_it_was_sent_so_that_a_night_run_again_has_another():
    stand = a_stand(3)
    later = replace(stand.nights[0], told_at=stand.nights[0].told_at + timedelta(hours=2))
    (first,), (again,) = (chain_of(one) for one in (stand, replace(stand, nights=(later,))))

    assert first.mark.name == "rootbound-107-20260710T093105"
    assert again.mark.name != first.mark.name


ONE = st.sampled_from([0, 1, 2, 3, 4, "unknown", "unrated", "waiting", "finished", None])
SOME = st.lists(st.tuples(ONE, st.integers(0, 23)), min_size=1, max_size=40)
"""What nights found, and the hour at which the run of each was done."""


def at_hours(some):
    """A field with nights whose runs were done at any hour of their days."""
    stand = a_stand(*(found for found, _ in some))
    hours = {night_at(step)[0]: hour for step, (_, hour) in enumerate(some)}
    moved = (
        replace(one, told_at=one.told_at.replace(hour=hours[one.night])) for one in stand.nights
    )
    return replace(stand, nights=tuple(moved))


def test_what_was_cleared_is_not_cleared_again_before_it_would_have_run_out():
    links = [*chain_of(at_hours([(2, 23), (0, 0), (0, 0)]))]  # 25 hours from first to last

    assert [one.ends for one in links] == ["", "eased"]


@given(SOME)
def test_every_update_and_cancel_names_exactly_what_still_holds(some):
    valid = []
    for link in chain_of(at_hours(some)):
        valid = [mark for mark in valid if mark.expires > link.mark.sent]
        assert list(link.names) == valid
        assert (link.kind == "Alert") == (not valid)
        assert link.mark.expires - link.mark.sent == HOLDS
        valid = [] if link.ends else [*valid, link.mark]


@given(SOME, st.integers(0, 30))
def test_a_chain_read_from_ten_nights_before_is_the_same_as_the_whole(some, cut):
    whole = at_hours(some)
    asked = FIRST + timedelta(days=cut)
    short = replace(whole, nights=tuple(one for one in whole.nights if one.night >= asked - LEAD))

    def seen(stand):
        return [link for link in chain_of(stand) if link.night >= asked]

    assert seen(short) == seen(whole)
