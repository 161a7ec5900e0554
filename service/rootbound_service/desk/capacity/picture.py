"""A simulated night as a picture: how long each line was, hour by hour."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.notes import palette
from rootbound_service.notes.drawing import fixed_style, new_figure

if TYPE_CHECKING:
    from rootbound_service.desk.capacity.played import Played

LINES = {
    "pulls": "requests to make",
    "chunks": "chunks to compute",
    "rows": "chunks to write",
    "letters": "letters to write",
    "mail": "letters to send",
    "texts": "texts to send",
}
HOUR_S = 3600.0


def draw_night(night: Played, path: Path) -> None:
    """Draw the lines of a night, a strip each under one clock.

    Parameters
    ----------
    night
        As it went.
    path
        An SVG, PDF or PNG by its ending; written over.
    """
    import matplotlib as mpl

    with fixed_style(), mpl.rc_context({"svg.hashsalt": "rootbound"}):
        figure = new_figure(7.5, 6.5)
        first = None
        for place, (name, words) in enumerate(LINES.items()):
            at = (0.20, 0.83 - 0.145 * place, 0.76, 0.115)
            axes = figure.add_axes(at, sharex=first)
            first = first or axes
            line, each = night.stations[name].line, night.each.get(name, 1.0)
            hours = [moment / HOUR_S for moment, _ in line]
            axes.fill_between(
                hours, [many * each for _, many in line], step="post", color=palette.RUNG_FILL[2]
            )
            axes.set_ylim(bottom=0)
            axes.set_xlim(0, max(night.out_s / HOUR_S, 0.1))
            axes.set_ylabel(words.replace(" to ", "\nto "), fontsize=8, rotation=0, ha="right")
            axes.yaxis.set_label_coords(-0.09, 0.62)
            axes.spines[["top", "right"]].set_visible(False)
            axes.locator_params(axis="y", nbins=3)
            axes.tick_params(labelsize=8, labelbottom=name == "texts")
            if name == "texts":
                axes.set_xlabel("hours from the start of the night", fontsize=9)
        figure.text(0.20, 0.965, f"Lines of night {night.night}", fontsize=12, fontweight="bold")
        figure.savefig(path, facecolor=palette.PAPER, metadata=_no_date(path))


def _no_date(path: Path) -> dict[str, str | None]:
    """The same night, the same bytes: no date in the file."""
    names = {".svg": "Date", ".pdf": "CreationDate"}
    return {names[path.suffix]: None} if path.suffix in names else {}
