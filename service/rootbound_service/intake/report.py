"""What came of reading a file of many fields."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import field_record
from rootbound_service.intake.wrong import Label
from rootbound_service.records import FieldRecord

Progress = Callable[[int], None]
"""Is told how many rows are done."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row as read: its place in the file, its values, or what broke it."""

    place: str
    label: Label
    values: Mapping[str, object]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class ImportReport:
    """The good fields of a file, every problem of the others, and how many rows it had."""

    good: tuple[FieldRecord, ...]
    problems: tuple[Problem, ...]
    rows: int
    places: tuple[str, ...] = ()
    """Where in the file each good field stands: ``line 3``."""

    @property
    def refused(self) -> int:
        """How many rows are not among the good."""
        return self.rows - len(self.good)


def report_on(
    rows: Iterable[Row], *, today: date, progress: Progress | None = None
) -> ImportReport:
    """Turn rows into records, going on past every bad one.

    Parameters
    ----------
    rows
        The rows of a file.
    today
        See :func:`rootbound_service.intake.fields.field_record`.
    progress
        Is told after each row how many are done.

    Returns
    -------
    ImportReport
        The second field of a grower under one name is refused, naming the first.
    """
    good: list[FieldRecord] = []
    places: list[str] = []
    problems: list[Problem] = []
    seen: dict[tuple[str, str], str] = {}
    count = 0
    for row in rows:
        found = list(row.problems) or list(_twice(row, seen))
        record: FieldRecord | None = None
        if not row.problems:
            try:
                record = field_record(row.values, today=today, label=row.label)
            except RefusedInput as refused:
                found += refused.problems
        problems += found
        if record is not None and not found:
            good.append(record)
            places.append(row.place)
        count += 1
        if progress:
            progress(count)
    return ImportReport(tuple(good), tuple(problems), count, tuple(places))


def _twice(row: Row, seen: dict[tuple[str, str], str]) -> Iterator[Problem]:
    """A grower's name for a field that stood further up."""
    name, grower = (str(row.values.get(key) or "").strip() for key in ("name", "grower"))
    key = (_same(name), _same(grower.rpartition("<")[2].rstrip("> ")))
    if name and key in seen:
        what = f'"{name}" is already the name of this grower\'s field on {seen[key]}'
        yield Problem(row.label("name"), what, "give each field of a grower its own name")
    seen.setdefault(key, row.place)


def _same(text: str) -> str:
    """Text as two people would compare it: case and spaces do not count."""
    return " ".join(text.split()).casefold()
