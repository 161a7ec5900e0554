"""Enrolling a crop that rests on less than maize does says so at once."""

from __future__ import annotations

import pytest

from rootbound_service.store.fields import list_fields

FLAGS = (
    "--name", "North Forty", "--lat", "42.03", "--lon", "-93.62", "--texture", "silt loam",
    "--planted", "2026-05-04", "--grower", "Ada Quill <ada@quill.example>",
)  # fmt: skip


@pytest.mark.parametrize("crop", ["soybean", "sorghum"])
def test_a_crop_is_enrolled_with_what_it_has_no_source_for(run, store, crop) -> None:
    result = run("enroll", *FLAGS, "--crop", crop)

    assert result.exit_code == 0
    assert f", {crop} planted 2026-05-04, " in result.stdout
    notes = result.stderr.splitlines()
    assert (
        f"note: {crop}: how a furrow wall holds its roots is taken from maize; no source" in notes
    )
    with store.connect() as conn:
        assert [field.crop for field in list_fields(conn)] == [crop]


def test_maize_is_enrolled_without_a_word_of_it(run) -> None:
    assert run("enroll", *FLAGS, "--crop", "corn").stderr == ""


def test_a_crop_without_a_table_is_refused_with_those_there_are(run, store) -> None:
    result = run("enroll", *FLAGS, "--crop", "oats")

    assert result.exit_code == 1
    assert "known: maize, soybean, sorghum" in result.stderr
    with store.connect() as conn:
        assert list_fields(conn) == []
