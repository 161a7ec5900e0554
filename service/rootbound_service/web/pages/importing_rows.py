"""A file of fields, looked through cell by cell for one account; nothing is stored here."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.many import read_rows
from rootbound_service.intake.report import ImportReport, Row, report_on
from rootbound_service.intake.shape_rows import shape_rows
from rootbound_service.store.accounts import members_of
from rootbound_service.store.enrolled import named, outsiders, seasons_named
from rootbound_service.web.access.reader import Reader

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.intake.shapes import Outline
    from rootbound_service.records import FieldRecord
    from rootbound_service.web.access.forms import Upload

MOST_ROWS = 5000
SHEETS = (".xlsx", ".xls", ".ods", ".numbers")
ELSEWHERE = (
    "is the address of somebody whom nobody here can enrol by typing it",
    "invite them under People; once they have said yes, import the row again",
)
NO_ADVISER = ("is no adviser of this account", "leave the cell empty, or invite them under People")


@dataclass(frozen=True, slots=True)
class Found:
    """What a file holds, not yet checked."""

    rows: tuple[Row, ...]
    outlines: Mapping[str, Outline]
    unused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Looked:
    """A file looked through."""

    rows: tuple[Row, ...]
    """With what the page said for all of them filled in."""
    outlines: Mapping[str, Outline]
    unused: tuple[str, ...]
    report: ImportReport
    new_people: tuple[tuple[str, str], ...]
    """Name and address of growers who are not in the account."""


def read_upload(upload: Upload) -> Found:
    """Read the rows of a table or of a file of outlines, told apart by what it holds.

    Parameters
    ----------
    upload
        As sent.

    Raises
    ------
    RefusedInput
        If the file as a whole cannot be understood.
    """
    data = upload.data
    if not data.strip():
        raise RefusedInput((Problem("File", "is empty or was not chosen", "choose a file"),))
    if upload.name.lower().endswith(SHEETS):
        what, wanted = "is a workbook", "save its sheet as CSV (UTF-8) and send that"
        raise RefusedInput((Problem("File", what, wanted),))
    if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in {b"{", b"<"} or data[:2] in {b"PK", b"\xff\xfe"}:
        found = shape_rows(data)
        return Found(found.rows, found.outlines, found.unused)
    with tempfile.TemporaryDirectory() as folder:  # the readers of tables want a file
        path = Path(folder) / "File.csv"
        path.write_bytes(data)
        rows = read_rows(path)
    if len(rows) > MOST_ROWS:
        what = f"has {len(rows)} rows"
        raise RefusedInput((Problem("File", what, f"send at most {MOST_ROWS} at once"),))
    return Found(tuple(rows), {})


def look_through(
    conn: Connection, who: Reader, found: Found, usual: Mapping[str, str], now: datetime
) -> Looked:
    """Check every row, and what an account makes of it.

    Parameters
    ----------
    conn
        Reading is enough.
    who
        The adviser who imports.
    found
        From :func:`read_upload`.
    usual
        What counts where a row says nothing.
    now
        The time.
    """
    rows = tuple(_filled(row, who, usual) for row in found.rows)
    report = _here(conn, who, rows, report_on(rows, today=now))
    known = {one.email.casefold() for one, _ in members_of(conn, who.account_id)}
    people = {one.grower.email.casefold(): one.grower for one in report.good}
    new = tuple(sorted((p.name, p.email) for key, p in people.items() if key not in known))
    return Looked(rows, found.outlines, found.unused, report, new)


def _filled(row: Row, who: Reader, usual: Mapping[str, str]) -> Row:
    """A row with what the page said for all, and whoever imports as its adviser."""
    said = {name: value for name, value in row.values.items() if str(value or "").strip()}
    if not said:
        return row
    mine = {"adviser": f"{who.person.name} <{who.person.email}>", "units": who.person.units}
    return Row(row.place, row.label, {**row.values, **mine, **usual, **said}, row.problems)


def _here(conn: Connection, who: Reader, rows: Sequence[Row], report: ImportReport) -> ImportReport:
    """Take out what this account cannot enrol: what it has, and people of elsewhere."""
    labels = {row.place: row.label for row in rows}
    keys = {named(one.grower.email, one.name) for one in report.good}
    years = seasons_named(conn, who.account_id, keys)
    strangers = outsiders(conn, who.account_id, {one.grower.email for one in report.good})
    advisers = {
        one.email.casefold() for one, role in members_of(conn, who.account_id) if role == "adviser"
    }
    good: list[tuple[FieldRecord, str]] = []
    problems = list(report.problems)
    for one, place in zip(report.good, report.places, strict=True):
        wrong: list[Problem] = []
        label = labels[place]
        planted = years.get(named(one.grower.email, one.name), {}).get(one.planted.year)
        if planted is not None:
            what = f"is enrolled already, planted {planted}"
            wrong.append(Problem(label("name"), what, "leave the row out, or give another name"))
        if one.grower.email.casefold() in strangers:
            wrong.append(Problem(label("grower"), *ELSEWHERE))
        if one.adviser is not None and one.adviser.email.casefold() not in advisers:
            wrong.append(Problem(label("adviser"), *NO_ADVISER))
        problems += wrong
        if not wrong:
            good.append((one, place))
    fields, places = tuple(one for one, _ in good), tuple(place for _, place in good)
    return replace(report, good=fields, places=places, problems=tuple(problems))
