"""A night that was cut off is said by the next one; one that ended by itself is not."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from structlog.testing import capture_logs

from rootbound_service.worker.begun import FILE, in_hand

NIGHT = date(2026, 7, 14)
NOW = datetime(2026, 7, 14, 9, 30, tzinfo=UTC)


def said(folder, *, noted=True) -> list[dict]:
    with capture_logs() as logs, in_hand(folder, NIGHT, NOW):
        assert (folder / FILE).exists() is noted
    return logs


def test_a_night_that_ended_leaves_nothing_to_say(tmp_path):
    assert said(tmp_path) == []
    assert said(tmp_path) == []
    assert list(tmp_path.iterdir()) == []


def test_a_night_that_failed_was_not_cut_off(tmp_path):
    with pytest.raises(RuntimeError), in_hand(tmp_path, NIGHT, NOW):
        raise RuntimeError
    assert said(tmp_path) == []


@pytest.mark.parametrize("left", ["2026-07-13 2026-07-13T09:30:00+00:00", "", "\0\0"])
def test_what_a_killed_worker_left_is_said_once(tmp_path, left):
    (tmp_path / FILE).write_text(left, encoding="utf-8")

    (told,) = said(tmp_path)

    assert told["event"] == "night_was_cut_off"
    assert told["night"] == left.partition(" ")[0]
    assert said(tmp_path) == []


def test_a_folder_that_cannot_be_written_stops_no_night(tmp_path):
    assert said(tmp_path / "missing", noted=False) == []
