"""One field as the strings a template shows, for a card and for a table row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.notes import particulars, wording
from rootbound_service.notes.units import count, localise, water

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_rules.risk.actions import Action
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
    facts: tuple[tuple[str, str], ...]
    actions: tuple[ActionView, ...] = ()
    picture: str = ""
    picture_alt: str = ""


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
        chip=wording.status_label(facts),
        chip_class=f"r{facts.rung}" if watched else "none",
        short_change=wording.short_change(facts),
        line=_line(facts, watched=watched),
        held_water=water(held, units) if watched and held is not None else "",
        free_water=water(free, units) if free is not None else "",
        change=wording.change(facts),
        why=wording.why(facts),
        cause=wording.cause(facts),
        water=wording.water_line(facts, units),
        figures=_figures(facts, units) if watched else (),
        facts=tuple(_facts(facts, units, members)),
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


def _line(facts: FieldFacts, *, watched: bool) -> str:
    """Return days ahead, stage and age of the weather for a table."""
    ahead = wording.short_ahead(facts.days_ahead) if watched else ""
    if not watched and facts.status == "unrated" and facts.rung is not None:
        ahead = f"Free roots would be at {wording.rung_label(facts.rung)}"
    age = particulars.weather_age(facts)
    weather = "weather missing" if age is None else f"weather {particulars.age_words(age)}"
    stage = f"{particulars.short_stage(facts)}; {weather}."
    return f"{ahead}. {stage}" if ahead else stage


def _figures(facts: FieldFacts, units: Units) -> tuple[Figure, ...]:
    """Return the two or three numbers that matter most."""
    found: list[Figure] = []
    if facts.water_in_reach_mm is not None:
        held = water(facts.water_in_reach_mm, units)
        found.append(Figure(held, "water in reach of the held roots", "held"))
    if facts.free_water_mm is not None:
        free = water(facts.free_water_mm, units)
        found.append(Figure(free, "free roots would have", "free"))
    ahead = facts.days_ahead
    if ahead.kind == "days" and ahead.median is not None and round(ahead.median) > 0:
        spread = wording.span(ahead).replace(" ", "\u00a0")
        days = count(round(ahead.median), "day")
        caption = "sooner short than free roots"
        found.append(Figure(days, f"{caption} ({spread})" if spread else caption))
    return tuple(found)


def _facts(facts: FieldFacts, units: Units, members: int) -> list[tuple[str, str]]:
    """Return the labelled lines under a card; what has nothing to say is left out."""
    rated = facts.status == "watched"
    lines = [
        ("Days ahead", wording.ahead_line(facts.days_ahead) if rated else ""),
        ("How sure", wording.sure_line(facts, members)),
        ("Stage", particulars.stage_line(facts)),
        ("Dig", particulars.dig_line(facts, units)),
        ("Weather", particulars.weather_line(facts, units)),
    ]
    return [(label, text) for label, text in lines if text]
