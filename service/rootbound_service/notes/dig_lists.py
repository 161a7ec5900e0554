"""What there is to dig on one night, as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_rules.risk.dig_again import DigAgain
    from rootbound_rules.risk.dig_list import FirstDig


@dataclass(frozen=True, slots=True)
class DigList:
    """What there is to dig on one night."""

    first: tuple[FirstDig, ...] = ()
    """Fields nobody has dug, in their order."""
    again: tuple[DigAgain, ...] = ()
    """Rated fields worth a second dig, in their order."""
