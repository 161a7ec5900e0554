"""A file of many fields, whichever its kind."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_file import read_csv
from rootbound_service.intake.geojson import read_geojson
from rootbound_service.intake.report import ImportReport, Progress, Row, report_on

READERS = {".csv": read_csv, ".txt": read_csv, ".geojson": read_geojson, ".json": read_geojson}


def read_rows(path: Path) -> list[Row]:
    """Read the rows of a CSV or GeoJSON file, told apart by the end of its name.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    list[Row]
        Read, not yet checked.

    Raises
    ------
    RefusedInput
        If the file as a whole cannot be understood.
    """
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        wanted = "give a table as .csv or outlines as .geojson; one field as TOML goes to enroll"
        raise RefusedInput((Problem(path.name, "is neither CSV nor GeoJSON", wanted),))
    return reader(path)


def import_file(path: Path, *, today: date, progress: Progress | None = None) -> ImportReport:
    """Read a file of fields and check every row of it.

    Parameters
    ----------
    path
        CSV or GeoJSON.
    today
        See :func:`rootbound_service.intake.fields.field_record`.
    progress
        Is told after each row how many are done.

    Returns
    -------
    ImportReport
        Good fields and all problems; nothing is stored.

    Raises
    ------
    RefusedInput
        If the file as a whole cannot be understood.
    """
    return report_on(read_rows(path), today=today, progress=progress)
