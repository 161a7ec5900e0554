"""The colours of letters and charts: one hue, dark is worse, never without word and number."""

from __future__ import annotations

RUNG_FILL = ("#ECEAF4", "#CFC8E6", "#A99BD0", "#6F5AA8", "#3B2A6B")
RUNG_TEXT = ("#2B2540", "#2B2540", "#1E1833", "#FFFFFF", "#FFFFFF")

HELD = "#4A3A86"
FREE = "#2E7D8A"
RAIN = "#8FB4C9"
INK = "#22202B"
PAPER = "#FFFFFF"
PANEL = "#F6F5FA"
QUIET = "#5F5B6E"
"""Text of second rank, 6:1 on paper and panel."""
RULE = "#DAD6E6"
"""Hairlines."""
