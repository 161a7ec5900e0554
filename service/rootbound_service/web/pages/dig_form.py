"""The dig card as a form sends it: plant by plant, put together to one card."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median, median_high

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.limits import CM_PER_INCH
from rootbound_service.records import Units
from rootbound_service.web.access.forms import Sent

PLANTS = 10
"""Plants of one card; a second spot is a second card."""
WHOLE = "give a whole number of roots, 0 to 60"
MOST_ROOTS = 60
COUNTS = ("crossing", "held")


@dataclass(frozen=True, slots=True)
class Plant:
    """One plant dug."""

    number: int
    crossing: int | None
    held: int | None
    wall: int | None
    seed: float | None
    """As typed, in the digger's unit."""


def plants_of(form: Sent) -> tuple[Plant, ...]:
    """Read the plants that were filled in.

    Parameters
    ----------
    form
        The form.

    Raises
    ------
    RefusedInput
        With every cell that is no number, by plant.
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
        wall = int(cells["wall"]) if cells["wall"] in {*"0123"} else None
        seed = _depth(cells["seed"], where, problems)
        found.append(Plant(number, crossing, held, wall, seed))
    if problems:
        raise RefusedInput(tuple(problems))
    return tuple(found)


def card_values(form: Sent, plants: tuple[Plant, ...], units: Units) -> dict[str, object]:
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
    dict
        For ``intake.digs.dig_record``. The wall is that of the middle plant, the worse of two;
        roots are summed over the plants that were counted.
    """
    values: dict[str, object] = {"date": form.get("date"), "form_id": form.get("form_id")}
    walls = [one.wall for one in plants if one.wall is not None]
    if walls:
        values["wall_class"] = median_high(walls)
    values["plants"] = len(plants)
    counted = [one for one in plants if one.crossing is not None and one.held is not None]
    if counted:
        values["crossing"] = sum(one.crossing or 0 for one in counted)
        values["held"] = sum(one.held or 0 for one in counted)
    seeds = [one.seed for one in plants if one.seed is not None]
    if seeds:
        values["seed_depth_cm"] = _cm(median(seeds), units)
    values["pan_class"] = form.get("pan_class", "0") or "0"
    if depth := form.get("pan_depth"):
        values["pan_depth_cm"] = _cm_of(depth, units)
    values["soil_moisture"] = form.get("soil_moisture") or None
    values["note"] = form.get("note")
    return {name: value for name, value in values.items() if value not in {None, ""}}


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


def _depth(text: str, where: str, problems: list[Problem]) -> float | None:
    if not text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        what = f"{text[:20]!r} is no depth"
        problems.append(Problem(f"{where}, seed depth", what, "give a number, such as 2"))
        return None


def _cm(depth: float, units: Units) -> float:
    return round(depth * CM_PER_INCH, 2) if units == "us" else depth


def _cm_of(text: str, units: Units) -> float | str:
    """A depth in cm; what is no number is left to the check, which names it."""
    try:
        return _cm(float(text.replace(",", ".")), units)
    except ValueError:
        return text
