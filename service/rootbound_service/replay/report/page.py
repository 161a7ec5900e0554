"""The report as one page of HTML that needs nothing beside it."""

from __future__ import annotations

from functools import cache, partial
from typing import TYPE_CHECKING, Any

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_rules.tables import load_table
from rootbound_service.notes import palette
from rootbound_service.replay.contingency import FEWEST_EVENTS
from rootbound_service.replay.followed import WITHIN_DAYS
from rootbound_service.replay.headline import named
from rootbound_service.replay.report import say
from rootbound_service.replay.report.chance_picture import chance_picture
from rootbound_service.replay.report.ladder_picture import ladder_picture
from rootbound_service.replay.report.say import days
from rootbound_service.replay.report.season_rows import season_rows
from rootbound_service.replay.report.yield_facts import WET_MM
from rootbound_service.replay.report.yield_picture import yield_picture

if TYPE_CHECKING:
    from jinja2 import Template

    from rootbound_service.replay.report.facts import Facts
    from rootbound_service.replay.report.picture import Picture


def page(facts: Facts) -> str:
    """Write the report.

    Parameters
    ----------
    facts
        What it tells.

    Returns
    -------
    str
        HTML, the same for the same seasons.
    """
    ladder = load_table("ladder")
    played = [one for view in facts.views for one, _ in view.seasons]
    members = [night.members for one in played for night in one.nights]
    fields = list(dict.fromkeys(view.field for view in facts.views))
    name = partial(named, several=len(fields) > 1)
    years = sorted({one.year for one in played})
    context: dict[str, Any] = {
        "facts": facts,
        "about": facts.about,
        "fields": fields,
        "years": years,
        "short": any(one.short for one in facts.sums),
        "views": list(zip(facts.views, facts.sums, strict=True)),
        "ladders": [ladder_picture(view, name(view)) for view in facts.views],
        "rows": season_rows(facts),
        "chances": _chances(facts),
        "scatters": _scatters(facts),
        "members": (min(members, default=0), max(members, default=0)),
        "mark": ladder.number("onset_days"),
        "within": WITHIN_DAYS,
        "wet_mm": WET_MM,
        "fewest": FEWEST_EVENTS,
        "rungs": list(zip(range(5), RUNG_NAMES, palette.RUNG_FILL, palette.RUNG_TEXT, strict=True)),
        "say": say,
        "palette": palette,
        "named": name,
    }
    return _template().render(context) + "\n"


@cache
def _template() -> Template:
    """Load the page's template once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("rootbound_service.replay.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    ).get_template("report.html.j2")


def _chances(facts: Facts) -> list[tuple[Any, Picture]]:
    """Pictures of the chances beside their numbers."""
    return [
        (one, chance_picture(one, f"{days(one.stress, 'stress ')} or more in {one.days} days"))
        for one in facts.chances
    ]


def _scatters(facts: Facts) -> list[Picture]:
    """A picture for each score that changes from season to season."""
    if facts.yields is None:
        return []
    pairs = zip(facts.views, facts.yields.ours, strict=True)
    return [
        yield_picture(facts.yields, way, way.name, free=view.wall_class is None)
        for view, way in pairs
        if way.whole.pearson is not None
    ]
