"""Small pictures: colours that stay what they are, and numbers where they belong."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from rootbound_service.notes import palette
from rootbound_service.notes.box import Box
from rootbound_service.notes.drawing import fixed_style
from rootbound_service.notes.inks import FADES, by_inks, inks
from rootbound_service.notes.lettering import Hand, extent
from rootbound_service.notes.sheet import Sheet


def pixels(sheet):
    return np.asarray(Image.open(io.BytesIO(sheet.png())).convert("RGB")).astype(int)


@pytest.fixture
def sheet():
    with fixed_style():
        yield Sheet(100, 60)


@pytest.fixture
def box(sheet):
    return Box(sheet, (0.1, 0.1, 0.8, 0.8), (0.0, 10.0), (0.0, 1.0))


def test_every_ink_comes_out_as_it_is():
    given = np.full((1, len(inks()), 4), 255, np.uint8)
    given[0, :, :3] = inks()

    assert np.array_equal(np.asarray(by_inks(given).convert("RGB"))[0], inks())


def test_an_empty_sheet_is_paper(sheet):
    assert (pixels(sheet) == 255).all()


def test_a_fading_edge_is_close_to_what_was_drawn(sheet, box):
    box.line([0, 10], [0.1, 0.9], palette.HELD, 2.0)
    drawn = np.asarray(sheet._agg.buffer_rgba())[..., :3].astype(int)

    assert abs(pixels(sheet) - drawn).max() <= 255 / FADES / 2 + 1


def test_numbers_lie_where_the_box_says(sheet, box):
    box.area([2, 4], 0.0, 0.5, palette.RAIN)
    rows, columns = np.nonzero((pixels(sheet) != 255).any(axis=2))

    assert (columns.min(), columns.max()) == pytest.approx((box.x(2), box.x(4) - 1), abs=1)
    assert (60 - rows.max(), 60 - rows.min()) == pytest.approx((box.y(0.0), box.y(0.5)), abs=1)


def test_an_unknown_number_parts_an_area(sheet, box):
    box.area([0, 1, 2, 5, 8, 9, 10], 0.0, [1, 1, 1, np.nan, 1, 1, 1], palette.RAIN)
    middle = pixels(sheet)[:, int(box.x(3)) : int(box.x(7))]

    assert (middle == 255).all()
    assert (pixels(sheet) != 255).any()


def test_nothing_is_drawn_beyond_the_box(sheet, box):
    box.line([-5, 15], [-3.0, 4.0], palette.HELD, 3.0)
    painted = pixels(sheet)

    assert (painted != 255).any()
    assert (painted[:, : int(box.left)] == 255).all()
    assert (painted[: int(60 - box.top)] == 255).all()


def test_words_are_as_wide_as_they_say(sheet):
    hand = Hand(10.0, palette.INK)
    wide = extent("Ilium", hand)[0]
    sheet.words(90, 20, "Ilium", hand, across="right")
    columns = np.nonzero((pixels(sheet) != 255).any(axis=(0, 2)))[0]

    assert columns.max() <= 90
    assert columns.min() == pytest.approx(90 - wide, abs=3)


def test_bold_words_take_more_room():
    assert extent("root", Hand(10.0, "x", bold=True))[0] > extent("root", Hand(10.0, "x"))[0]
