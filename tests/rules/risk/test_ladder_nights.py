"""The ladder night after night: any readings in any order, and what must hold of every one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from rootbound_rules.risk.cause import Cause, cause_of
from rootbound_rules.risk.ladder import (
    Memory,
    Reading,
    Reason,
    decide,
    held_back,
    raw_rung,
    threshold,
)
from rootbound_rules.tables import load_table

CHANCE = st.one_of(
    st.sampled_from([0.0, 0.16, 0.165, 0.24, 0.25, 0.33, 0.49, 0.5, 1.0]), st.floats(0, 1)
)
SOAKED = Reading(0.0, 0.0, 0.0, 0.0, 12.0, past_r4=False, critical=False)
DRAWING = replace(SOAKED, chance_14=0.6)
TIGHT = replace(SOAKED, chance_14=0.9, chance_7=0.9)
SHORT = replace(TIGHT, chance_short=0.9)
FAILING = replace(SHORT, chance_failing=0.9)
SHORT_AND_WETTED = replace(SHORT, chance_7=0.0)
READINGS = st.one_of(
    st.sampled_from([SOAKED, DRAWING, TIGHT, SHORT, FAILING, SHORT_AND_WETTED]),
    st.builds(
        Reading,
        chance_14=CHANCE,
        chance_7=CHANCE,
        chance_short=CHANCE,
        chance_failing=CHANCE,
        collars=st.sampled_from([0.0, 7.9, 8.0, 9.99, 10.0, 11.9, 12.0, 18.0]),
        past_r4=st.booleans(),
        critical=st.booleans(),
    ),
)
RISEN = {
    Reason.AMPLE: 0,
    Reason.STRESS_LIKELY_14_DAYS: 1,
    Reason.CRITICAL_14_DAYS: 1,
    Reason.STRESS_LIKELY_7_DAYS: 2,
    Reason.CRITICAL_7_DAYS: 2,
    Reason.SHORT_PAST_3_DAYS: 3,
    Reason.FAILING_PAST_7_DAYS: 4,
}
STANDS = {
    Reason.HELD_BY_HYSTERESIS,
    Reason.FALL_WAITS,
    Reason.RISE_WAITS,
    Reason.RAIN_NOT_KNOWN,
}


class Nights(RuleBasedStateMachine):
    """One field from its first night on; beside it a class-0 twin that reads the same."""

    @initialize()
    def first_night(self):
        self.memory = self.twin = self.before = None
        self.night = date(2026, 6, 1)
        self.shown = []
        """Night, rung and raw rung of every night with an answer; our own record."""
        self.told = 0
        """Rung people believe in; our own count, not the ladder's."""
        self.below = self.ample = self.above = 0

    @rule(reading=READINGS)
    def a_night(self, reading):
        self._pass(reading)

    @rule(reading=READINGS, nights=st.integers(2, 9))
    def nights_alike(self, reading, nights):
        for _ in range(nights):
            self._pass(reading)

    @rule(one=READINGS, other=READINGS, nights=st.integers(2, 8))
    def nights_that_flicker(self, one, other, nights):
        for step in range(nights):
            self._pass(one if step % 2 else other)

    @rule()
    def soaking_rain(self):
        self._pass(SOAKED)

    @rule(reading=READINGS)
    def a_night_whose_rain_is_not_known(self, reading):
        self._pass(reading, rain_known=False)

    @rule(nights=st.integers(1, 12))
    def nights_without_weather(self, nights):
        """Nothing is decided; what was shown stands, successive nights begin anew."""
        self.night += timedelta(days=nights)
        if self.memory is not None:
            self.memory = replace(self.memory, nights_below=0, nights_under_said=0)
            self.twin = replace(self.twin, nights_below=0, nights_under_said=0)
        self.below = self.ample = self.above = 0
        self.before = None

    @precondition(lambda self: self.before is not None)
    @rule()
    def the_last_night_run_again(self):
        reading, memory, night, made, rain_known = self.before
        assert _decided(reading, memory, night, rain_known=rain_known) == made

    def _pass(self, reading, *, rain_known=True):
        memory, night = self.memory, self.night
        rung = memory.rung if memory else 0
        raw, reason = raw_rung(reading)
        made = _decided(reading, memory, night, rain_known=rain_known)
        other = _decided(reading, self.twin, night, rain_known=rain_known)
        assert made.raw_rung == raw
        assert cause_of(made.rung, other.rung) in {Cause.NONE, Cause.GENERAL}
        self.below = self.below + 1 if raw < rung else 0
        # a rise held back makes the count begin anew, as does one of another raw rung
        self.above = self.above + 1 if raw > rung and rain_known else 0
        self._does_not_flap(rung, made)
        self._jumps_at_once(reading, rung, raw, made, rain_known=rain_known)
        self._falls_late(reading, rung, made)
        self._loses_no_rise(rung, raw, made)
        self._has_its_reason(rung, reason, made)
        self._tells_what_changed(rung, made)
        self.before = (reading, memory, night, made, rain_known)
        self.memory, self.twin = _remember(made), _remember(other)
        self.shown.append((night, made.rung))
        self.night += timedelta(days=1)

    def _does_not_flap(self, rung, made):
        if made.rung == rung or _jump(rung, made.rung):
            return
        assert not any(night > self.night - timedelta(days=3) for night in self._changes()), (
            "a second change within three nights that is no jump"
        )

    def _jumps_at_once(self, reading, rung, raw, made, *, rain_known):
        """What has happened does not wait for the settle rule."""
        if raw > rung and raw >= 3 and rain_known:
            assert made.rung == raw
        if rung >= 3 and rung - raw >= 2 and _wet_enough(reading, rung):
            assert made.rung == raw

    def _changes(self):
        """Nights on which what was shown changed, by our own record."""
        rung, found = 0, []
        for night, shown in self.shown:
            if shown != rung:
                found.append(night)
            rung = shown
        return found

    def _falls_late(self, reading, rung, made):
        if made.rung >= rung:
            return
        assert self.below >= 7 or _wet_enough(reading, rung)
        assert made.rung == made.raw_rung
        self.below = 0

    def _loses_no_rise(self, rung, raw, made):
        """A rise comes at once, or on the third night above at the latest; with its note."""
        if self.above >= 3 or (self.above and not self._changes()):
            assert made.rung == raw > rung
        if self.above >= 3 and made.rung > self.told:
            assert made.note
        if made.rung > rung:
            self.above = 0

    def _has_its_reason(self, rung, reason, made):
        if made.rung < rung:
            assert made.reason in {Reason.FELL_AFTER_NIGHTS, Reason.FELL_AFTER_WETTING}
        elif made.raw_rung < made.rung:
            assert made.reason in {Reason.HELD_BY_HYSTERESIS, Reason.FALL_WAITS}
        elif made.raw_rung > made.rung:
            assert made.reason in {Reason.RISE_WAITS, Reason.RAIN_NOT_KNOWN}
        else:
            assert made.reason is reason
            assert RISEN[reason] == made.rung
        assert (made.reason in STANDS) == (made.rung != made.raw_rung)

    def _tells_what_changed(self, rung, made):
        better = made.rung == 0 == made.raw_rung
        self.ample = self.ample + 1 if better else 0
        if made.note:
            assert made.rung != self.told  # never a note without a change of what was said
            assert made.rung > self.told or self.ample >= 3
            self.told = made.rung
        else:
            assert made.rung <= self.told  # a rise above what was said is always told
            assert not (better and self.told > 0 and self.ample >= 3)  # never a lost easing
            if (made.said_rung or 0) != self.told:  # forgotten after a week lower down
                assert made.rung == made.said_rung < self.told
                assert self._nights_there(made.rung) >= 7
                self.told = made.rung
        assert (made.said_rung or 0) == self.told
        assert made.changed_on == (self.night if made.rung != rung else self._last_change())

    def _nights_there(self, rung):
        """Successive nights on which this rung was shown, tonight included."""
        nights = 1
        for _, shown in reversed(self.shown):
            if shown != rung:
                break
            nights += 1
        return nights

    def _last_change(self):
        return max(self._changes(), default=None)


def _decided(reading, memory, night, *, rain_known):
    made = decide(reading, memory, night)
    return made if rain_known else held_back(made, memory)


def _remember(made):
    return Memory(
        made.rung, made.nights_below, made.said_rung, made.nights_under_said, made.changed_on
    )


def _jump(rung, after):
    """As the ladder's own words have it: to short or failing, or from there by two or more."""
    return after >= 3 if after > rung else rung >= 3 and rung - after >= 2


def _wet_enough(reading, rung):
    behind = {
        1: reading.chance_14,
        2: reading.chance_7,
        3: max(reading.chance_short, reading.chance_7),
        4: max(reading.chance_failing, reading.chance_7),
    }[rung]
    return not reading.dry and behind < 0.5 * (0.33 if reading.critical else 0.5)


Nights.TestCase.settings = settings(
    max_examples=120, stateful_step_count=25, deadline=None, derandomize=True
)
TestNights = Nights.TestCase


def test_the_ladders_own_numbers_are_those_this_file_counts_by():
    rows = load_table("ladder")
    assert rows.number("fall.nights") == 7
    assert rows.number("eased.nights") == 3
    assert rows.number("settle.nights") == 3
    assert rows.number("jump.fall_rungs") == 2
    assert rows.number("forget.nights") == 7
    assert rows.number("fall.wetting_share") == 0.5
    quiet = Reading(0, 0, 0, 0, 10, past_r4=False, critical=False)
    assert threshold(quiet) == 0.5
    assert threshold(replace(quiet, critical=True)) == 0.33
