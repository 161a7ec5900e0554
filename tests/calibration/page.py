"""The report as one page of HTML that needs nothing beside it."""

from __future__ import annotations

from typing import Any

from calibration import sections
from calibration.figures import reliability_picture, skill_picture
from calibration.markup import picture
from calibration.words import HEAD, METHOD, OPENING, READING, TAIL
from rootbound_service.notes import palette

STYLE = f"""
body {{ font: 16px/1.5 system-ui, "DejaVu Sans", sans-serif; color: {palette.INK};
  background: {palette.PAPER}; max-width: 1040px; margin: 0 auto; padding: 28px 20px 60px; }}
h1 {{ font-size: 30px; line-height: 1.2; margin: 0 0 6px; }}
h2 {{ font-size: 21px; margin: 44px 0 6px; padding-top: 14px;
  border-top: 1px solid {palette.RULE}; }}
p {{ max-width: 74ch; margin: 8px 0; }} .quiet {{ color: {palette.QUIET}; font-size: 14.5px; }}
img {{ width: 100%; height: auto; margin: 12px 0 4px; }}
.tiles {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(215px, 1fr)); gap: 12px;
  margin: 20px 0 8px; }}
.tile {{ background: {palette.PANEL}; border-radius: 8px; padding: 12px 16px; }}
.tile b {{ display: block; font-size: 27px; color: {palette.HELD}; }}
.tile span {{ font-size: 14px; color: {palette.QUIET}; }}
.wide {{ overflow-x: auto; }}
table {{ border-collapse: collapse; font-size: 14.5px; margin: 12px 0; width: 100%; }}
th, td {{ text-align: right; padding: 5px 10px; border-bottom: 1px solid {palette.RULE}; }}
th {{ color: {palette.QUIET}; font-weight: 600; vertical-align: bottom; }}
th:first-child, td:first-child {{ text-align: left; }} td {{ font-variant-numeric: tabular-nums;
  white-space: nowrap; }}
"""


def page(numbers: dict[str, Any]) -> str:
    """Return the page.

    Parameters
    ----------
    numbers
        From :func:`calibration.summary.summary`, with ``controls`` and ``seed`` beside.
    """
    parts = [
        HEAD.format(style=STYLE),
        OPENING.format(**numbers),
        sections.tiles(numbers),
        METHOD.format(**numbers),
        sections.world(numbers),
        READING["chances"],
        picture(reliability_picture(numbers), "What was said against what came true"),
        sections.chances(numbers),
        READING["skill"],
        picture(skill_picture(numbers), "Error saved against three simpler forecasts"),
        sections.skills(numbers),
        sections.rungs(numbers),
        READING["ahead"],
        sections.ahead(numbers),
        READING["water"],
        sections.water(numbers),
        READING["controls"],
        sections.controls(numbers),
        READING["table"],
        sections.reliability_table(numbers),
        TAIL.format(**numbers),
    ]
    return "\n".join(parts)
