"""What the page for enrolling sends, put together to the values that the checks know."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import field_record
from rootbound_service.intake.people import read_person
from rootbound_service.intake.shapes import (
    Outline,
    from_corners,
    geometry_of,
    outline_of,
    read_shapes,
)
from rootbound_service.records import FieldRecord, Person
from rootbound_service.store.soil_record import NAMES as SOIL
from rootbound_service.web.access.forms import Sent
from rootbound_service.web.access.reader import Reader
from rootbound_service.web.pages.enrol_pack import packed_file
from rootbound_service.web.pages.enrol_place import read_place
from rootbound_service.web.pages.enrol_words import BOXES, titled

PASSED = ("name", "crop", "planted", "black_layer_gdd_f", *SOIL)
"""Under the same name on the page and in the checks."""
CARRIED = (
    "form_id", "name", "grower", "grower_name", "grower_email", "lat", "lon", "crop", "planted",
    "row_spacing", "seed_depth", "black_layer_gdd_f", "irrigated", "corners", "outline", "area",
    *SOIL,
)  # fmt: skip
"""What the next step's form carries on, so that nothing is typed twice."""
PLACES = (BOXES["lat"][0], BOXES["lon"][0])
SAME_DEGREES = 2e-5
"""Two metres: a place nearer to the middle of an outline is that middle. [degrees]"""


@dataclass(frozen=True, slots=True)
class Typed:
    """A field to be enrolled, as typed."""

    values: Mapping[str, object]
    outline: Outline | None
    several: tuple[Outline, ...]
    """Of an upload that holds more than one and did not say which."""
    problems: tuple[Problem, ...]
    kept: Mapping[str, str]
    """For the boxes and the hidden inputs of the next page."""


def typed_of(form: Sent, who: Reader, growers: Sequence[Person]) -> Typed:
    """Read the form, going on past every problem.

    Parameters
    ----------
    form
        As sent.
    who
        The adviser: spacing and depth are typed in their units.
    growers
        Of the account, to choose among.
    """
    problems: list[Problem] = []
    values: dict[str, object] = {name: form.get(name) for name in PASSED}
    unit = "in" if who.person.units == "us" else "cm"
    values |= {f"{name}_{unit}": form.get(name) for name in ("row_spacing", "seed_depth")}
    values["irrigated"] = "yes" if form.get("irrigated") else "no"
    values["units"] = who.person.units
    values["adviser"] = f"{who.person.name} <{who.person.email}>"
    values["grower"] = _grower(form, growers, problems)
    values["lat"], values["lon"] = read_place(form.get("lat"), form.get("lon"))
    found = _outlines(form, problems)
    outline = found[0] if len(found) == 1 else None
    kept = {name: form.get(name) for name in CARRIED}
    if outline is not None:
        values["lon"], values["lat"] = outline.middle
        kept |= {"lat": f"{outline.middle[1]:.6f}", "lon": f"{outline.middle[0]:.6f}"}
        values["name"] = values["name"] or outline.name
        kept["name"] = str(values["name"])
    kept |= _handed_on(outline, form)
    given = {name: value for name, value in values.items() if value not in {"", None}}
    several = found if len(found) > 1 else ()
    return Typed(given, outline, several, tuple(problems), {k: v for k, v in kept.items() if v})


def record_of(typed: Typed, who: Reader, now: datetime) -> FieldRecord:
    """Check what was typed.

    Parameters
    ----------
    typed
        From :func:`typed_of`.
    who
        The adviser.
    now
        The time: the field's own calendar says which day it is.

    Raises
    ------
    RefusedInput
        With every problem, each named as the page names its box.
    """
    hidden = {titled("grower")} if _about_grower(typed) else set[str]()
    if any(one.where.startswith(("Outline", "Corners")) for one in typed.problems):
        hidden |= set(PLACES)
    try:
        record = field_record(typed.values, today=now, label=titled)
    except RefusedInput as refused:
        more = [one for one in refused.problems if one.where not in hidden]
        raise RefusedInput((*typed.problems, *more)) from None
    if typed.problems:
        raise RefusedInput(typed.problems)
    return replace(record, account_id=who.account_id)


def _about_grower(typed: Typed) -> bool:
    return any(one.where.endswith("new grower") for one in typed.problems)


def _grower(form: Sent, growers: Sequence[Person], problems: list[Problem]) -> str:
    """The grower chosen from the account's, or a new one."""
    chosen = form.get("grower")
    for one in growers:
        if chosen == str(one.id):
            return f"{one.name} <{one.email}>"
    name, email = form.get("grower_name"), form.get("grower_email")
    if not (name or email):
        return ""
    if not name:
        where = titled("grower_name")
        problems.append(Problem(where, "is missing", "say what the grower is called"))
    try:
        found = read_person(f"{name or 'x'} <{email}>")
    except PydanticCustomError as error:
        what = str((error.context or {})["what"])
        at = "grower_email" if "address" in what else "grower_name"
        wanted = "write it as name@example.org" if at == "grower_email" else "give a plain name"
        problems.append(Problem(titled(at), what, wanted))
        return ""
    return f"{found[0]} <{found[1]}>" if name else ""


def _outlines(form: Sent, problems: list[Problem]) -> tuple[Outline, ...]:
    """The outline that was uploaded, drawn or carried on; of an upload perhaps several."""
    if form.get("no_outline"):
        return ()
    title = titled("outline")
    try:
        upload = form.file("shape") or packed_file(form)
        if upload is not None:
            return _chosen(read_shapes(upload.name, upload.data), form.get("shape_number"))
        title = titled("corners")
        if form.get("corners"):
            return (from_corners(form.get("corners")),)
        return _carried(form, problems)
    except RefusedInput as refused:
        problems += [replace(one, where=f"{title}, {one.where}") for one in refused.problems]
        return ()


def _carried(form: Sent, problems: list[Problem]) -> tuple[Outline, ...]:
    """The outline that the page before handed on."""
    carried = _json(form.get("outline"))
    if carried is None:
        return ()
    outline = replace(outline_of(carried), name=form.get("name"))
    _same_place(form, outline, problems)
    return (outline,)


def _same_place(form: Sent, outline: Outline, problems: list[Problem]) -> None:
    """A place typed beside an outline that is known must not be passed over in silence."""
    typed = read_place(form.get("lat"), form.get("lon"))
    try:
        lat, lon = map(float, typed)
    except ValueError:
        return
    if max(abs(lat - outline.middle[1]), abs(lon - outline.middle[0])) > SAME_DEGREES:
        what = "is not the middle of the outline that is known"
        problems.append(
            Problem(titled("lat"), what, "leave the outline out, or the place as it was")
        )


def _chosen(found: tuple[Outline, ...], number: str) -> tuple[Outline, ...]:
    """The one that was chosen by its number; all where none was."""
    if number.isascii() and number.isdecimal() and len(number) < 5:  # noqa: PLR2004  no huge one
        return found[int(number) - 1 : int(number)] if int(number) >= 1 else found
    return found


def _handed_on(outline: Outline | None, form: Sent) -> dict[str, str]:
    """An outline for the next page; drawn corners stand in their own box, to be changed there."""
    if form.get("no_outline"):
        return {"outline": "", "area": "", "corners": ""}
    if outline is None or (
        form.get("corners") and not form.get("packed") and not form.file("shape")
    ):
        return {"outline": "", "area": ""}
    return {
        "outline": json.dumps(geometry_of(outline)),
        "area": str(outline.area_ha),
        "corners": "",
    }


def _json(text: str) -> dict[str, object] | None:
    """An outline that a page carried on; what is none is left out."""
    try:
        found: object = json.loads(text) if text else None
    except (ValueError, RecursionError):
        return None
    return cast("dict[str, object]", found) if isinstance(found, dict) else None
