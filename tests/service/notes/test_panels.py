"""Small multiples: a picture a field, opaque, the same bytes, no mark-up in names."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from rootbound_service.notes.panels import HEIGHT_PX, WIDTH_PX, panel, panels, with_picture
from service.notes.cast import alder_county, field, unknown, unrated


def opened(facts, units="us"):
    return Image.open(io.BytesIO(panel(facts, units)))


def test_a_panel_is_opaque_and_of_one_size():
    picture = opened(field())

    assert picture.size == (WIDTH_PX, HEIGHT_PX)
    assert picture.convert("RGBA").getextrema()[3] == (255, 255)


def test_the_same_field_gives_the_same_bytes_and_units_change_them():
    assert panel(field(), "us") == panel(field(), "us")
    assert panel(field(), "us") != panel(field(), "metric")


def test_a_field_without_a_dig_shows_no_held_roots():
    def strokes(facts):
        pixels = np.asarray(opened(facts).convert("RGB")).reshape(-1, 3)
        return int((pixels == np.array([0x4A, 0x3A, 0x86])).all(axis=1).sum())

    assert strokes(field()) > 100
    assert strokes(unrated()) == 0


def test_fields_without_a_season_are_left_out_and_no_more_than_asked_are_drawn():
    assert [one.field_name for one in with_picture([unknown(), field()], 8)] == ["Long Acre"]
    assert len(with_picture([field(field_id=n) for n in range(20)], 6)) == 6


def test_a_field_without_a_season_cannot_be_drawn():
    with pytest.raises(ValueError, match="field 11 has no season"):
        panel(unknown(field_id=11), "us")


def test_every_picture_has_the_name_rung_and_numbers_of_its_field_in_words():
    fields = with_picture(alder_county(), 12)
    drawn = panels(fields, "metric", lambda facts, png: f"{facts.field_id}:{png[1:4].decode()}")

    assert [one.source for one in drawn] == [f"{facts.field_id}:PNG" for facts in fields]
    assert drawn[0].alt.startswith("Long Acre, 2 tight, 10 mm of water in reach, free roots 41 mm")


def test_a_name_with_dollars_is_drawn_as_it_is():
    # matplotlib would read it as a formula, and fail on this one
    assert panel(field("$5 Acre $\\frac$"), "us")


@pytest.mark.parametrize(
    "name", ["Quarry Bottom 2", "W" * 40, "Il", "Wolkersdorf estate, the north"]
)
def test_a_long_name_ends_before_the_rung(name):
    pixels = np.asarray(opened(field(name, rung=1)).convert("RGB"))[: HEIGHT_PX // 5].astype(int)
    ground = (abs(pixels - np.array([0xCF, 0xC8, 0xE6])).max(axis=2) < 8).sum(axis=0)
    start = int(np.flatnonzero(ground > 10)[0])

    assert (pixels[:, start - 5 : start - 1] > 240).all()
    assert (pixels[:, 30 : start - 5] < 100).any()
