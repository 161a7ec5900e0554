"""The three pages of enrolling: the form, which field of a file, and the soil below it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import Request
from fastapi.responses import Response

from rootbound_rules.crop.words import CROPS
from rootbound_service.records import FieldRecord
from rootbound_service.store.schema import field
from rootbound_service.store.shapes import places_of
from rootbound_service.store.soil_record import NAMES as SOIL
from rootbound_service.store.standings import growers_with_mail
from rootbound_service.web.access.forms import Sent
from rootbound_service.web.access.reader import Reader
from rootbound_service.web.pages.enrol_form import CARRIED, Typed
from rootbound_service.web.pages.enrol_map import Neighbour, choice_map, place_map, ring_of
from rootbound_service.web.pages.enrol_pack import MOST_BYTES, pack, packed_file
from rootbound_service.web.pages.enrol_soil import memory_of, soil_at
from rootbound_service.web.pages.enrol_words import beside, complaints, form_id_of
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.soil_rows import WORDS, value_words

if TYPE_CHECKING:
    from rootbound_service.errors import Problem
    from rootbound_service.web.parts import Desk

HA_PER_ACRE = 0.40468564224
USUAL = {"us": ("in", "30", "2"), "metric": ("cm", "76", "5")}
"""Unit, row spacing and seed depth that most have."""
MOST_CHOICES = 60
"""More fields than this in one file are imported, not looked through for one."""
FOR_ALL = ("grower", "grower_name", "grower_email", "planted", "crop")
"""What was typed for one field and holds where the file says nothing of the others."""
MOST_ON_MAP = 1500
SOIL_BOXES = (
    ("texture", "such as silt loam", "text"),
    ("field_capacity", "share of the volume, 0.02 to 0.6", "decimal"),
    ("wilting_point", "share of the volume, below field capacity", "decimal"),
    ("clay_pct", "0 to 60", "decimal"),
    ("organic_matter_pct", "0 to 8", "decimal"),
    ("profile_depth_m", "as deep as roots can go, 0.3 to 2.5", "decimal"),
    ("water_table_m", "in spring, 0.3 to 100", "decimal"),
)


def form_page(
    request: Request,
    desk: Desk,
    who: Reader,
    typed: Mapping[str, str],
    problems: Sequence[Problem] = (),
) -> Response:
    """Show the form.

    Parameters
    ----------
    request, desk, who
        Who asks, and of whom.
    typed
        What stands in its boxes already.
    problems
        What is wrong with it.
    """
    with desk.reading() as conn:
        growers = growers_with_mail(conn, who.account_id)
        there = places_of(conn, field.c.account_id == who.account_id, limit=MOST_ON_MAP)
    told = complaints(problems)
    unit, row, seed = USUAL[who.person.units]
    return shown(
        request,
        who,
        "enrol",
        422 if problems else 200,
        part="enrol",
        typed=defaultdict(str, typed),
        problems=told,
        faults=beside(told),
        growers=growers,
        map=place_map(
            [Neighbour(one.name, (one.lon, one.lat), ring_of(one.shape)) for one in there]
        ),
        crops=CROPS,
        today=today_of(who.person, desk.service.clock.now()),
        form_id=form_id_of(typed.get("form_id", "")) or str(uuid4()),
        unit=unit,
        usual=(row, seed),
        soil={name: typed[name] for name in SOIL if typed.get(name)},
        size=size_words(_number(typed.get("area", "")), who),
    )


def choice_page(request: Request, who: Reader, form: Sent, typed: Typed) -> Response:
    """Ask which field of a file is meant, or lead on to importing all of them.

    Parameters
    ----------
    request, who
        Who asks.
    form, typed
        What was sent, with a file of several fields.
    """
    upload = form.file("shape") or packed_file(form)
    data = upload.data if upload is not None else b""
    packed = pack(data) if len(data) <= MOST_BYTES else ""
    outlines = typed.several[:MOST_CHOICES]
    return shown(
        request,
        who,
        "enrol_choice",
        part="enrol",
        carried={name: form.get(name) for name in CARRIED if form.get(name)},
        choices=[(n, one.name, size_words(one.area_ha, who)) for n, one in enumerate(outlines, 1)],
        for_all={f"usual_{name}": form.get(name) for name in FOR_ALL if form.get(name)},
        many=len(typed.several),
        map=choice_map(outlines),
        packed=packed,
        file_name=upload.name if upload is not None else "",
    )


def soil_page(  # noqa: PLR0913  what the page is shown with
    request: Request,
    desk: Desk,
    who: Reader,
    form: Sent,
    typed: Typed,
    record: FieldRecord,
    *,
    further: bool = False,
    problems: Sequence[Problem] = (),
) -> Response:
    """Show the soil of what was typed, to agree to or to say better.

    Parameters
    ----------
    request, desk, who
        Who asks, and of whom.
    form, typed, record
        What was sent, as typed and as checked.
    further
        The field is there, and this is its next season.
    problems
        What is wrong with the soil that was typed.
    """
    asked = soil_at(desk.service, memory_of(request), record)
    outline, profile = typed.outline, asked.profile
    told = complaints(problems)
    return shown(
        request,
        who,
        "enrol_soil",
        422 if problems else 200,
        part="enrol",
        record=record,
        size=size_words(outline.area_ha, who) if outline else "",
        notice=outline.notice if outline else "",
        further=further,
        carried={name: one for name, one in typed.kept.items() if name not in SOIL},
        soil=[
            (WORDS[one.name][0], value_words(one.name, one.value), one.origin)
            for one in asked.values
        ],
        profile=profile,
        title=_title(desk, profile.source) if profile else "",
        reasons=asked.reasons,
        boxes=[(name, *WORDS[name], how, kind) for name, how, kind in SOIL_BOXES],
        own=defaultdict(str, {name: form.get(name) for name, _, _ in SOIL_BOXES}),
        problems=told,
        faults=beside(told),
    )


def size_words(area_ha: float, who: Reader) -> str:
    """Say how large a field is, in the reader's unit; nothing for a point."""
    if area_ha <= 0.0:
        return ""
    return f"{area_ha / HA_PER_ACRE:.1f} ac" if who.person.units == "us" else f"{area_ha:.2f} ha"


def _number(text: str) -> float:
    """An area that this page was handed by us; 0 where it is none."""
    try:
        return float(text)
    except ValueError:
        return 0.0


def _title(desk: Desk, source: str) -> str:
    found = desk.service.parts.soils.get(source)
    return found.title if found is not None else source
