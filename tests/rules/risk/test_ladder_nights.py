"""The ladder night after night: any readings in any order, and what must hold of every one."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from rootbound_rules.risk.ladder import Memory, Reading, Reason, decide, raw_rung, threshold
from rootbound_rules.tables import load_table

CHANCE = st.one_of(
    st.sampled_from([0.0, 0.16, 0.165, 0.24, 0.25, 0.33, 0.49, 0.5, 1.0]), st.floats(0, 1)
)
READINGS = st.builds(
    Reading,
    chance_14=CHANCE,
    chance_7=CHANCE,
    chance_short=CHANCE,
    chance_failing=CHANCE,
    collars=st.sampled_from([0.0, 7.9, 8.0, 9.99, 10.0, 11.9, 12.0, 18.0]),
    past_r4=st.booleans(),
    critical=st.booleans(),
)
RISEN = {
    Reason.AMPLE: 0,
    Reason.STRESS_LIKELY_14_DAYS: 1,
    Reason.STRESS_LIKELY_7_DAYS: 2,
    Reason.SHORT_PAST_3_DAYS: 3,
    Reason.FAILING_PAST_7_DAYS: 4,
}


class Nights(RuleBasedStateMachine):
    """One field from its first night on."""

    @initialize()
    def first_night(self):
        self.memory = None
        self.told = 0
        """Rung people believe in; our own count, not the ladder's."""
        self.below = self.ample = self.under_told = 0

    @rule(reading=READINGS)
    def night(self, reading):
        self._pass(reading)

    @rule(reading=READINGS, nights=st.integers(2, 9))
    def nights_alike(self, reading, nights):
        for _ in range(nights):
            self._pass(reading)

    @rule()
    def soaking_rain(self):
        self._pass(Reading(0.0, 0.0, 0.0, 0.0, 12.0, past_r4=False, critical=False))

    def _pass(self, reading):
        before = self.memory.rung if self.memory else 0
        raw, reason = raw_rung(reading)
        made = decide(reading, self.memory)
        assert made.raw_rung == raw
        assert raw <= made.rung <= 4
        self.below = self.below + 1 if raw < before else 0
        self._falls_late(reading, before, made)
        self._has_its_reason(before, reason, made)
        self._tells_what_changed(before, made)
        self.memory = Memory(made.rung, made.nights_below, made.said_rung, made.nights_under_said)

    def _falls_late(self, reading, before, made):
        if made.rung >= before:
            return
        assert self.below >= 3 or _wet_enough(reading, before)
        assert made.rung == made.raw_rung
        self.below = 0

    def _has_its_reason(self, before, reason, made):
        if made.rung < before:
            assert made.reason in {Reason.FELL_AFTER_NIGHTS, Reason.FELL_AFTER_WETTING}
        elif made.raw_rung < made.rung:
            assert made.reason is Reason.HELD_BY_HYSTERESIS
        else:
            assert made.reason is reason
            assert RISEN[reason] == made.rung

    def _tells_what_changed(self, before, made):
        self.ample = self.ample + 1 if made.rung == 0 else 0
        stays = made.rung == before and self.under_told > 0
        self.under_told = (self.under_told + 1 if stays else 1) if made.rung < self.told else 0
        if made.note:
            assert made.rung != self.told
        if made.raw_rung > self.told:
            assert made.note  # never a lost rise
        if made.rung == 0 and self.told > 0 and self.ample >= 3:
            assert made.note  # never a lost easing
        if made.note or self.under_told >= 7:
            self.told, self.under_told = made.rung, 0
        assert (made.said_rung or 0) == self.told


def _wet_enough(reading, rung):
    behind = {
        1: reading.chance_14,
        2: reading.chance_7,
        3: max(reading.chance_short, reading.chance_7),
        4: max(reading.chance_failing, reading.chance_7),
    }[rung]
    return behind < 0.5 * (0.33 if reading.critical else 0.5)


Nights.TestCase.settings = settings(
    max_examples=200, stateful_step_count=25, deadline=None, derandomize=True
)
TestNights = Nights.TestCase


def test_the_ladders_own_numbers_are_those_this_file_counts_by():
    rows = load_table("ladder")
    assert rows.number("fall.nights") == rows.number("eased.nights") == 3
    assert rows.number("forget.nights") == 7
    assert rows.number("fall.wetting_share") == 0.5
    quiet = Reading(0, 0, 0, 0, 10, past_r4=False, critical=False)
    assert threshold(quiet) == 0.5
    assert threshold(replace(quiet, critical=True)) == 0.33
