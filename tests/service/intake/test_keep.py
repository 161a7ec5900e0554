"""Storing an import in the real store: all or nothing, unless the good rows are asked for."""

from __future__ import annotations

import pytest

from rootbound_service.intake.keep import keep
from rootbound_service.intake.many import import_file
from rootbound_service.store.fields import list_fields


def names(store) -> list[str]:
    with store.connect() as conn:
        return [field.name for field in list_fields(conn)]


@pytest.fixture
def checked(write, csv_text, today):
    """Check a table of rows that differ from the right field as told."""
    return lambda *rows: import_file(write("fields.csv", csv_text(*rows)), today=today)


def test_one_bad_row_stores_nothing(store, checked) -> None:
    report = keep(store, checked({"name": "A"}, {"name": "B", "lat": "95"}), keep_good=False)

    assert (report.good, len(report.problems)) == ((), 1)
    assert names(store) == []


def test_the_good_rows_are_stored_when_asked_for(store, checked) -> None:
    report = keep(store, checked({"name": "A"}, {"lat": "95"}, {"name": "C"}), keep_good=True)

    assert [field.id > 0 for field in report.good] == [True, True]
    assert names(store) == ["A", "C"]


def test_what_the_store_refuses_is_named_by_its_line_and_loses_nothing(store, checked) -> None:
    keep(store, checked({"name": "A"}), keep_good=False)
    again = checked({"name": "A"}, {"name": "B"})

    refused = keep(store, again, keep_good=False)
    assert names(store) == ["A"]
    kept = keep(store, again, keep_good=True)

    told = "line 2, field A: Ada Quill has a field of this name, planted 2026-05-04"
    for report in (refused, kept):
        assert [str(problem).split(";")[0] for problem in report.problems] == [told]
    assert names(store) == ["A", "B"]
