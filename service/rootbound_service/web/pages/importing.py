"""Enrolling many fields from a file: looked through first, kept at one press."""

from __future__ import annotations

import base64
import csv
import io
import tempfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.keep import keep
from rootbound_service.intake.many import read_rows
from rootbound_service.intake.report import ImportReport, Row, report_on
from rootbound_service.store.audits import log
from rootbound_service.store.once import taken_once
from rootbound_service.web.access.forms import Form, Sent, Upload
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from rootbound_service.web.parts import Desk

MOST_BYTES, MOST_ROWS = 2_000_000, 5000
SHOWN = 300
"""Rows of the preview; the counts are of all."""
COLUMNS = (
    "name", "lat", "lon", "planted", "grower", "crop", "row_spacing_in", "seed_depth_in",
    "black_layer_gdd_f", "irrigated", "texture",
)  # fmt: skip
EXAMPLE = (
    "North Forty", "41.6200", "-94.9200", "2026-04-24", "Ann Miller <ann@example.org>", "maize",
    "30", "2", "2700", "no", "",
)  # fmt: skip
ENDS = (".csv", ".txt", ".geojson", ".json")
KINDS = "send a table as .csv, or outlines as .geojson; one outline goes to the page of one field"

routes = APIRouter()


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the preview."""

    text: str
    problem: str


@routes.get("/fields/import")
def blank(request: Request, who: Adviser) -> Response:
    """Show what a file must hold."""
    return shown(request, who, "import", part="enrol", columns=COLUMNS, problems=())


@routes.get("/fields/import/template.csv")
def template(who: Adviser) -> Response:
    """Give a table with the columns and one invented row."""
    del who
    out = io.StringIO()
    csv.writer(out).writerows([COLUMNS, EXAMPLE])
    name = 'attachment; filename="rootbound-fields.csv"'
    return Response(out.getvalue(), media_type="text/csv", headers={"Content-Disposition": name})


@routes.post("/fields/import")
def send(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Look a file through, or enrol its good rows."""
    now = desk.service.clock.now()
    try:
        upload = _upload(form)
        rows = _rows(upload)
        report = report_on([_ours(row, who) for row in rows], today=now)
        if form.get("step") == "keep":
            return _keep(desk, who, form, report, now)
    except RefusedInput as refused:
        problems = refused.problems
        return shown(request, who, "import", 422, part="enrol", columns=COLUMNS, problems=problems)
    heads = _heads(rows)
    return shown(
        request,
        who,
        "import_preview",
        part="enrol",
        file_name=upload.name,
        heads=heads,
        rows=[(row.place, _cells(row, heads, report)) for row in rows[:SHOWN]],
        report=report,
        more=max(len(rows) - SHOWN, 0),
        people=sorted({(one.grower.name, one.grower.email) for one in report.good}),
        packed=base64.b64encode(zlib.compress(upload.data)).decode(),
        form_id=form.get("form_id"),
    )


def _upload(form: Sent) -> Upload:
    """The file as chosen, or as the preview carries it on."""
    packed = form.get("packed")
    if packed:
        try:
            reader = zlib.decompressobj()
            data = reader.decompress(base64.b64decode(packed, validate=True), MOST_BYTES + 1)
        except (ValueError, zlib.error):
            raise RefusedInput((Problem("file", "was changed on its way", KINDS),)) from None
        upload = Upload(form.get("file_name"), data)
    else:
        upload = form.file("file") or Upload("", b"")
    if not upload.data:
        raise RefusedInput((Problem("file", "no file was chosen", KINDS),))
    if len(upload.data) > MOST_BYTES:
        what = f"is larger than {MOST_BYTES // 1_000_000} MB"
        raise RefusedInput((Problem("file", what, "split it"),))
    return upload


def _rows(upload: Upload) -> list[Row]:
    """Read the rows; the readers want a file, which lives as long as it is read."""
    end = Path(upload.name).suffix.lower()
    if end not in ENDS:
        raise RefusedInput((Problem("file", "is neither CSV nor GeoJSON", KINDS),))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"your file{end}"
        path.write_bytes(upload.data)
        rows = read_rows(path)
    if len(rows) > MOST_ROWS:
        what = f"has {len(rows)} rows"
        raise RefusedInput((Problem("file", what, f"send at most {MOST_ROWS} at once"),))
    return rows


def _ours(row: Row, who: Reader) -> Row:
    """A row whose adviser is whoever imports it, if it names none."""
    if row.problems or row.values.get("adviser"):
        return row
    mine = f"{who.person.name} <{who.person.email}>"
    values = {"units": who.person.units, **row.values, "adviser": mine}
    return Row(row.place, row.label, values, row.problems)


def _keep(desk: Desk, who: Reader, form: Sent, report: ImportReport, now: datetime) -> Response:
    """Enrol the good rows, all of them or none."""
    with desk.reading() as conn:
        if taken_once(conn, who.actor, "field.import", form.get("form_id")) is not None:
            return RedirectResponse("/today", 303)
    good = ImportReport(report.good, (), len(report.good), report.places)
    kept = keep(desk.service.engine, good, keep_good=False, now=now, account_id=who.account_id)
    if kept.problems:
        raise RefusedInput(kept.problems)
    with desk.writing() as conn:
        first = kept.good[0].id if kept.good else 0
        many = len(kept.good)
        log(conn, who.actor, now, "field.import", first, form=form.get("form_id"), fields=many)
    return RedirectResponse("/today", 303)


def _heads(rows: Sequence[Row]) -> list[str]:
    """Columns that some row fills in."""
    found: dict[str, None] = {}
    for row in rows:
        found |= dict.fromkeys(row.values)
    return list(found)


def _cells(row: Row, heads: Sequence[str], report: ImportReport) -> list[Cell]:
    """The cells of a row, each with what is wrong with it."""
    wrong = {one.where: f"{one.what}; {one.wanted}" for one in report.problems}
    broken = "; ".join(f"{one.what}; {one.wanted}" for one in row.problems)
    cells = [
        Cell(str(row.values.get(head, "") or ""), wrong.get(row.label(head), "")) for head in heads
    ]
    return [Cell(broken, broken)] if broken else cells
