"""Importing many fields: problems by row, all or nothing, or the good ones."""

from __future__ import annotations

import pytest

from rootbound_service.store.fields import list_fields

HEAD = "name,lat,lon,planted,texture,grower\n"
GOOD = "{},42.03,-93.62,2026-05-04,loam,Ada Quill <ada@quill.example>\n"
AT_SEA = "B,30,-40,2026-05-04,loam,Ada Quill <ada@quill.example>\n"


@pytest.fixture
def table(tmp_path):
    def write(*rows: str):
        path = tmp_path / "fields.csv"
        path.write_text(HEAD + "".join(rows))
        return path

    return write


def names(store) -> list[str]:
    with store.connect() as conn:
        return [field.name for field in list_fields(conn)]


def test_a_right_table_is_enrolled_whole(run, store, table) -> None:
    result = run("import", table(GOOD.format("A"), GOOD.format("C")))

    assert (result.exit_code, result.stdout, result.stderr) == (0, "Enrolled all 2 rows.\n", "")
    assert names(store) == ["A", "C"]


def test_one_bad_row_stores_nothing_and_says_how_to_keep_the_rest(run, store, table) -> None:
    result = run("import", table(GOOD.format("A"), AT_SEA, GOOD.format("C")))

    assert result.exit_code == 1
    assert result.stdout == (
        "3 rows, 1 problem: nothing was stored; --keep-good stores the rows without problems.\n"
    )
    assert names(store) == []


def test_problems_stand_in_a_table_by_row(run, table) -> None:
    result = run("import", table(AT_SEA, "C,42.03\n"))

    told = " ".join(result.stderr.split())
    assert result.stderr.splitlines()[0].split() == [
        *("where", "what", "is", "wrong", "what", "would", "be", "right")
    ]
    assert "line 2, lon" in told
    assert "lat 30, lon -40 is" in told
    assert "line 3" in told
    assert max(len(line) for line in result.stderr.splitlines()) <= 80


def test_good_rows_are_kept_when_asked_for_and_the_exit_says_partly(run, store, table) -> None:
    path = table(GOOD.format("A"), AT_SEA, GOOD.format("C"), GOOD.format("a"))

    result = run("import", path, "--keep-good")

    assert result.exit_code == 3
    assert result.stdout == "Enrolled 2 of 4 rows; 2 refused, see above.\n"
    assert names(store) == ["A", "C"]


def test_nothing_good_to_keep_is_a_refusal(run, store, table) -> None:
    result = run("import", table(AT_SEA), "--keep-good")

    assert (result.exit_code, names(store)) == (1, [])
    assert result.stdout == "1 row, 1 problem: nothing was stored.\n"


def test_a_file_that_is_not_there_is_named(run, tmp_path) -> None:
    result = run("import", tmp_path / "none.csv")

    assert result.exit_code == 1
    assert result.stderr == "rootbound: none.csv: is not there; give the name of a file\n"
