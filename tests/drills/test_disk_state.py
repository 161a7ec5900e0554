"""The disk of the power drill: what was synced is there, of the rest any part may be."""

from __future__ import annotations

from random import Random

from drills.disk_state import Disk
from drills.recording import Op

DB, JOURNAL = "/d/x.db", "/d/x.db-journal"


def cuts(ops: list[Op], many: int = 60) -> set[tuple[tuple[str, bytes], ...]]:
    return {
        tuple(sorted(Disk(b"old-", "x.db").play(ops).cut(Random(one)).certain.items()))
        for one in range(many)
    }


def test_a_write_that_was_synced_survives_every_cut():
    ops = [Op("write", DB, 0, b"new!"), Op("sync", DB)]

    assert cuts(ops) == {(("x.db", b"new!"),)}


def test_a_write_on_its_way_may_come_whole_in_part_as_zeros_or_not_at_all():
    found = {dict(one)["x.db"] for one in cuts([Op("write", DB, 0, b"new!")])}

    assert {b"old-", b"new!"} < found
    assert all(len(one) == 4 for one in found)


def test_a_journal_that_was_removed_may_be_there_again_until_its_folder_is_synced():
    written = [Op("make", JOURNAL), Op("write", JOURNAL, 0, b"j"), Op("sync", JOURNAL)]
    made = [*written, Op("tie", "/d")]
    gone = [*made, Op("gone", JOURNAL)]

    assert {"x.db-journal" in dict(one) for one in cuts(gone)} == {True, False}
    assert {"x.db-journal" in dict(one) for one in cuts([*gone, Op("tie", "/d")])} == {False}
