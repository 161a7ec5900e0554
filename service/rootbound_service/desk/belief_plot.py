"""How reports of leaves moved belief, as one small picture: before above, after below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from rootbound_service.notes import palette
from rootbound_service.notes.drawing import fixed_style, new_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PRINT_DPI = 150
ROW_INCHES = 0.62
Told = Mapping[str, Any]


def draw_belief(told: Mapping[str, object], name: str, path: Path) -> None:
    """Draw each quantity's median and middle 80 % before and after the reports.

    Parameters
    ----------
    told
        From ``Belief.told()``, with at least one report used.
    name
        The field's name, for the title.
    path
        The picture, PNG or SVG by its name; written over.

    Raises
    ------
    ValueError
        If no report was used: there is nothing to draw.
    """
    moved = cast("Sequence[Told]", told["moved"])
    if not moved:
        message = "no report of leaves was used: belief did not move"
        raise ValueError(message)
    height = 0.9 + ROW_INCHES * len(moved)
    from matplotlib import style

    # Text stays text, and ids do not come from chance: the same figures, the same file.
    with fixed_style(), style.context({"svg.hashsalt": "rootbound", "svg.fonttype": "none"}):
        figure = new_figure(7.0, height)
        share = ROW_INCHES / height
        for row, one in enumerate(moved):
            bottom = 1.0 - (0.62 / height) - (row + 0.62) * share
            _row(figure.add_axes((0.46, bottom, 0.50, 0.34 * share)), one)
            figure.text(0.02, bottom + 0.17 * share, _label(one), fontsize=7.5, va="center")
        heard = len(cast("Sequence[Told]", told["used"]))
        title = f"{name}: belief before and after {heard} report{'s' if heard > 1 else ''}"
        figure.text(
            0.02, 1.0 - 0.26 / height, title, fontsize=11, fontweight="bold", parse_math=False
        )
        legend = "dashed: weather and dig alone; solid: with what was seen; middle 80 %, median"
        figure.text(0.02, 0.10 / height, legend, fontsize=7)
        figure.savefig(path, dpi=PRINT_DPI, facecolor=palette.PAPER, metadata=_unsigned(path))


def _row(axes: Axes, one: Told) -> None:
    """Both intervals of one quantity on a scale of their own."""
    for height, key, style, colour in (
        (1.0, "before", "--", palette.QUIET),
        (0.0, "after", "-", palette.INK),
    ):
        low, middle, high = one[key]
        axes.plot([low, high], [height, height], ls=style, lw=2.0, color=colour)
        axes.plot([middle], [height], marker="o", ms=5, color=colour)
    axes.set_ylim(-0.8, 1.8)
    axes.set_yticks([])
    axes.margins(x=0.06)
    if one["before"][0] == one["before"][2] == one["after"][0] == one["after"][2]:
        axes.set_xlim(one["after"][1] - 1.0, one["after"][1] + 1.0)
    axes.locator_params(axis="x", nbins=5)
    axes.tick_params(labelsize=7, length=2)
    axes.spines[["top", "right", "left"]].set_visible(False)


def _label(one: Told) -> str:
    unit = "" if one["unit"] == "-" else f" [{one['unit']}]"
    words = str(one["words"])
    return f"{words[0].upper()}{words[1:]}{unit}"


def _unsigned(path: Path) -> dict[str, None]:
    """Metadata without time or program, so that the same figures give the same file."""
    return {"Date": None} if path.suffix.lower() == ".svg" else {"Software": None}
