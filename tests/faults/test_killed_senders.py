"""Senders killed with SIGKILL in the middle of their work lose nothing; doubles can be told."""

from __future__ import annotations

from dataclasses import replace

from faults.kill_senders import Plan, run

SMALL = Plan(messages=80, senders=2, kills=4, lease_s=3.0, answer_s=0.02)
"""The whole table is made by ``kill_senders.py``; this is what every run of the tests can pay."""


def test_what_killed_senders_had_in_hand_is_sent_by_others_and_doubles_are_the_same_letter(store):
    outcome = run(store, SMALL)

    assert (outcome.kills, outcome.arrived, outcome.lost) == (4, 80, 0)
    assert (outcome.strangers, outcome.sent) == (0, 80)
    assert outcome.recognisable == outcome.doubles
    # a kill can double only the one letter that was under way
    assert outcome.doubles <= outcome.kills


def test_senders_that_nobody_kills_send_everything_once(store):
    outcome = run(store, replace(SMALL, kills=0, lease_s=60.0))

    assert (outcome.arrived, outcome.lost, outcome.doubles, outcome.sent) == (80, 0, 0, 80)
