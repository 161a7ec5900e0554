"""A table of fields as CSV: comma or semicolon, quoted or not, byte order mark or none."""

from __future__ import annotations

from pathlib import Path

from rootbound_service.intake.csv_table import Columns, read_table
from rootbound_service.intake.report import Row
from rootbound_service.intake.sections import FIELD_KEYS

MUST_HAVE = ("name", "lat", "lon", "planted", "grower")
COLUMNS = Columns(
    known=FIELD_KEYS,
    must_have=MUST_HAVE,
    names=f"the first line names the columns: {', '.join(MUST_HAVE)} and the others",
    add="add fields",
)


def read_csv(path: Path) -> list[Row]:
    """Read a table of fields.

    Parameters
    ----------
    path
        The file; its first line that is not blank names the columns.

    Returns
    -------
    list[Row]
        A broken row carries its problem and no values; blank lines are left out.

    Raises
    ------
    RefusedInput
        If no row can be understood: no header, an unknown, doubled or missing column.
    """
    return read_table(path, COLUMNS)
