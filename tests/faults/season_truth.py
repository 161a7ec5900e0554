"""What the stand-ins can have told of a cell, honestly or in hidden wrong units."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np

from loopback.gridmet_grid import LATS, LONS, VARIABLES, packed
from loopback.plays import Column
from loopback.sky import POWER, Sky, View, Voice
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.sources.gridmet_units import dewpoint

Table = np.ndarray
HIDDEN = "hidden_wrong_units"
EVER = 10**6
SCALES = {"gridmet": (0.0, 0.4, 1.0), "nasa_power": (0.0, 0.6)}
"""How unsettled a value can be: see ``Voice.unsettled``."""
TOLERANCE = 0.011
"""The services tell two decimals or tenths; what is stored differs from that by rounding only."""
DEW, HUMIDITY_C = QUANTITY_NAMES.index("dewpoint_c"), 4.5
SIMPLE: dict[str, tuple[str, Callable[[Column], Column]]] = {
    "tmmx": ("tmax_c", lambda kelvin: kelvin - 273.15),
    "tmmn": ("tmin_c", lambda kelvin: kelvin - 273.15),
    "pr": ("rain_mm", lambda mm: mm),
    "srad": ("solar_mj", lambda watt: watt * 0.0864),
    "vs": ("wind_m_s", lambda at_10_m: at_10_m * 4.87 / np.log(67.8 * 10 - 5.42)),
}


class _Uniform(View):
    """The sky at no moment: every day known, and all of them equally unsettled."""

    def __init__(self, sky: Sky, now, scale: float, fault: str) -> None:
        super().__init__(sky, now, fault)
        self._scale = scale

    def days(self, voice: Voice, lat: float, lon: float, start: date, end: date):
        plain = replace(voice, lag=-EVER, late={}, unsettled=((EVER, self._scale),))
        return super().days(plain, lat, lon, start, end)


class Truth:
    """Every value that a source can have told of its cells over some days.

    ``clean`` holds the honest ones, a revision ordered by a fault among them, ``bent`` those in
    other units than their label says; both of shape (way of telling, quantity, day).
    """

    def __init__(self, sky: Sky, now, start: date, end: date) -> None:
        self.start, self.end = start, end
        self._sky, self._now = sky, now
        self._kept: dict[Cell, tuple[Table, Table, Table]] = {}

    def settled(self, cell: Cell) -> Table:
        """The values that the source ends with, shape (quantity, day)."""
        return self._of(cell)[0][0]

    def judge(self, cell: Cell, values: Table, days: slice) -> tuple[Table, Table]:
        """Tell which values nobody told honestly, and which of those fit hidden wrong units."""
        clean, bent, _ = self._of(cell)
        honest = (abs(clean[:, :, days] - values) <= TOLERANCE).any(axis=0)
        hidden = (abs(bent[:, :, days] - values) <= TOLERANCE).any(axis=0)
        # A percentage has no other unit: the stand-in reckons it from its degF, off by little.
        near = abs(clean[0][DEW, days] - values[DEW]) <= HUMIDITY_C
        honest[DEW] |= hidden[DEW] & near
        known = ~np.isnan(values)
        return known & ~honest, known & ~honest & hidden

    def revised(self, cell: Cell, values: Table, days: slice) -> Table:
        """Tell which values are there only because a revision was ordered."""
        clean, _, plain = self._of(cell)
        honest = (abs(clean[:, :, days] - values) <= TOLERANCE).any(axis=0)
        usual = (abs(plain[:, :, days] - values) <= TOLERANCE).any(axis=0)
        return honest & ~usual

    def _of(self, cell: Cell) -> tuple[Table, Table, Table]:
        if cell not in self._kept:
            make = self._gridmet if cell.source == "gridmet" else self._power
            ways = [make(cell, scale) for scale in SCALES[cell.source]]
            clean, bent, plain = (np.concatenate([way[part] for way in ways]) for part in range(3))
            self._kept[cell] = clean, bent, plain
        return self._kept[cell]

    def _power(self, cell: Cell, scale: float) -> tuple[Table, Table, Table]:
        def told(fault: str) -> Table:
            view = _Uniform(self._sky, self._now, scale, fault)
            days = view.days(POWER, cell.lat, cell.lon, self.start, self.end)
            return np.array([np.round(days[name], 2) for name in QUANTITY_NAMES])

        plain = told("")
        return np.array([plain, told("revised")]), told(HIDDEN)[None], plain[None]

    def _gridmet(self, cell: Cell, scale: float) -> tuple[Table, Table, Table]:
        """Each variable is asked for by itself, so that faults of one answer can mix in a day."""
        box = LATS[[cell.row]], LONS[[cell.column]]

        def told(short: str, fault: str) -> Column:
            view, kind = _Uniform(self._sky, self._now, scale, fault), VARIABLES[short]
            numbers = packed(view, short, box, self.start, self.end)[:, 0, 0]
            return numbers * kind.scale + kind.offset

        def table(fault: str, dew: Column) -> Table:
            ours = {name: to(told(short, fault)) for short, (name, to) in SIMPLE.items()}
            ours["dewpoint_c"] = dew
            return np.array([ours[name] for name in QUANTITY_NAMES])

        faults = ("", "revised", HIDDEN)
        parts = {(s, f): told(s, f) for s in ("tmmx", "tmmn", "rmax", "rmin") for f in faults}
        clean, bent, plain = [], [], []
        for mix in product(faults, ("", HIDDEN), ("", HIDDEN), faults):
            warm, cold, most, least = (
                parts[short, fault]
                for short, fault in zip(("tmmx", "tmmn", "rmax", "rmin"), mix, strict=True)
            )
            dew = dewpoint(warm - 273.15, cold - 273.15, most, least)
            if HIDDEN in mix:
                bent.append(table(HIDDEN, dew))
                continue
            clean.append(table("revised" if "revised" in mix else "", dew))
            if "revised" not in mix:
                plain.append(clean[-1])
        return np.array(clean), np.array(bent), np.array(plain)
