"""What is usual is kept for so many cells, and worked out anew where it was let go."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.weather import normals_shelf
from rootbound_service.weather.day import Ask
from rootbound_service.weather.normals_shelf import FEWEST_YEARS, NormalsShelf
from service.weather.feed_rig import COARSE, a_feed

YEAR = 2026
ONE, TWO = COARSE.cell(264, 138), COARSE.cell(265, 138)


@pytest.fixture
def feed(tmp_path):
    made = a_feed(tmp_path, COARSE)
    begin, end = date(YEAR - FEWEST_YEARS, 1, 1), date(YEAR - 1, 12, 31)
    made.store.write(made.source.fetch(Ask((ONE, TWO), begin, end, date(YEAR, 1, 5))), None, end)
    made.store.note_asked((ONE, TWO), begin)
    return made


def test_a_full_shelf_still_answers_for_a_known_and_a_new_cell_together(feed, monkeypatch):
    monkeypatch.setattr(normals_shelf, "MOST_KEPT", 0)
    shelf = NormalsShelf(FEWEST_YEARS)
    alone = shelf.of(feed, [ONE], YEAR)

    both = shelf.of(feed, [ONE, TWO], YEAR)

    assert alone is not None
    assert both is not None
    assert both.mean.shape[1] == 2
    assert (both.mean[:, :1] == alone.mean).all()


def test_cells_with_too_few_past_years_have_nothing_usual(feed):
    assert NormalsShelf(30).of(feed, [ONE], YEAR - 1) is None
