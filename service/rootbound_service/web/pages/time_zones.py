"""Time zones to choose among."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones

BEGINS = (
    "Africa/", "America/", "Antarctica/", "Asia/", "Atlantic/", "Australia/", "Europe/",
    "Indian/", "Pacific/",
)  # fmt: skip
"""Areas of the tz database (RFC 6557); its older names of the same zones are left out."""


@cache
def zones() -> tuple[str, ...]:
    """Give their names in order; UTC is among them."""
    return ("UTC", *sorted(one for one in available_timezones() if one.startswith(BEGINS)))
