"""What the page for enrolling sends, put together to the values that the checks know."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.shapes import Outline, from_corners, read_shapes
from rootbound_service.records import Person, Units
from rootbound_service.web.access.forms import Sent

PASSED = (
    "name", "lat", "lon", "crop", "planted", "black_layer_gdd_f", "texture", "field_capacity",
    "wilting_point", "clay_pct", "organic_matter_pct", "profile_depth_m", "water_table_m",
)  # fmt: skip
"""Under the same name on the page and in the checks."""
DMS = re.compile(
    r"""\s*(?P<d>\d{1,3})\s*[°d\s]\s*(?P<m>\d{1,2}(?:\.\d+)?)\s*['\u2032m\s]?\s*
    (?:(?P<s>\d{1,2}(?:\.\d+)?)\s*["\u2033s]?\s*)?(?P<side>[NSEWnsew])\s*""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A field to be enrolled, as typed."""

    values: dict[str, object]
    outline: Outline | None
    corners: str
    """Of the outline, as the next form carries them on."""


def wanted_of(form: Sent, units: Units, growers: Sequence[Person], adviser: Person) -> Wanted:
    """Read the form.

    Parameters
    ----------
    form
        As sent.
    units
        The reader's: row spacing and seed depth are typed in them.
    growers
        Of the account, to choose among.
    adviser
        Who enrols.

    Raises
    ------
    RefusedInput
        If the place cannot be read.
    """
    values: dict[str, object] = {name: form.get(name) for name in PASSED}
    for name in ("lat", "lon"):
        values[name] = degrees(str(values[name]))
    unit = "in" if units == "us" else "cm"
    values[f"row_spacing_{unit}"] = form.get("row_spacing")
    values[f"seed_depth_{unit}"] = form.get("seed_depth")
    values["irrigated"] = "yes" if form.get("irrigated") else "no"
    values["units"] = units
    values["grower"] = _grower(form, growers)
    values["adviser"] = f"{adviser.name} <{adviser.email}>"
    outline = _outline(form)
    corners = form.get("corners")
    if outline is not None:
        values["lon"], values["lat"] = outline.middle
        if outline.rings:
            corners = " ".join(f"{lon:.6f},{lat:.6f}" for lon, lat in outline.rings[0])
    return Wanted({k: v for k, v in values.items() if v not in {"", None}}, outline, corners)


def degrees(text: str) -> str:
    """Turn degrees, minutes and seconds into decimal degrees; anything else stays as it is.

    Parameters
    ----------
    text
        Such as ``41° 37' 12" N``.
    """
    found = DMS.fullmatch(text)
    if found is None:
        return text.strip()
    whole = int(found["d"]) + float(found["m"]) / 60 + float(found["s"] or 0.0) / 3600
    return f"{-whole if found['side'] in 'SWsw' else whole:.6f}"


def _grower(form: Sent, growers: Sequence[Person]) -> str:
    """The grower chosen from the account's, or a new one."""
    chosen = form.get("grower")
    for one in growers:
        if chosen == str(one.id):
            return f"{one.name} <{one.email}>"
    name, email = form.get("grower_name"), form.get("grower_email")
    return f"{name} <{email}>" if name or email else ""


def _outline(form: Sent) -> Outline | None:
    """The outline that was uploaded or drawn."""
    upload = form.file("shape")
    if upload is not None:
        found = read_shapes(upload.name, upload.data)
        if len(found) > 1:
            which = form.get("shape_number")
            if which.isdecimal() and 1 <= int(which[:4]) <= len(found):
                return found[int(which[:4]) - 1]
            names = ", ".join(f"{n} {one.name}" for n, one in enumerate(found[:9], 1))
            what = f"has {len(found)} fields: {names}"
            wanted = "say which by its number, or import all of them"
            raise RefusedInput((Problem("outline file", what, wanted),))
        return found[0]
    return from_corners(form.get("corners")) if form.get("corners") else None


def carried(form: Sent, wanted: Wanted) -> Mapping[str, str]:
    """What the next step's form carries on, so that nothing is typed twice."""
    kept = {name: form.get(name) for name in form.values if name not in {"step", "form_token"}}
    kept["corners"] = wanted.corners
    for name in ("lat", "lon"):
        kept[name] = str(wanted.values.get(name, ""))
    return {name: value for name, value in kept.items() if value}
