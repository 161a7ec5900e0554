"""The archive of weekly letters: which there are, and one of them as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.notes.pdf import pdf_of
from rootbound_service.store.digests import DigestRecord, digest_page, digests_of
from rootbound_service.store.people import find_person, list_people

if TYPE_CHECKING:
    from sqlalchemy import Connection

HEADS = ("digest", "week", "night", "for")
KINDS = (".html", ".pdf")


def digest_rows(conn: Connection, person: str | None, week: str | None) -> list[tuple[str, ...]]:
    """Give a row for each letter of the archive, the latest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person
        A name, a mail address or a number; None: everybody's.
    week
        Only of this week, as ``2026-W29``; None: of any.

    Raises
    ------
    RefusedInput
        If nobody is called so.
    """
    names = {one.id: one.name for one in list_people(conn)}
    return [
        (f"#{one.id}", one.week, one.night.isoformat(), names[one.person_id])
        for one in _listed(conn, person, week)
    ]


def save_digest(conn: Connection, path: Path, person: str | None, week: str | None) -> str:
    """Write the latest letter of a reader to a file, as a page or on paper.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    path
        Ends in ``.html`` or ``.pdf``.
    person, week
        As for :func:`digest_rows`; the person may be left out where only one has letters.

    Returns
    -------
    str
        What was written.

    Raises
    ------
    RefusedInput
        If the file's name says neither, there is no such letter, or it cannot be written.
    NoPdf
        If a PDF is asked for and cannot be set here.
    """
    if path.suffix.lower() not in KINDS:
        raise _refused(
            "--show", f"{path.name} is no page", "give a name that ends in .html or .pdf"
        )
    found = _one(_listed(conn, person, week))
    page = digest_page(conn, found.id) or ""
    content = pdf_of(page) if path.suffix.lower() == ".pdf" else page.encode()
    try:
        path.write_bytes(content)
    except OSError as error:
        what = f"{path} cannot be written ({error.strerror})"
        raise _refused("--show", what, "name a file in a folder that takes it") from error
    return f"Digest #{found.id}, {found.week}, night of {found.night}, is in {path}."


def _listed(conn: Connection, person: str | None, week: str | None) -> list[DigestRecord]:
    """The letters asked for, the latest first."""
    whose = None if person is None else find_person(conn, person).id
    return [one for one in digests_of(conn, whose) if week in {None, one.week}]


def _one(listed: list[DigestRecord]) -> DigestRecord:
    """The latest letter of one reader."""
    if not listed:
        wanted = "write it first with rootbound digest, or see rootbound digest --list"
        raise _refused("digest", "no such digest is kept", wanted)
    if (many := len({one.person_id for one in listed})) > 1:
        raise _refused("--person", f"{many} people have digests", "say whose: --person NAME")
    return listed[0]


def _refused(where: str, what: str, wanted: str) -> RefusedInput:
    """Word one refusal."""
    return RefusedInput((Problem(where, what, wanted),))
