"""The pictures: same bytes, opaque, readable without seeing them."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
from PIL import Image

from rootbound_service.notes.charts import note_chart
from rootbound_service.notes.speech import say
from service.notes.cast import field


def test_the_same_season_gives_the_same_bytes():
    assert note_chart(field().series, "us") == note_chart(field().series, "us")


def test_the_machines_own_chart_settings_do_not_show(monkeypatch):
    import matplotlib as mpl

    plain = note_chart(field().series, "us")
    monkeypatch.setitem(mpl.rcParams, "lines.linewidth", 9.0)
    monkeypatch.setitem(mpl.rcParams, "font.size", 30.0)

    assert note_chart(field().series, "us") == plain


def test_the_note_chart_is_six_inches_wide_and_opaque():
    picture = Image.open(io.BytesIO(note_chart(field().series, "us")))

    assert picture.size == (660, 308)
    assert picture.convert("RGBA").getextrema()[3] == (255, 255)


def test_units_change_the_chart():
    assert note_chart(field().series, "us") != note_chart(field().series, "metric")


def test_a_field_without_a_dig_shows_no_held_roots():
    held = np.array([0x4A, 0x3A, 0x86])

    def strokes(png):
        pixels = np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).reshape(-1, 3)
        return int((pixels == held).all(axis=1).sum())

    assert strokes(note_chart(field().series, "us")) > 500
    assert strokes(note_chart(field().series, "us", held=False)) == 0


def test_the_reach_of_the_roots_is_drawn_where_they_were_dug():
    series = field().series
    known = replace(series, reach=np.full(len(series.dates), 0.5))

    assert note_chart(known, "us") != note_chart(series, "us")
    assert note_chart(known, "us", held=False) == note_chart(series, "us", held=False)


def test_the_alt_text_has_the_numbers():
    assert say.chart_alt(field(), "us").startswith(
        "Long Acre, 2 tight, 0.4 in of water in reach, free roots 1.6 in, "
        "reach of the roots 58%, rain of the last 14 days"
    )
