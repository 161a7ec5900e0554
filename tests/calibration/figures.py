"""The pictures of the report: one hue, drawn without a window, as PNG bytes."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from rootbound_service.notes import drawing, palette

BAR = palette.RUNG_FILL[0]
LABEL = 10
NAMES = {
    "stress7_held": "Stress in 7 days, held",
    "stress14_held": "Stress in 14 days, held",
    "onset14_held": "Onset in 14 days, held",
    "onset28_held": "Onset in 28 days, held",
    "onset_layer_held": "Onset this season, held",
    "onset_layer_free": "Onset this season, free",
    "rung2_or_worse": "Tight or worse, 2 weeks",
    "rung3_or_worse": "Rung short or worse, 2 weeks",
}
"""Chances that are shown, of held or free roots; all of them are in the numbers beside."""
OTHERS = (
    ("climatology", "the climate's usual", palette.RUNG_FILL[3]),
    ("rung_persists_as_chance", "last night's rung and what follows", palette.RUNG_FILL[2]),
    ("rung_persists", "last night's rung stays, yes or no", palette.RUNG_FILL[1]),
)  # fmt: skip


def _png(figure: Any) -> bytes:
    """The same bytes for the same figure."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=drawing.DPI, metadata={"Software": None})
    return out.getvalue()


def reliability_picture(numbers: dict[str, Any]) -> bytes:
    """Draw said against seen for eight chances, with the bars of mere chance."""
    with drawing.fixed_style():
        figure = drawing.new_figure(10.4, 5.7)
        for k, (name, title) in enumerate(NAMES.items()):
            axes = figure.add_subplot(2, 4, k + 1)
            _reliability(axes, numbers["chances"][name])
            axes.set_title(title, fontsize=LABEL, loc="left", color=palette.INK)
            if k % 4 == 0:
                axes.set_ylabel("came true", fontsize=LABEL)
            if k >= 4:
                axes.set_xlabel("chance said", fontsize=LABEL)
        figure.tight_layout(w_pad=1.0, h_pad=1.4)
        return _png(figure)


def _reliability(axes: Any, chance: dict[str, Any]) -> None:
    """One panel: bars, diagonal, points sized by their number of nights."""
    rows = chance["reliability"]
    said = np.array([row["said"] for row in rows])
    low, high = (np.array([row[key] for row in rows]) for key in ("bar_low", "bar_high"))
    axes.plot([0, 1], [0, 1], color=palette.RULE, lw=1.0, zorder=1)
    axes.vlines(said, low, high, color=palette.RUNG_FILL[1], lw=6, zorder=2)
    size = np.array([row["cases"] for row in rows], float)
    axes.scatter(
        said, [row["seen"] for row in rows], s=14 + 70 * size / size.max(), color=palette.HELD,
        edgecolor=palette.PAPER, linewidth=0.6, zorder=3,
    )  # fmt: skip
    axes.axhline(chance["seen"], color=palette.QUIET, lw=0.8, ls=":", zorder=1)
    axes.set(xlim=(-0.04, 1.04), ylim=(-0.04, 1.04), aspect="equal")
    ticks = [0.0, 0.5, 1.0]
    axes.set_xticks(ticks, ["0", "50 %", "100 %"])
    axes.set_yticks(ticks, ["0", "50 %", "100 %"])
    _quiet(axes)


def skill_picture(numbers: dict[str, Any]) -> bytes:
    """Draw how much of three simpler forecasts' error the outlook saves."""
    with drawing.fixed_style():
        figure = drawing.new_figure(10.4, 4.6)
        axes = figure.add_axes((0.22, 0.12, 0.76, 0.77))
        for k, name in enumerate(NAMES):
            for j, (other, _, color) in enumerate(OTHERS):
                one = numbers["chances"][name]["skill"][other]
                at = k + 0.25 * (j - 1)
                axes.barh(at, one["skill"], height=0.22, color=color, linewidth=0)
                axes.hlines(
                    at, one["skill"] - 1.64 * one["error"], one["skill"] + 1.64 * one["error"],
                    color=palette.INK, lw=1.0,
                )  # fmt: skip
        axes.set_yticks(range(len(NAMES)), list(NAMES.values()))
        axes.invert_yaxis()
        axes.axvline(0.0, color=palette.INK, lw=0.8)
        axes.set_xlim(min(0.0, *axes.get_xlim()), 1.0)
        axes.set_xticks([0, 0.25, 0.5, 0.75, 1.0], ["0", "25 %", "50 %", "75 %", "100 %"])
        axes.set_xlabel("share of the other forecast's squared error that is saved", fontsize=LABEL)
        from matplotlib.patches import Patch

        figure.legend(
            handles=[Patch(color=color, label=f"against {label}") for _, label, color in OTHERS],
            loc="upper left", bbox_to_anchor=(0.0, 1.0), ncols=3, frameon=False, fontsize=LABEL,
            columnspacing=1.4, handlelength=1.2,
        )  # fmt: skip
        _quiet(axes)
        return _png(figure)


def place_picture(panels: dict[str, list[int]], seasons: dict[str, int]) -> bytes:
    """Draw where the truth lay among the members, with the band of mere chance.

    Parameters
    ----------
    panels
        Title -> nights in each tenth of the range.
    seasons
        Title -> seasons behind them: what the band counts.
    """
    with drawing.fixed_style():
        figure = drawing.new_figure(10.4, 2.7)
        for k, (title, counts) in enumerate(panels.items()):
            axes = figure.add_subplot(1, len(panels), k + 1)
            share = np.array(counts) / max(sum(counts), 1)
            off = 1.64 * np.sqrt(0.1 * 0.9 / max(seasons[title], 1))
            axes.axhspan(0.1 - off, 0.1 + off, color=BAR, linewidth=0)
            axes.axhline(0.1, color=palette.QUIET, lw=0.8)
            axes.bar(np.arange(10) + 0.5, share, width=0.86, color=palette.RUNG_FILL[3])
            axes.set(xlim=(0, 10), ylim=(0, max(0.2, 1.1 * share.max())))
            axes.set_xticks([0, 5, 10], ["lowest", "middle", "highest"])
            axes.set_yticks([0, 0.1, 0.2], ["0", "10 %", "20 %"])
            axes.set_title(title, fontsize=LABEL, loc="left", color=palette.INK)
            _quiet(axes)
        figure.tight_layout(w_pad=1.2)
        return _png(figure)


def cover_picture(rows: list[tuple[str, float, float]]) -> bytes:
    """Draw shares of ranges that held the truth beside the 80 % they say.

    Parameters
    ----------
    rows
        Label, share and its standard error.
    """
    with drawing.fixed_style():
        lines = 0.34 * len(rows)
        tall = lines + 0.75
        figure = drawing.new_figure(10.4, tall)
        axes = figure.add_axes((0.2, 0.55 / tall, 0.76, lines / tall))
        axes.axvspan(0.76, 0.84, color=BAR, linewidth=0)
        axes.axvline(0.80, color=palette.QUIET, lw=0.8)
        for k, (_, share, error) in enumerate(rows):
            axes.hlines(k, share - 1.64 * error, share + 1.64 * error, color=palette.HELD, lw=1.6)
            axes.plot(share, k, "o", color=palette.HELD, ms=6, clip_on=False)
        axes.set_yticks(range(len(rows)), [label for label, _, _ in rows])
        axes.set(ylim=(len(rows) - 0.5, -0.5), xlim=(0.6, 1.0))
        axes.set_xticks([0.6, 0.7, 0.8, 0.9, 1.0], ["60 %", "70 %", "80 %", "90 %", "100 %"])
        _quiet(axes)
        return _png(figure)


def _quiet(axes: Any) -> None:
    """Only the lines that say something."""
    axes.tick_params(labelsize=LABEL - 1, length=3, color=palette.RULE)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
