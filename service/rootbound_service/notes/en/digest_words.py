"""The digest's prose: the week in a sentence, the titles of its lists, the lines under them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes.en import particulars, wording
from rootbound_service.notes.en.quantities import count, day, in_reach
from rootbound_service.notes.units import water, water_number

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.week import Outcome
    from rootbound_service.records import Units
    from rootbound_service.store.unreached import Unreached

NO_ANSWER = (
    "No answer",
    "What is known is not enough to say how these stand. Look for yourself.",
)
CHANGED = "What changed"
SOURCES = "Weather behind this"
GROWERS = "By grower"
OUTCOMES = (
    "What last week's warnings came to",
    (
        "By the weather that came since, not the one foreseen. A day of stress is one without "
        "any water in reach, or two with half of what the crop asks for."
    ),
)
UNREACHED = (
    "Notes that did not reach you",
    (
        "They could not be delivered in time, or were over the limit of texts. What they said is "
        "in the figures here."
    ),
)
SILENT = "Silent at your wish"
_TIGHT = 2
_CAME = 0.5
"""Days of stress from which a warning has come true; our choice."""


def summary(fields: Sequence[FieldFacts], units: Units) -> tuple[str, str]:
    """Return headline and summary of the week.

    Parameters
    ----------
    fields
        All fields, the most urgent first.
    units
        The reader's units.
    """
    warned = [facts for facts in fields if _rung(facts) >= _TIGHT]
    drawing = sum(_rung(facts) == 1 for facts in fields)
    if warned:
        headline = f"{_of(len(warned), fields)} tight or worse on water in reach."
    elif drawing:
        headline = f"{_of(drawing, fields)} drawing down; none is tight."
    else:
        headline = f"No warning on {count(len(fields), 'field')} this week."
    parts = [_worst(warned[0], units)] if warned else []
    parts += [_moves(fields), _open_ends(fields)]
    return headline, " ".join(part for part in parts if part)


def _rung(facts: FieldFacts) -> int:
    """Return the rung of a watched field, -1 of any other."""
    return facts.rung if facts.status == "watched" and facts.rung is not None else -1


def _of(number: int, fields: Sequence[FieldFacts]) -> str:
    """Return a share of all fields with its verb."""
    return f"{number} of {count(len(fields), 'field')} {'is' if number == 1 else 'are'}"


def _worst(facts: FieldFacts, units: Units) -> str:
    """Return the field to look at first, with its numbers."""
    stage = particulars.short_stage(facts)
    left = facts.water_in_reach_mm
    told = "" if left is None else f", {in_reach(left, units)}"
    return f"{facts.field_name} comes first: {wording.status_label(facts)}{told}, {stage}."


def _moves(fields: Sequence[FieldFacts]) -> str:
    """Return how many fields climbed and eased since last week."""
    steps = [_rung(facts) - (facts.previous_rung or 0) for facts in fields if moved(facts)]
    up, down = sum(step > 0 for step in steps), sum(step < 0 for step in steps)
    if not steps:
        return "No field changed its rung since last week."
    told = [f"{count(up, 'field')} climbed" if up else "", f"{down} eased" if down else ""]
    return f"Since last week {' and '.join(part for part in told if part)}."


def moved(facts: FieldFacts) -> bool:
    """Whether a watched field stands on another rung than last week."""
    before = facts.previous_rung
    return _rung(facts) >= 0 and before is not None and _rung(facts) != before


def _open_ends(fields: Sequence[FieldFacts]) -> str:
    """Return what is not known; silence is never fine."""
    unrated = sum(facts.status == "unrated" for facts in fields)
    unknown = sum(facts.status == "unknown" for facts in fields)
    dig = count(unrated, "field is", "fields are") + " still to be dug." if unrated else ""
    silent = count(unknown, "field has", "fields have") + " no answer." if unknown else ""
    return " ".join(part for part in (dig, silent) if part)


def changed_text(facts: FieldFacts) -> str:
    """Return what changed on a field since last week, and why."""
    return f"{wording.change(facts)} {wording.why(facts)} {wording.cause(facts)}"


def no_answer_text(facts: FieldFacts, units: Units) -> str:
    """Return what is known of a field that has no answer."""
    return f"{wording.change(facts)} {particulars.weather_line(facts, units)}"


def source_text(many: Mapping[date | None, int], night: date, units: Units) -> str:
    """Return the last real days of a source, and for how many fields each holds.

    Parameters
    ----------
    many
        Fields by the last real day behind them; None: none yet.
    night
        The night.
    units
        The reader's units.
    """
    known = sorted((one for one in many if one is not None), reverse=True)
    told = [_real(through, night, units) for through in known]
    told += ["no real weather yet"] if None in many else []
    counts = [many[through] for through in known] + ([many[None]] if None in many else [])
    parts = [f"{what}: {count(one, 'field')}" for what, one in zip(told, counts, strict=True)]
    return f"{'; '.join(parts)}."


def _real(through: date, night: date, units: Units) -> str:
    """Return the last real day and its age."""
    return f"real through {day(through, units)}, {count(max((night - through).days, 0), 'day')} old"


def grower_text(fields: Sequence[FieldFacts]) -> str:
    """Return how a grower's fields stand, as counts."""
    rungs = [_rung(facts) for facts in fields]
    told = [f"{rungs.count(rung)} {RUNG_NAMES[rung]}" for rung in (4, 3, 2, 1, 0) if rung in rungs]
    others = {"unrated": "not dug", "unknown": "without an answer", "waiting": "not up yet"}
    for status, word in (*others.items(), ("finished", "finished")):
        many = sum(facts.status == status for facts in fields)
        told += [f"{many} {word}"] if many else []
    return f"{count(len(fields), 'field')}: {', '.join(told)}."


def outcome_text(one: Outcome, units: Units) -> str:
    """Return what a warning came to, so far."""
    said = f"{wording.rung_label(one.rung)} on {day(one.night, units)}"
    said = said if one.dug else f"Not dug; free roots at {said}"
    if one.over:
        now = "finished now"
    elif one.rung_now is None:
        now = "no answer now"
    elif one.rung_now == one.rung:
        now = "the same now"
    else:
        now = f"{wording.rung_label(one.rung_now)} now"
    rain = "" if one.rain_mm is None else f" after {_fallen(one.rain_mm, units)}"
    if one.stress is None:
        return f"{said}, {now}{rain}; stress since then is not known."
    if round(one.stress, 1) == 0.0:
        return f"{said}, {now}{rain}. No stress since: so far it has not come."
    days = "day" if round(one.stress, 1) == 1.0 else "days"
    came = "It came" if one.stress >= _CAME else "A little came"
    return f"{said}, {now}{rain}. {came}: {one.stress:.1f} {days} of stress since."


def _fallen(rain_mm: float, units: Units) -> str:
    """Return rain as a phrase; what rounds to nothing is called none."""
    none = float(water_number(rain_mm, units)) == 0.0
    return "no rain" if none else f"{water(rain_mm, units)} of rain"


def unreached_text(one: Unreached, units: Units) -> str:
    """Return what a note said and why it did not get there."""
    why = {
        "expired": "it came too late to be sent",
        "dead": "it was refused by the mail or text service",
        "folded": "it was over two texts a week",
    }.get(one.status, "it was not sent")
    said = "no answer" if one.to_rung is None else wording.rung_label(one.to_rung)
    return f"{said[:1].upper()}{said[1:]} on {day(one.night, units)}; {why}."


def silent_text(until: date, units: Units) -> str:
    """Return until when a field is silent."""
    return f"No notes until {day(until, units)}."


def heat_words(facts: FieldFacts, units: Units) -> str:
    """Return heat units since planting against normal, for a table's line; maybe nothing."""
    normal = facts.heat_normal
    if normal is None or facts.status in {"waiting", "finished"}:
        return ""
    scale, unit = (1.0, "GDD F") if units == "us" else (1 / 1.8, "GDD C")
    now, off = facts.gdd_f_total * scale, (facts.gdd_f_total - normal.mean) * scale
    side = "above" if off > 0 else "below"
    way = "as normal" if abs(off) < 0.5 else f"{abs(off):.0f} {side} normal"  # noqa: PLR2004  (rounds to none)
    usual = normal.low <= facts.gdd_f_total <= normal.high
    return f"{now:,.0f} {unit}, {way}{'' if usual else ', unusual'}"


def week_line(week: int, night: date, units: Units) -> str:
    """Return the week and night a digest tells of."""
    return f"Week {week}, night of {day(night, units)}, {night.year}"


def onward_line(left: int) -> str:
    """Return that there is more on the page."""
    return f"{count(left, 'more field')} on the page" if left else "All of it as a page, to print"
