"""The same day step written for numpy arrays of (fields, members): the bench's yardstick.

Written for speed in numpy, from the equations as they stand in ``rules/``; a check at the end
of ``tests/bench`` holds it to the kernel's numbers so that the comparison is fair.
"""

from __future__ import annotations

import numpy as np

from rootbound_rules.season.layout import BLOCK, D, F, P, Wx

A = np.ndarray


class NumpySeason:
    """Some of the scene's fields as numpy arrays, one value a field and member."""

    def __init__(self, told, fields: int) -> None:
        arrays = told.arrays
        self.f = {row: arrays["fields"][:fields, row, None] for row in F}
        params = arrays["params"][:fields, 0].reshape(fields, len(P), BLOCK)
        self.p = {row: params[:, row] for row in P}
        self.dig = {row: arrays["digs"][:fields, 0, row, None] for row in D}
        self.counts = arrays["counts"][:fields, 0, :BLOCK]
        days = arrays["irrigation"].shape[1]
        cells = arrays["cells"][:fields]
        self.weather = arrays["weather"][cells, 0].reshape(fields, days, len(Wx), BLOCK)

    def run(self, days: int) -> dict[str, A]:
        """Every day of both twins; the sums of stress."""
        self._start(days)
        for d in range(days):
            self._day(d)
        return {"free": self.free_sum, "held": self.held_sum}

    def _start(self, days: int) -> None:
        f, available = self.f, self.p[P.AVAILABLE]
        zero = np.zeros_like(available)
        share, depth = f[F.START_DEPLETION], f[F.START_DEPTH]
        self.de = zero + share * f[F.TEW]
        self.crossed, self.trapped, self.out = zero.copy(), zero.copy(), zero.copy()
        dry = np.maximum(np.minimum(f[F.PROFILE], f[F.TABLE]) - depth, 0.0)
        within, below = share * available * depth, share * available * dry
        self.free = [zero + depth, within.copy(), within.copy(), below.copy(), zero + f[F.TABLE]]
        self.held = [part.copy() for part in self.free]
        self.reach = zero + 1.0
        self.free_sum, self.held_sum = zero.copy(), zero.copy()
        gdd = self.weather[:, :, Wx.GDD] - self.weather[:, :1, Wx.GDD]
        climate = self.weather[:, :, Wx.CLIMATE]
        f3 = {row: f[row][:, None] for row in (F.KC_MID_START, F.KC_LATE_START, F.MATURITY)}
        mid = (gdd >= f3[F.KC_MID_START]) & (gdd < f3[F.KC_LATE_START])
        end = (gdd >= f3[F.KC_LATE_START]) & (gdd < f3[F.MATURITY])
        factor = (f[F.HEIGHT] / 3.0) ** 0.3
        self.kcb_mid = self.p[P.KCB_MID] + factor * _mean(climate, mid)
        self.kcb_end = f[F.KCB_END] + factor * _mean(climate, end)

    def _day(self, d: int) -> None:
        f, w = self.f, self.weather[:, d]
        gdd = w[:, Wx.GDD] - self.weather[:, 0, Wx.GDD]
        rise = np.clip(
            (gdd - f[F.KC_INITIAL_END]) / (f[F.KC_MID_START] - f[F.KC_INITIAL_END]), 0, 1
        )
        fall = np.clip((gdd - f[F.KC_LATE_START]) / (f[F.MATURITY] - f[F.KC_LATE_START]), 0, 1)
        grown = f[F.KCB_INITIAL] + rise * (self.kcb_mid - f[F.KCB_INITIAL])
        kcb = grown + fall * (self.kcb_end - self.kcb_mid)
        height = f[F.HEIGHT] * grown / self.kcb_mid
        factor = (np.clip(height, 0.1, 10.0) / 3.0) ** 0.3
        kcmax = np.maximum(1.2 + w[:, Wx.CLIMATE] * factor, kcb + 0.05)
        shade = np.clip(np.maximum(kcb - f[F.KC_MIN], 0.01) / (kcmax - f[F.KC_MIN]), 0, 1)
        few = 1.0 - np.minimum(shade ** (1.0 + 0.5 * height), 0.99)
        water = np.clip(1.0 - self.de / f[F.TEW], 0, 1)
        number = f[F.DRY_CN] + water * (f[F.WET_CN] - f[F.DRY_CN])
        store = 25400.0 / number - 254.0
        excess = np.maximum(w[:, Wx.RAIN] - 0.2 * store, 0.0)
        infiltration = w[:, Wx.RAIN] - excess**2 / (w[:, Wx.RAIN] + 0.8 * store)
        wetted = np.maximum(self.de - infiltration, 0.0)
        kr = np.clip((f[F.TEW] - wetted) / (f[F.TEW] - f[F.REW]), 0, 1)
        ke = np.minimum(kr * (kcmax - kcb), few * kcmax)
        ke = np.minimum(ke, few * (f[F.TEW] - wetted) / np.maximum(w[:, Wx.ET0], 0.01))
        evaporation = ke * w[:, Wx.ET0]
        demand = kcb * w[:, Wx.ET0]
        collar, step = self._grow(gdd)
        self._wall(d, collar, water)
        args = (infiltration, evaporation, demand)
        ones = np.ones_like(gdd)
        free_ks, _ = self._zone(self.free, step, ones, ones, args)
        held_ks = self._held(collar, step, args)
        left = (f[F.MATURITY] - gdd) / (f[F.MATURITY] - f[F.KC_LATE_START])
        counts = (collar >= f[F.STRESS_FROM]) * np.clip(left, 0, 1)
        self.free_sum += (1.0 - free_ks) * counts
        self.held_sum += (1.0 - held_ks) * counts
        self.de = np.minimum(wetted + evaporation / few, f[F.TEW])

    def _grow(self, gdd: A) -> tuple[A, A]:
        f = self.f
        early = np.maximum(gdd - f[F.EMERGENCE], 0.0) / f[F.COLLAR_EARLY]
        turn = f[F.COLLAR_TURN]
        late = (gdd - f[F.EMERGENCE] - turn * f[F.COLLAR_EARLY]) / f[F.COLLAR_LATE]
        collar = np.minimum(np.minimum(early, turn) + np.maximum(late, 0), f[F.COLLAR_LAST])
        collar = np.where(gdd >= f[F.EMERGENCE], collar, 0.0)
        step = np.where(collar >= f[F.FRONT_TURN], f[F.FRONT_LATE], f[F.FRONT_EARLY])
        growing = (collar < f[F.FRONT_LAST]) & (gdd >= f[F.EMERGENCE])
        return collar, step * growing

    def _wall(self, d: int, collar: A, water: A) -> None:
        f, p = self.f, self.p
        share2, share6 = f[F.AXES_SHARE_SECOND], f[F.AXES_SHARE_MOST]
        first, second = f[F.AXES_FIRST], f[F.AXES_SECOND]
        most, last = f[F.AXES_MOST], f[F.AXES_LAST]
        out = share2 * np.clip((collar - first) / (second - first), 0, 1)
        out = out + (share6 - share2) * np.clip((collar - second) / (most - second), 0, 1)
        out = out + (1.0 - share6) * np.clip((collar - most) / (last - most), 0, 1)
        put, self.out = out - self.out, out
        on = (collar > 0) & (collar <= last)
        if not (on.any() or put.any()):
            return
        strong = (f[F.WILTING_SHARE] + water * (1.0 - f[F.WILTING_SHARE])) ** p[P.DRYING]
        ln2, wall, class0 = 0.6931471805599453, self.dig[D.WALL], f[F.CLASS0]
        through = np.minimum(np.exp(-ln2 * strong * (wall - class0) / p[P.HALVING]), 1.0)
        late = p[P.LATE_RATE] * np.exp(-ln2 * (strong * wall - class0) / p[P.HALVING])
        kept = self.trapped + put * (1.0 - through)
        late = kept * np.minimum(late, 1.0) * on
        self.crossed, self.trapped = self.crossed + put * through + late, kept - late
        today = (self.dig[D.DAY] == d) & (self.dig[D.COUNTED] > 0)
        if today.any():
            both = self.crossed + self.trapped
            self.crossed = np.where(today, self.counts * both, self.crossed)
            self.trapped = np.where(today, (1.0 - self.counts) * both, self.trapped)

    def _held(self, collar: A, step: A, args: tuple[A, A, A]) -> A:
        f, p = self.f, self.p
        spread = np.clip((collar - f[F.WIDTH_BEGIN]) / (f[F.WIDTH_END] - f[F.WIDTH_BEGIN]), 0, 1)
        width = p[P.SLOT] + spread * np.maximum(f[F.HALF_ROW] - p[P.SLOT], 0)
        limit = np.minimum(f[F.PROFILE], self.held[4])
        deeper = np.maximum(np.minimum(self.held[0] + step, limit), self.held[0])
        below = np.maximum(100.0 * deeper - f[F.SEED_DEPTH], 0)
        slab = np.minimum(width, p[P.SLOT] + 0.5 * p[P.WIDENING] * below)
        both = np.maximum(self.crossed + self.trapped, 1e-6)
        share = np.where(self.trapped > 0, self.crossed / both, 1.0)
        now = 1.0 - (1.0 - share) * (width - slab) / width
        ks, _ = self._zone(self.held, step, self.reach, now, args)
        self.reach = now
        return ks

    def _zone(self, z: list[A], step: A, a: A, b: A, args: tuple[A, A, A]) -> tuple[A, A]:
        f, p = self.f, self.p
        infiltration, evaporation, demand = args
        depth, within, beyond, below, table = z
        room = np.maximum(f[F.PROFILE] - depth, 0.0)
        limit = np.minimum(f[F.PROFILE], table)
        deeper = np.minimum(step, np.maximum(limit - depth, 0.0))
        gain = below * np.minimum(deeper / np.maximum(room, 1e-6), 1.0)
        within, beyond, below = within + gain, beyond + gain, below - gain
        grown = (a * within + (b - a) * beyond) / b
        shrunk = ((1 - a) * beyond + (a - b) * within) / np.maximum(1 - b, 1e-6)
        within, beyond = np.where(b > a, grown, within), np.where(b < a, shrunk, beyond)
        depth = depth + deeper
        over = b * np.maximum(infiltration - within, 0) + (1 - b) * np.maximum(
            infiltration - beyond, 0
        )
        within, beyond = np.maximum(within - infiltration, 0), np.maximum(beyond - infiltration, 0)
        percolation, below = np.maximum(over - below, 0), np.maximum(below - over, 0)
        far = f[F.RISE_FARTHEST]
        distance = table - depth
        flow = f[F.RISE_FACTOR] * np.clip(distance, 0.05, far) ** -f[F.RISE_EXPONENT]
        rise = np.minimum(flow, f[F.RISE_MOST]) * np.clip(10 * (1 - distance / far), 0, 1)
        first = np.minimum(rise, below)
        rest = rise - first
        up, side = np.minimum(rest, within), np.minimum(rest, beyond)
        within, beyond, below = within - up, beyond - side, below - first
        risen = first + b * up + (1 - b) * side
        table = table + (risen - percolation) / f[F.YIELD_]
        above = np.clip(f[F.TABLE] - table, 0.0, f[F.TABLE])
        table = np.maximum(table, f[F.TABLE]) - f[F.TABLE_LEFT] * above
        taw = p[P.AVAILABLE] * depth
        part = np.clip(f[F.TABLE_P] + 0.04 * (5.0 - demand - evaporation), 0.1, 0.8)
        ks = np.clip((taw - within) / ((1 - part) * taw), 0, 1)
        dry, dry_side = np.minimum(evaporation, taw - within), np.minimum(evaporation, taw - beyond)
        drunk = np.minimum(ks * demand / b, taw - within - dry)
        within, beyond = within + dry + drunk, beyond + dry_side
        mean = b * within + (1 - b) * beyond
        length = np.maximum(f[F.HALF_ROW] * (1 - b), 1e-3)
        apart = (within - beyond) * np.exp(-2.4674011 * p[P.DIFFUSIVITY] / length**2)
        z[:] = [depth, mean + (1 - b) * apart, mean - b * apart, below, table]
        return ks, part


def _mean(values: A, where: A) -> A:
    """Mean over days of the marked values, 0 where none is marked."""
    return (values * where).sum(axis=1) / np.maximum(where.sum(axis=1), 1)
