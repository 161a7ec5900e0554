"""Enrolling many fields from a file: looked through first, kept at one press."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from pydantic_core import PydanticCustomError

from rootbound_rules.crop.words import CROPS
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.keep import keep
from rootbound_service.intake.people import read_person
from rootbound_service.intake.report import ImportReport
from rootbound_service.intake.shapes import geometry_of
from rootbound_service.store.audits import entries, log
from rootbound_service.store.once import taken_once
from rootbound_service.store.shapes import put_shape
from rootbound_service.store.standings import growers_with_mail
from rootbound_service.web.access.forms import Form, Sent, Upload
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages.enrol_pack import pack, packed_file, small_enough
from rootbound_service.web.pages.enrol_words import complaints, form_id_of
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.importing_rows import Looked, look_through, read_upload
from rootbound_service.web.pages.importing_table import (
    heads_of,
    lines_of,
    safe,
    table_to_mend,
)
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.records import Person
    from rootbound_service.web.parts import Desk

SHOWN = 300
"""Rows of each table of the preview; the counts are of all."""
USUAL = ("usual_grower", "usual_grower_name", "usual_grower_email", "usual_planted", "usual_crop")
COLUMNS = (
    "name", "lat", "lon", "planted", "grower", "crop", "row_spacing_in", "seed_depth_in",
    "black_layer_gdd_f", "irrigated", "texture",
)  # fmt: skip
EXAMPLE = (
    "North Forty", "41.6200", "-94.9200", "", "Ann Miller <ann@example.org>", "maize", "30", "2",
    "2700", "no", "silt loam",
)  # fmt: skip
"""An invented field, planted on the day the table is taken."""

routes = APIRouter()


@routes.get("/fields/import")
def blank(request: Request, desk: Served, who: Adviser, done: str = "") -> Response:
    """Show what a file must hold, and how many fields the last one brought."""
    return _first(request, desk, who, {}, (), done=form_id_of(done))


@routes.get("/fields/import/template.csv")
def template(desk: Served, who: Adviser) -> Response:
    """Give a table with the columns and one invented row."""
    today = today_of(who.person, desk.service.clock.now()).isoformat()
    out = io.StringIO()
    example = [
        today if head == "planted" else safe(cell)
        for head, cell in zip(COLUMNS, EXAMPLE, strict=True)
    ]
    csv.writer(out).writerows([COLUMNS, example])
    return _sheet(out.getvalue(), "rootbound-fields.csv")


@routes.post("/fields/import")
def send(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Look a file through, enrol its good rows, or give back those to mend."""
    now, step = desk.service.clock.now(), form.get("step")
    try:
        upload = small_enough(form.file("file") or packed_file(form) or Upload("", b""))
        found = read_upload(upload)
        with desk.reading() as conn:
            usual = _usual(conn, who, form)
            looked = look_through(conn, who, found, usual, now)
        if step == "keep":
            return _keep(desk, who, form, looked, now)
    except RefusedInput as refused:
        return _first(request, desk, who, form.flat(), refused.problems)
    heads = heads_of(looked.rows)
    lines = lines_of(looked.rows, heads, looked.report)
    if step == "mend":
        return _sheet(table_to_mend(lines, heads), "rootbound-to-mend.csv")
    bad = [one for one in lines if one.bad]
    ready = [one for one in lines if not one.bad]
    return shown(
        request,
        who,
        "import_preview",
        part="enrol",
        file_name=upload.name,
        heads=heads,
        bad=bad,
        ready=ready,
        most=SHOWN,
        looked=looked,
        report=looked.report,
        carried={name: form.get(name) for name in USUAL if form.get(name)},
        packed=pack(upload.data),
        form_id=form_id_of(form.get("form_id")) or str(uuid4()),
    )


def _usual(conn: Connection, who: Reader, form: Sent) -> dict[str, str]:
    """What counts where a row says nothing."""
    grower = _usual_grower(form, growers_with_mail(conn, who.account_id))
    said = {
        "grower": grower,
        "planted": form.get("usual_planted"),
        "crop": form.get("usual_crop"),
    }
    return {name: value for name, value in said.items() if value}


def _usual_grower(form: Sent, growers: Sequence[Person]) -> str:
    chosen = form.get("usual_grower")
    for one in growers:
        if chosen == str(one.id):
            return f"{one.name} <{one.email}>"
    name, email = form.get("usual_grower_name"), form.get("usual_grower_email")
    if not (name or email):
        return ""
    try:
        found = read_person(f"{name} <{email}>")
    except PydanticCustomError as error:
        what = str((error.context or {})["what"])
        wanted = "give the grower's name and mail address, or leave both empty"
        raise RefusedInput((Problem("New grower", what, wanted),)) from None
    return f"{found[0]} <{found[1]}>"


def _keep(desk: Desk, who: Reader, form: Sent, looked: Looked, now: datetime) -> Response:
    """Enrol the good rows, all of them or none, with their outlines and a line in the log."""
    form_id = form_id_of(form.get("form_id"))
    onward = RedirectResponse(f"/fields/import?done={form_id}", 303)
    with desk.reading() as conn:
        if taken_once(conn, who.actor, "field.import", form_id) is not None:
            return onward
    if not looked.report.good:
        what = "holds no field that is ready and not enrolled yet"
        raise RefusedInput((Problem("File", what, "look it through again, or send another"),))
    good = ImportReport(looked.report.good, (), len(looked.report.good), looked.report.places)

    def besides(conn: Connection, done: ImportReport) -> None:
        for one, place in zip(done.good, done.places, strict=True):
            outline = looked.outlines.get(place)
            if outline is not None:
                put_shape(conn, one.id, geometry_of(outline), outline.area_ha)
        many = len(done.good)
        log(conn, who.actor, now, "field.import", done.good[0].id, form=form_id, fields=many)

    kept = keep(
        desk.service.engine,
        good,
        keep_good=False,
        now=now,
        account_id=who.account_id,
        besides=besides,
    )
    if kept.problems:
        raise RefusedInput(kept.problems)
    return onward


def _first(
    request: Request,
    desk: Desk,
    who: Reader,
    typed: dict[str, str],
    problems: Sequence[Problem],
    *,
    done: str = "",
) -> Response:
    """The page to choose a file on."""
    with desk.reading() as conn:
        growers = growers_with_mail(conn, who.account_id)
        many = _brought(conn, who, done) if done else 0
    return shown(
        request,
        who,
        "import",
        422 if problems else 200,
        part="enrol",
        problems=complaints(problems),
        typed=defaultdict(str, typed),
        growers=growers,
        crops=CROPS,
        today=today_of(who.person, desk.service.clock.now()),
        done=many,
    )


def _brought(conn: Connection, who: Reader, form_id: str) -> int:
    """How many fields a form of this reader brought, by the log."""
    for one in entries(conn, who.account_id):
        if one.what == "field.import" and one.detail.get("form") == form_id:
            many = one.detail.get("fields")
            return many if isinstance(many, int) else 0
    return 0


def _sheet(text: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=headers)
