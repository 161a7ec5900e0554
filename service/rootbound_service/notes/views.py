"""One field as the strings a template shows, for a card and for a table row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say
from rootbound_service.notes.units import localise, water

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_rules.risk.action_rows import Action
    from rootbound_rules.risk.lookalikes import Lookalike
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units


@dataclass(frozen=True, slots=True)
class Figure:
    """A big number with its caption."""

    number: str
    caption: str
    tint: str = ""


@dataclass(frozen=True, slots=True)
class ActionView:
    """One thing to do; ``marks`` are the numbers of its sources in the footer."""

    text: str
    why: str
    caution: str
    marks: str


@dataclass(frozen=True, slots=True)
class FieldView:
    """What templates may show of one field."""

    name: str
    grower: str
    chip: str
    chip_class: str
    short_change: str
    line: str
    """Days ahead, stage and age of the weather in one line for a table."""
    held_water: str
    free_water: str
    change: str
    why: str
    cause: str
    water: str
    figures: tuple[Figure, ...]
    key_facts: tuple[tuple[str, str], ...]
    """When, what would hold it, how sure: read in a glance."""
    facts: tuple[tuple[str, str], ...]
    """What stands behind it."""
    actions: tuple[ActionView, ...] = ()
    picture: str = ""
    picture_alt: str = ""
    mistaken: str = ""
    """What it must not be mistaken for, and how to tell."""


def field_view(
    facts: FieldFacts,
    units: Units,
    members: int,
    actions: tuple[ActionView, ...] = (),
    picture: tuple[str, str] = ("", ""),
) -> FieldView:
    """Word one field.

    Parameters
    ----------
    facts
        The field.
    units
        The reader's units.
    members
        Past summers in the outlook; 0 when not known.
    actions
        What to do, with source numbers.
    picture
        Content-ID and alt text of its chart.
    """
    watched = facts.status == "watched" and facts.rung is not None
    held, free = facts.water_in_reach_mm, facts.free_water_mm
    return FieldView(
        name=facts.field_name,
        grower=facts.grower_name,
        chip=say.status_label(facts),
        chip_class=f"r{facts.rung}" if watched else "none",
        short_change=say.short_change(facts),
        line=_line(facts, units, watched=watched),
        held_water=water(held, units) if watched and held is not None else "",
        free_water=water(free, units) if free is not None else "",
        change=say.change(facts),
        why=say.why(facts),
        cause=say.cause(facts),
        water=say.water_line(facts, units),
        figures=_figures(facts, units) if watched else (),
        key_facts=_told(_key_facts(facts, units, members)),
        facts=_told(_facts(facts, units)),
        actions=actions,
        picture=picture[0],
        picture_alt=picture[1],
    )


def action_view(action: Action, units: Units, sources: Sequence[str]) -> ActionView:
    """Word one action; ``sources`` are the keys of the letter's footer in their order."""
    marks = ", ".join(str(sources.index(key) + 1) for key in action.source)
    return ActionView(
        text=localise(action.text, units),
        why=localise(action.why, units),
        caution=localise(action.caution, units),
        marks=marks,
    )


def _line(facts: FieldFacts, units: Units, *, watched: bool) -> str:
    """Return days ahead, what is to come, stage and age of the weather for a table."""
    ahead = say.short_ahead(facts.days_ahead) if watched else ""
    if not watched and facts.status == "unrated" and facts.rung is not None:
        ahead = say.free_rung_line(say.rung_label(facts.rung))
    age = say.weather_age(facts)
    weather = say.no_weather_word() if age is None else say.weather_age_words(age)
    heat = say.heat_words(facts, units)
    stage = f"{'; '.join(one for one in (say.short_stage(facts), heat, weather) if one)}."
    coming = say.short_when(facts, units) if watched else ""
    return _together(f"{ahead}." if ahead else "", coming, stage)


def lookalike_line(row: Lookalike, sources: Sequence[str]) -> str:
    """Word what a field is easily mistaken for; ``sources`` as for an action."""
    marks = ", ".join(str(sources.index(key) + 1) for key in row.source)
    return _together(row.looks, row.tell, row.caution, f"[{marks}]")


def _figures(facts: FieldFacts, units: Units) -> tuple[Figure, ...]:
    """Return the two or three numbers that matter most."""
    found: list[Figure] = []
    if facts.water_in_reach_mm is not None:
        held = water(facts.water_in_reach_mm, units)
        found.append(Figure(held, say.figure_captions(facts, units)[0], "held"))
    if (hold := say.hold_figure(facts.rain_to_hold, units)) is not None:
        found.append(Figure(*hold))
    ahead = facts.days_ahead
    if ahead.kind == "days" and ahead.median is not None and round(ahead.median) > 0:
        spread = say.span(ahead).replace(" ", "\u00a0")
        days = say.days(round(ahead.median))
        caption = say.figure_captions(facts, units)[1]
        found.append(Figure(days, f"{caption} ({spread})" if spread else caption))
    return tuple(found)


def _key_facts(facts: FieldFacts, units: Units, members: int) -> list[tuple[str, str]]:
    """Return what a reader wants first: when, what rain would hold it, how sure."""
    rated = facts.status == "watched"
    return [
        (say.LABELS["when"], say.when_line(facts, units)),
        (say.LABELS["rain"], say.hold_line(facts.rain_to_hold, units) if rated else ""),
        (say.LABELS["water"], _watering(facts, units) if rated else ""),
        (say.LABELS["sure"], _together(say.sure_line(facts, members), say.worse_line(facts))),
    ]


def _watering(facts: FieldFacts, units: Units) -> str:
    """Return what water would hold the field, unless rain has said the same already."""
    water, rain = facts.water_to_hold, facts.rain_to_hold
    if water is None or (water.kind != "rain" and rain is not None and rain.kind == water.kind):
        return ""
    return say.hold_line(water, units, say.WATER)


def _facts(facts: FieldFacts, units: Units) -> list[tuple[str, str]]:
    """Return what stands behind it."""
    rated = facts.status == "watched"
    return [
        (say.LABELS["ahead"], say.ahead_line(facts.days_ahead) if rated else ""),
        (say.LABELS["stage"], say.stage_line(facts)),
        (say.LABELS["roots"], say.roots_line(facts, units)),
        (say.LABELS["dig"], _together(say.dig_line(facts, units), say.plants_line(facts))),
        (say.LABELS["exposure"], say.exposure_line(facts) if rated else ""),
        (say.LABELS["seen"], say.observed_line(facts, units)),
        (say.LABELS["weather"], say.weather_line(facts, units)),
    ]


def _told(lines: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the labelled lines that have something to say."""
    return tuple((label, text) for label, text in lines if text)


def _together(*sentences: str) -> str:
    """Return sentences in a row, the empty ones left out."""
    return " ".join(one for one in sentences if one)
