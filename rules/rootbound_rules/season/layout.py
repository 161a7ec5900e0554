"""Where each number lies in the kernel's arrays: names for rows, no values.

Members lie side by side in blocks of 32, so that the compiler works on eight or sixteen
of them with one instruction. Every row below is one block wide.
"""

from __future__ import annotations

from enum import IntEnum, auto

BLOCK = 32
"""Members in a block."""


class _Rows(IntEnum):
    """Rows counted from 0."""

    @staticmethod
    def _generate_next_value_(name: str, start: int, count: int, last_values: list[int]) -> int:
        del name, start, last_values
        return count


class Wx(_Rows):
    """Weather of one cell, a block wide for each day."""

    RAIN = auto()
    ET0 = auto()
    GDD = auto()  # summed from the first day on
    CLIMATE = auto()


class F(_Rows):
    """Numbers of one field, the same for every member."""

    TEW = auto()
    REW = auto()
    DRY_CN = auto()
    WET_CN = auto()
    WILTING_SHARE = auto()
    PROFILE = auto()
    HALF_ROW = auto()
    SEED_DEPTH = auto()
    START_DEPTH = auto()
    START_DEPLETION = auto()
    TABLE = auto()
    RISE_FACTOR = auto()
    RISE_EXPONENT = auto()
    RISE_MOST = auto()
    RISE_FARTHEST = auto()
    YIELD_ = auto()
    TABLE_LEFT = auto()
    CLASS0 = auto()
    EMERGENCE = auto()
    COLLAR_EARLY = auto()
    COLLAR_LATE = auto()
    COLLAR_TURN = auto()
    COLLAR_LAST = auto()
    KC_INITIAL_END = auto()
    KC_MID_START = auto()
    KC_LATE_START = auto()
    MATURITY = auto()
    KCB_INITIAL = auto()
    KCB_END = auto()
    KC_MIN = auto()
    HEIGHT = auto()
    TABLE_P = auto()
    RECENT = auto()
    FRONT_EARLY = auto()
    FRONT_LATE = auto()
    FRONT_TURN = auto()
    FRONT_LAST = auto()
    AXES_FIRST = auto()
    AXES_SECOND = auto()
    AXES_MOST = auto()
    AXES_LAST = auto()
    AXES_SHARE_SECOND = auto()
    AXES_SHARE_MOST = auto()
    WIDTH_BEGIN = auto()
    WIDTH_END = auto()
    STRESS_FROM = auto()
    # polynomial of the height factor, see ``season.height_fit``
    FIT_MIDDLE = auto()
    FIT_SCALE = auto()
    FIT_0 = auto()
    FIT_1 = auto()
    FIT_2 = auto()
    FIT_3 = auto()
    FIT_4 = auto()
    FIT_5 = auto()
    FIT_6 = auto()
    FIT_7 = auto()


class D(_Rows):
    """Numbers of one dig."""

    DAY = auto()
    WALL = auto()
    COUNTED = auto()
    PAN = auto()
    PAN_DEPTH = auto()
    LEAK = auto()


class P(_Rows):
    """Uncertain numbers, one draw a member."""

    AVAILABLE = auto()  # mm of water per m of soil
    DIFFUSIVITY = auto()
    HALVING = auto()
    SLOT = auto()
    WIDENING = auto()
    LATE_RATE = auto()
    KCB_MID = auto()
    DRYING = auto()


class S(_Rows):
    """State and scratch of a block of members."""

    DE = auto()
    CROSSED = auto()
    TRAPPED = auto()
    OUT = auto()
    USE = auto()  # of late
    KCB_MID = auto()
    KCB_END = auto()
    # scratch of the day
    KCB = auto()
    KC_MAX = auto()
    FEW = auto()
    INFILTRATION = auto()
    EVAPORATION = auto()
    DEMAND = auto()
    STEP = auto()
    COLLAR = auto()
    PUT_OUT = auto()
    LATE_ON = auto()
    TOP = auto()
    ALIVE = auto()
    # free twin
    F_DEPTH = auto()
    F_WITHIN = auto()
    F_BELOW = auto()
    F_TABLE = auto()
    # held twin
    H_DEPTH = auto()
    H_WITHIN = auto()
    H_BEYOND = auto()
    H_BELOW = auto()
    H_TABLE = auto()
    H_REACH = auto()


class Out(_Rows):
    """What the kernel writes for every day and member."""

    FREE_STRESS = auto()
    HELD_STRESS = auto()
    FREE_WATER = auto()
    HELD_WATER = auto()
    REACH = auto()
