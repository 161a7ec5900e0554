"""The picture of a trace: it is made, the same bytes each time, and shows the season."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.image import imread
from matplotlib.text import Text

from rootbound_service.desk import plot
from rootbound_service.notes import palette

STAGES = {
    "maize": ["VE", "V6", "V10", "V14", "R1", "R3", "R5", "R6"],
    "soybean": ["VE", "V3", "V6", "R1", "R3", "R5", "R6", "R7"],
    "sorghum": ["emerged", "5-leaf", "GPD", "flag", "bloom", "black layer"],
}


def drawn(desk, text: str, weather) -> bytes:
    result = desk.trace(desk.field(text), weather, "--plot", desk.picture)

    assert result.exit_code == 0, result.stderr
    return desk.picture.read_bytes()


def share_of(picture, colour: str) -> float:
    """Share of the picture's points that have a colour."""
    wanted = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return float((np.abs(imread(picture)[..., :3] - wanted) < 0.01).all(axis=-1).mean())


def test_the_same_trace_gives_the_same_bytes(desk, sky, field_text, dig_text) -> None:
    weather = desk.weather(sky())

    first, again = (drawn(desk, field_text + dig_text, weather) for _ in range(2))

    assert first == again
    assert first.startswith(b"\x89PNG")


def test_both_twins_and_the_rain_are_in_the_picture(desk, sky, field_text, dig_text) -> None:
    drawn(desk, field_text + dig_text, desk.weather(sky()))

    for colour in (palette.HELD, palette.FREE, palette.RAIN, palette.RUNG_FILL[2]):
        assert share_of(desk.picture, colour) > 0.0005
    assert imread(desk.picture).shape[:2] == (930, 1200)


@pytest.mark.parametrize("crop", STAGES)
def test_the_stages_of_the_crop_stand_above_it(desk, sky, field_text, monkeypatch, crop) -> None:
    figures = []
    made = plot.new_figure
    monkeypatch.setattr(plot, "new_figure", lambda *size: figures.append(made(*size)) or figures[0])
    text = field_text.replace("maize", crop).replace("black_layer_gdd_f = 2600\n", "")

    drawn(desk, text, desk.weather(sky()))

    rain = figures[0].axes[0]
    assert [t.get_text() for t in rain.texts] == STAGES[crop]
    boxes = [t.get_window_extent() for t in rain.texts]
    assert all(left.x1 < right.x0 for left, right in pairwise(boxes))
    title = next(t for t in figures[0].findobj(Text) if t.get_text().startswith("Gravel Bend"))
    assert title.get_window_extent().x1 < figures[0].bbox.x1


@pytest.mark.parametrize("days", [1, 8, 40])
def test_a_season_that_has_only_begun_is_drawn(desk, sky, field_text, days) -> None:
    weather = desk.weather(sky(first=date(2021, 5, 5), days=days))

    assert len(drawn(desk, field_text, weather)) > 5_000


def test_irrigation_is_drawn_on_the_rain(desk, sky, field_text) -> None:
    dry = drawn(desk, field_text, desk.weather(sky()))
    rows = [row | {"irrigation_mm": 0.0} for row in sky()]
    rows[110]["irrigation_mm"] = 30.0

    assert drawn(desk, field_text, desk.weather(rows)) != dry


def test_a_name_that_looks_like_a_formula_is_drawn_as_it_is(desk, sky, field_text) -> None:
    text = field_text.replace("Gravel Bend", "$Field_{1}^")

    assert drawn(desk, text, desk.weather(sky()))


def test_another_kind_of_picture_is_refused_before_anything_is_computed(desk, field_text) -> None:
    result = desk.trace(desk.field(field_text), desk.folder / "none.csv", "--plot", "season.pdf")

    assert result.exit_code == 1
    assert result.stderr == "rootbound: season.pdf: is no PNG; end the name in .png\n"


def test_a_picture_that_cannot_be_written_is_said_in_a_sentence(desk, sky, field_text) -> None:
    away = desk.folder / "away" / "season.png"
    result = desk.trace(desk.field(field_text), desk.weather(sky()), "--plot", away)

    assert result.exit_code == 1
    assert f"{away}: cannot be written: No such file or directory; " in result.stderr
