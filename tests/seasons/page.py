"""The page on real seasons: its text, its tables and its pictures."""

from __future__ import annotations

import base64
from pathlib import Path

from rootbound_service.replay.report.chance_picture import chance_picture
from rootbound_service.replay.report.ladder_picture import ladder_picture
from rootbound_service.replay.report.picture import Picture
from rootbound_service.replay.views import views
from seasons import ablation, baselines, fallbacks, goals, roots, rungs, sensors, strength
from seasons.field import FIELD_CAPACITY, LATE_DAYS, TABLE_M, WILTING_POINT, trial_soil
from seasons.soil_data import measured_layers, with_water
from seasons.trial import Figures, Trial, figures
from seasons.words import FAILS, HEAD, MEANT, REJECTED, WET, YEARS_TOLD

PROFILE_M = 1.5


def write(trial: Trial, folder: Path, name: str) -> Path:
    """Write the page and its pictures.

    Parameters
    ----------
    trial
        All seasons played.
    folder
        Where to.
    name
        Of the page, without its ending; pictures begin with it.

    Returns
    -------
    Path
        Of the page.
    """
    found = figures(trial)
    parts = [
        *_opening(trial, found),
        *_pictures(trial, folder, name),
        *_meaning(trial, found, folder, name),
        *_physics(trial, found),
    ]
    folder.mkdir(parents=True, exist_ok=True)
    page = folder / f"{name}.md"
    page.write_text("\n\n".join(part.strip("\n") for part in parts) + "\n", encoding="utf-8")
    return page


def _opening(trial: Trial, found: Figures) -> list[str]:
    """What was tested on what, and the figures beside the goals."""
    rows = goals.goals(found, ablation.measured(), roots.measure(), sensed())
    head = HEAD.format(
        capacity=FIELD_CAPACITY,
        wilting=WILTING_POINT,
        table=TABLE_M,
        late=LATE_DAYS,
        seasons=len(trial.played),
    )
    return [head, goals.table(rows), rungs.without_each(found)]


def _pictures(trial: Trial, folder: Path, name: str) -> list[str]:
    """The ladder night by night, free roots and one wall class."""
    parts = ["## Every night of every season"]
    for view in views(trial.played):
        if view.wall_class in {None, 2}:
            short = "free" if view.wall_class is None else f"class-{view.wall_class}"
            title = "Free roots" if view.wall_class is None else f"Wall class {view.wall_class}"
            parts.append(_saved(ladder_picture(view, title), folder, f"{name}-{short}.svg"))
    return parts


def _meaning(trial: Trial, found: Figures, folder: Path, name: str) -> list[str]:
    """What rungs and chances were worth."""
    parts = [MEANT, rungs.meant(trial), rungs.of_classes(trial), "### Were the chances honest?"]
    for chance in rungs.chances(trial):
        picture = chance_picture(chance, f"Chances of {chance.days} days")
        parts += [rungs.said_of(chance), _saved(picture, folder, f"{name}-{chance.days}.svg")]
    return [*parts, YEARS_TOLD, rungs.by_year(trial, found), WET]


def _physics(trial: Trial, found: Figures) -> list[str]:
    """Where the skill comes from, the plain ways, roots, water, strength, missing weather."""
    plain = baselines.measure()
    return [
        ablation.section(ablation.measured()),
        REJECTED,
        baselines.section(plain),
        _gains(trial, plain),
        roots.section(roots.measure()),
        sensors.section(sensed()),
        strength.section(strength.measure()),
        fallbacks.section(fallbacks.measure()),
        FAILS,
    ]


def _gains(trial: Trial, plain: baselines.Measured) -> str:
    """By how much the model tells more than each plain way."""
    import numpy as np

    score = np.array([one.weighted for one in trial.free(plain.years)])
    rows = [
        f"| {name} | – |"
        if gain is None
        else f"| {name} | {gain.value:+.2f} ({gain.low:+.2f} to {gain.high:+.2f}) |"
        for name, gain in baselines.gains(plain, score).items()
    ]
    head = "| against | correlation nearer to -1 by (95 %), seasons under 600 mm |\n| --- | ---: |"
    return "\n".join(("**The model against each of them:**\n", head, *rows))


def sensed() -> sensors.Measured:
    """The trial's soil beside the sensors of 2018."""
    layers = [with_water(one, FIELD_CAPACITY, WILTING_POINT) for one in measured_layers()]
    return sensors.measure(sensors.trace_2018(trial_soil()), layers, PROFILE_M)


def _saved(picture: Picture, folder: Path, name: str) -> str:
    """Write a picture beside the page and return the line that shows it."""
    folder.mkdir(parents=True, exist_ok=True)
    data = picture.source.split(",", 1)[1]
    (folder / name).write_bytes(base64.b64decode(data))
    return f"**{picture.title}**\n\n![{picture.alt}]({name})"
