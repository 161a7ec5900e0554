"""A night that is run again: one message of everything, and nothing that no longer holds."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.telling.again import Again, Earlier, what_now

WAITS = Earlier((9,), 1, {"a": 1})
SENT = Earlier(gone=frozenset({"a"}))
NOTHING = Again(frozenset())


def test_a_first_run_tells_everything():
    assert what_now(None, {"a", "b"}, ()) == Again(frozenset({"a", "b"}))


def test_the_same_again_leaves_what_waits_as_it_is():
    assert what_now(WAITS, {"a"}, ()) == NOTHING


def test_what_comes_to_a_waiting_message_is_told_in_one():
    assert what_now(WAITS, {"a", "b"}, ()) == Again(frozenset({"a", "b"}), anew=True)


def test_what_no_longer_holds_is_taken_back_before_anybody_reads_it():
    assert what_now(WAITS, (), ()) == Again(frozenset(), anew=True)


def test_a_run_without_an_answer_for_a_field_takes_nothing_back():
    assert what_now(WAITS, {"b"}, {1}) == Again(frozenset({"b"}))
    assert what_now(WAITS, (), {1}) == NOTHING


def test_what_was_sent_is_never_told_again():
    assert what_now(SENT, {"a"}, ()) == NOTHING
    assert what_now(SENT, {"a", "b"}, ()) == Again(frozenset({"b"}))


KEYS = st.frozensets(st.sampled_from("abcd"))


@given(KEYS, KEYS, KEYS, st.frozensets(st.integers(0, 3)))
def test_after_any_run_whatever_holds_was_told_once_and_what_has_an_answer_holds(
    waiting, gone, holds, unanswered
):
    gone -= waiting
    seasons = {key: "abcd".index(key) for key in waiting}
    earlier = Earlier((9,) if waiting else (), bool(waiting), seasons, gone)
    then = what_now(earlier, holds, unanswered)

    left = frozenset() if then.anew else waiting
    assert not then.keys & (left | gone)  # nothing twice
    assert holds <= then.keys | left | gone  # nothing lost
    wrong = {key for key in left - holds if seasons[key] not in unanswered}
    # what no longer holds stays only in a message that also tells of a field without answer
    assert not wrong or any(one in unanswered for key, one in seasons.items() if key not in holds)
