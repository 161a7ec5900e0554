"""The dig card as a form sends it: plant by plant, put together to one card."""

from __future__ import annotations

import re
from dataclasses import dataclass
from statistics import median, median_high

from rootbound_service.errors import Problem
from rootbound_service.intake.limits import CM_PER_INCH, PAN_DEPTH_CM, SEED_CM, SEED_IN, Limit
from rootbound_service.records import Units
from rootbound_service.web.access.forms import Sent

PLANTS = 10
"""Plants of one card; a second spot is a second card."""
WHOLE = "give a whole number of roots, 0 to 60"
MOST_ROOTS = 60
COUNTS = ("crossing", "held")
BOTH = "count both for this plant, or leave both empty"
PAN_DEPTH_IN = Limit("pan depth", 0.8, 31, "in")
NAMES = {
    "date": "day of the dig",
    "wall_class": "wall",
    "pan_class": "pan",
    "pan_depth_cm": "depth to the pan",
    "seed_depth_cm": "seed depth",
    "soil_moisture": "soil in the furrow",
    "form_id": "the card's own number",
}
SPOTS = {
    "day of the dig": "d-date",
    "wall": "w-1-0",
    "pan": "p-0",
    "depth to the pan": "d-pan",
    "soil in the furrow": "d-moist",
    "note": "d-note",
    "crossing": "c-1",
    "held": "h-1",
    "seed depth": "s-1",
    "photos": "d-photo",
}
OF_PLANT = re.compile(r"plant (\d+), (crossing|held|seed depth)")


@dataclass(frozen=True, slots=True)
class Plant:
    """One plant dug."""

    number: int
    crossing: int | None
    held: int | None
    wall: int | None
    seed: float | None
    """As typed, in the digger's unit."""


def plants_of(form: Sent, units: Units) -> tuple[tuple[Plant, ...], tuple[Problem, ...]]:
    """Read the plants that were filled in.

    Parameters
    ----------
    form
        The form.
    units
        The digger's: depths are typed in inches or centimetres.

    Returns
    -------
    tuple
        The plants, and every cell that cannot be right, by plant.
    """
    problems: list[Problem] = []
    found: list[Plant] = []
    for number in range(1, PLANTS + 1):
        cells = {
            name: form.get(f"{name}-{number}") for name in ("crossing", "held", "wall", "seed")
        }
        if not any(cells.values()):
            continue
        where = f"plant {number}"
        crossing, held = (_count(cells[one], f"{where}, {one}", problems) for one in COUNTS)
        for name, other in (COUNTS, COUNTS[::-1]):
            if cells[other] and not cells[name]:
                what = f"is empty, and {other} is {cells[other][:20]}"
                problems.append(Problem(f"{where}, {name}", what, BOTH))
        wall = int(cells["wall"]) if cells["wall"] in {*"0123"} else None
        limit = SEED_IN if units == "us" else SEED_CM
        seed = _depth(cells["seed"], f"{where}, seed depth", limit, problems)
        found.append(Plant(number, crossing, held, wall, seed))
    return tuple(found), tuple(problems)


def card_values(
    form: Sent, plants: tuple[Plant, ...], units: Units
) -> tuple[dict[str, object], tuple[Problem, ...]]:
    """Put the plants together to the values of one dig card.

    Parameters
    ----------
    form
        The form.
    plants
        From :func:`plants_of`.
    units
        The digger's: depths are typed in inches or centimetres.

    Returns
    -------
    tuple
        Values for ``intake.digs.dig_record``, and what is wrong with them so far. The wall is that
        of the middle plant, the worse of two; roots are summed over the plants that were counted.
    """
    problems: list[Problem] = []
    values: dict[str, object] = {"date": form.get("date"), "form_id": form.get("form_id")}
    walls = [one.wall for one in plants if one.wall is not None]
    if not walls:
        wanted = "say for one plant at least how the furrow's wall is"
        problems.append(Problem("wall", "no wall is rated", wanted))
    values["wall_class"] = median_high(walls) if walls else 0
    values["plants"] = len(plants)
    counted = [one for one in plants if one.crossing is not None and one.held is not None]
    if counted:
        values["crossing"] = sum(one.crossing or 0 for one in counted)
        values["held"] = sum(one.held or 0 for one in counted)
    seeds = [one.seed for one in plants if one.seed is not None]
    if seeds:
        values["seed_depth_cm"] = _cm(median(seeds), units)
    values["pan_class"] = form.get("pan_class", "0") or "0"
    limit = PAN_DEPTH_IN if units == "us" else PAN_DEPTH_CM
    pan = _depth(form.get("pan_depth"), NAMES["pan_depth_cm"], limit, problems)
    if pan is not None:
        values["pan_depth_cm"] = _cm(pan, units)
    elif values["pan_class"] != "0" and not form.get("pan_depth"):
        what = "is empty, and a pan was found"
        problems.append(Problem(NAMES["pan_depth_cm"], what, f"measure it: {limit.wanted()}"))
    values["soil_moisture"] = form.get("soil_moisture") or None
    values["note"] = form.get("note")
    given = {name: value for name, value in values.items() if value not in {None, ""}}
    return given, tuple(problems)


def name_of(value: str) -> str:
    """Name a value of the card as the page does."""
    return NAMES.get(value, value)


def spot_of(problem: Problem) -> str:
    """Give the input that a problem is about; empty where there is none."""
    of_plant = OF_PLANT.fullmatch(problem.where)
    if of_plant:
        return f"{of_plant[2][0]}-{of_plant[1]}"
    if problem.where.startswith("photo"):
        return SPOTS["photos"]
    return SPOTS.get(problem.where, "")


def told(plants: tuple[Plant, ...]) -> list[dict[str, object]]:
    """Give the plants as the log keeps them."""
    return [
        {"crossing": one.crossing, "held": one.held, "wall": one.wall, "seed": one.seed}
        for one in plants
    ]


def _count(text: str, where: str, problems: list[Problem]) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and int(text[:6]) <= MOST_ROOTS):
        problems.append(Problem(where, f"{text[:20]!r} is no count of roots", WHOLE))
        return None
    return int(text)


def _depth(text: str, where: str, limit: Limit, problems: list[Problem]) -> float | None:
    """A depth in the digger's own unit, which a refusal then speaks in too."""
    if not text:
        return None
    try:
        depth = float(text.replace(",", "."))
    except ValueError:
        what = f"{text[:20]!r} is no depth"
        problems.append(Problem(where, what, f"give a number: {limit.wanted()}"))
        return None
    if not limit.low <= depth <= limit.high:
        problems.append(Problem(where, f"{text[:20]} {limit.unit}", limit.wanted()))
        return None
    return depth


def _cm(depth: float, units: Units) -> float:
    return round(depth * CM_PER_INCH, 2) if units == "us" else depth
