"""The doctor puts something where weather is stored, reads it, and says what to do if it cannot."""

from __future__ import annotations

import pytest

from loopback.object_store import ObjectStore
from rootbound_service.nights.checkup_weather import look_at_weather
from service.weather.place_rig import objects_in


@pytest.fixture
def bucket():
    with ObjectStore() as made:
        yield made


def test_a_folder_that_can_be_written_is_well_and_left_as_it_was(tmp_path):
    found = look_at_weather(tmp_path, "t1")

    assert found.well
    assert str(tmp_path) in found.said
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_made_yet_is_well_and_not_made(tmp_path):
    assert look_at_weather(tmp_path / "later", "t1").well
    assert not (tmp_path / "later").exists()


def test_a_full_folder_is_bad_and_nothing_is_left(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    found = look_at_weather(tmp_path, "t1")

    assert not found.well
    assert "No space left on device" in found.said
    assert "room" in found.mend
    assert list(tmp_path.iterdir()) == []


def test_a_bucket_that_swaps_rightly_is_well_and_left_as_it_was(bucket):
    found = look_at_weather(objects_in(bucket, "w"), "t1")

    assert found.well
    assert found.said == "s3://weather/w can be written to and read"
    assert bucket.objects == {}


def test_a_bucket_that_heeds_no_condition_is_bad(bucket):
    bucket.heeds = False
    found = look_at_weather(objects_in(bucket, "w"), "t1")

    assert not found.well
    assert "although another was put meanwhile" in found.said
    assert "If-Match" in found.mend
    assert bucket.objects == {}


def test_a_bucket_that_refuses_the_key_is_bad_and_the_variables_are_named(bucket):
    bucket.faults.append(403)
    found = look_at_weather(objects_in(bucket, "w"), "t1")

    assert not found.well
    assert found.said.startswith("s3://weather/w: ")
    assert "AWS_ENDPOINT_URL" in found.mend
    assert "nobody" not in found.said + found.mend
