"""Whatever is damaged, missing or strange in a backup is named, and nothing is touched."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest
from sqlalchemy import Engine, insert

from rootbound_service.errors import RefusedInput
from rootbound_service.store.backup_archive import open_archive
from rootbound_service.store.backup_check import check
from rootbound_service.store.backup_steps import one_writer
from rootbound_service.store.outbox import counts
from rootbound_service.store.restoring import verify
from rootbound_service.store.schema import operator
from service.store.backup_scene import (  # noqa: F401  (fixtures are found by their names)
    a_folder,
    a_source,
    a_tar,
    a_target,
    put_back,
    rewritten,
    rows,
    take,
    untouched,
)


def test_a_flipped_bit_in_any_file_is_named_and_nothing_is_touched(
    folder: Path, target: Engine, tmp_path: Path
) -> None:
    files = sorted(one for one in folder.rglob("*") if one.is_file())
    assert len(files) > 40
    for file in files:
        whole = file.read_bytes()
        middle = len(whole) // 2
        file.write_bytes(whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :])
        name = file.relative_to(folder).as_posix().replace(".sha256", ".json")

        with pytest.raises(RefusedInput, match=f"{name}: its checksum is not that") as refused:
            put_back(target, folder, tmp_path / "restored")

        assert len(refused.value.problems) == 1
        file.write_bytes(whole)
    assert untouched(target, tmp_path / "restored")


def test_every_missing_file_is_named(folder: Path, target: Engine, tmp_path: Path) -> None:
    (folder / "tables" / "field.jsonl.gz").unlink()
    (folder / "tables" / "person.jsonl.gz").unlink()

    with pytest.raises(RefusedInput) as refused:
        put_back(target, folder, tmp_path / "restored")

    assert [one.where.rpartition("/")[2] for one in refused.value.problems] == [
        "field.jsonl.gz",
        "person.jsonl.gz",
    ]
    assert {one.what for one in refused.value.problems} == {"it is missing"}
    assert untouched(target, tmp_path / "restored")


def test_a_tar_that_was_cut_off_anywhere_is_refused(
    tar: Path, target: Engine, tmp_path: Path
) -> None:
    whole = tar.read_bytes()
    end = len(whole.rstrip(b"\0"))
    for length in (0, 100, 512, 600, end // 3, end // 2, end - 1):
        tar.write_bytes(whole[:length])
        with pytest.raises(RefusedInput, match=r"whole\.tar: "):
            put_back(target, tar, tmp_path / "restored")
    assert untouched(target, tmp_path / "restored")


def test_a_flipped_byte_anywhere_in_a_tar_is_refused_or_was_of_no_account(tar: Path) -> None:
    whole = bytearray(tar.read_bytes())
    with open_archive(tar) as archive:
        said = archive.manifest
    refused = 0
    for at in range(0, len(whole), 997):
        whole[at] ^= 0xFF
        tar.write_bytes(whole)
        whole[at] ^= 0xFF
        try:
            with open_archive(tar) as archive:
                check(archive)
                assert archive.manifest == said
        except RefusedInput:
            refused += 1
    assert refused > 10


def test_rows_that_do_not_come_to_what_the_manifest_says_are_refused(folder: Path) -> None:
    told = json.loads((folder / "manifest.json").read_text("utf-8"))
    for one in told["tables"]:
        one["rows"] += one["name"] == "field"

    with (
        open_archive(rewritten(folder, tables=told["tables"])) as archive,
        pytest.raises(RefusedInput, match="it has 3 rows where the manifest says 4"),
    ):
        check(archive)


def test_a_name_that_leads_out_of_the_backup_is_refused(folder: Path, tmp_path: Path) -> None:
    told = json.loads((folder / "manifest.json").read_text("utf-8"))["files"]
    outside = {"name": "files/../../outside", "size": 0, "sha256": ""}

    with (
        open_archive(rewritten(folder, files=[*told, outside])) as archive,
        pytest.raises(RefusedInput, match="its name leads out of the backup"),
    ):
        check(archive)


@pytest.mark.parametrize("name", ["..", "../outside", "/outside", ".", "a/b", ""])
def test_a_folder_that_leads_out_of_the_data_folder_is_refused(folder: Path, name: str) -> None:
    with (
        open_archive(rewritten(folder, folders=[name])) as archive,
        pytest.raises(RefusedInput, match="is no name of a folder"),
    ):
        check(archive)


def test_a_newer_backup_is_refused(folder: Path, target: Engine, tmp_path: Path) -> None:
    rewritten(folder, revision="0999_later")
    with pytest.raises(RefusedInput, match="step 0999_later, which this version does not know"):
        put_back(target, folder, tmp_path / "restored")

    rewritten(folder, format=2)
    with pytest.raises(RefusedInput, match="it has format 2; this version reads format 1"):
        put_back(target, folder, tmp_path / "restored")

    assert untouched(target, tmp_path / "restored")


def test_verifying_restores_to_a_place_that_is_thrown_away(tar: Path, source: Engine) -> None:
    with open_archive(tar) as archive:
        done = verify(archive)
    with source.connect() as conn:
        waiting = counts(conn)["pending"]

    assert done.manifest.rows == sum(len(one) for one in rows(source).values())
    assert done.held == waiting


def test_verifying_finds_a_row_that_points_at_nothing(source: Engine, tmp_path: Path) -> None:
    with one_writer(source) as conn:
        conn.execute(insert(operator).values(person_id=77))

    with (
        open_archive(take(source, tmp_path / "bad")) as archive,
        pytest.raises(RefusedInput, match="row 77 of operator points at a row of person"),
    ):
        verify(archive)


def test_a_manifest_that_says_too_little_is_refused(folder: Path) -> None:
    rewritten(folder, tables=[{"name": "field"}])

    with (
        pytest.raises(RefusedInput, match=r"manifest\.json: it does not say what a backup says"),
        open_archive(folder),
    ):
        pass


def test_what_is_no_backup_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file.tar").write_text("no tar")
    with gzip.open(tmp_path / "packed.tar", "wb") as packed:
        packed.write(b"0" * 2000)
    for name in ("file.tar", "packed.tar", "nothing", "."):
        with (
            pytest.raises(RefusedInput, match=r"give the folder or the \.tar file"),
            open_archive(tmp_path / name),
        ):
            pass
