"""Where days and water lie in the picture of a season."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

LEFT, RIGHT, TOP = 40.0, 36.0, 16.0
RAIN, STRIP, STAGES, AXIS = 52.0, 22.0, 24.0, 22.0
"""Heights of the rain, the rungs, the stages, the months."""
GAP = 8.0
HAPPENED = 44.0
"""Between the water and the rungs: what people saw and did above, notes below."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The scales of one picture."""

    width: float
    plot: float
    """Height of the water's part."""
    first: date
    last: date
    low: float
    high: float
    """Ends of the water's scale, in the reader's unit."""
    rain_high: float

    @property
    def water_top(self) -> float:
        """Top of the water's part."""
        return TOP + RAIN + 3 * GAP

    @property
    def water_foot(self) -> float:
        """Foot of the water's part."""
        return self.water_top + self.plot

    @property
    def strip_top(self) -> float:
        """Top of the strip of rungs."""
        return self.water_foot + HAPPENED

    @property
    def stage_top(self) -> float:
        """Top of the bands of stages."""
        return self.strip_top + STRIP + GAP / 2

    @property
    def height(self) -> float:
        """Of the whole."""
        return self.stage_top + STAGES + AXIS

    @property
    def day_wide(self) -> float:
        """Width of a day."""
        return (self.width - LEFT - RIGHT) / max((self.last - self.first).days + 1, 1)

    def x(self, day: date) -> float:
        """Left edge of a day, kept within the picture."""
        days = min(max((day - self.first).days, 0), (self.last - self.first).days + 1)
        return LEFT + days * self.day_wide

    def middle(self, day: date) -> float:
        """Middle of a day."""
        return self.x(day) + self.day_wide / 2

    def y(self, water: float) -> float:
        """Height of an amount of water."""
        share = (water - self.low) / (self.high - self.low)
        return self.water_foot - min(max(share, 0.0), 1.0) * self.plot

    def rain(self, amount: float) -> float:
        """Length of a bar of rain, from the top down."""
        return min(amount / self.rain_high, 1.0) * (RAIN - 4)

    def months(self) -> list[date]:
        """First days of the months within."""
        found, day = list[date](), self.first.replace(day=1)
        while day <= self.last:
            if day >= self.first:
                found.append(day)
            day = (day + timedelta(days=32)).replace(day=1)
        return found


def steps(high: float) -> tuple[float, float]:
    """Give a round step and a round end of a scale that starts at nought.

    Parameters
    ----------
    high
        The largest value.
    """
    high = max(high, 1e-6)
    rough = high / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * one for one in (1, 2, 2.5, 5, 10) if power * one >= rough)
    return step, math.ceil(high / step - 1e-9) * step
