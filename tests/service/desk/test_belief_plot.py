"""The picture of how belief moved: drawn from the figures, the same for the same figures."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rootbound_service.desk.belief_plot import draw_belief

ROW: dict[str, Any] = {
    "name": "stress",
    "words": "stress of the last 7 known days",
    "unit": "stress-day equivalents",
    "before": [0.1, 0.6, 1.4],
    "after": [0.5, 0.9, 1.5],
}
FLAT = ROW | {"words": "water in reach", "unit": "mm", "before": [0.0] * 3, "after": [0.0] * 3}
TOLD: dict[str, Any] = {"used": [{}], "moved": [FLAT, ROW]}


def test_the_picture_names_field_quantities_and_units(tmp_path: Path) -> None:
    path = tmp_path / "belief.svg"
    draw_belief(TOLD, "North $40$ Forty", path)
    drawn = path.read_text("utf-8")

    for words in ("North $40$ Forty", "1 report", "Water in reach [mm]", "Stress of the last 7"):
        assert words in drawn


@pytest.mark.parametrize("name", ["belief.png", "belief.svg"])
def test_the_same_figures_give_the_same_file_and_others_another(tmp_path: Path, name: str) -> None:
    one, two, other = (tmp_path / f"{n}-{name}" for n in range(3))
    moved = TOLD | {"moved": [FLAT, ROW | {"after": [0.2, 0.3, 0.4]}]}
    for path, told in ((one, TOLD), (two, TOLD), (other, moved)):
        draw_belief(told, "North Forty", path)

    assert one.read_bytes() == two.read_bytes()
    assert one.read_bytes() != other.read_bytes()


def test_belief_that_did_not_move_is_not_drawn(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no report of leaves was used"):
        draw_belief({"used": [], "moved": []}, "North Forty", tmp_path / "belief.png")
