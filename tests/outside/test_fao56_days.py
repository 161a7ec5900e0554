"""FAO-56 Examples 31, 35, 37 and 38, day by day through the season's own step.

Examples 37 and 38 run through ``zone_day`` itself. Its ``p`` moves with the day's crop water
use (p. 162) where the book holds it; each day's ``table_p`` takes that correction off again.
"""

from __future__ import annotations

from functools import cache

import pytest

from outside.cases import SLACK, table
from rootbound_rules.season.step import water_in_reach, wet_zones, zone_day
from rootbound_rules.season.surface import surface_day
from rootbound_rules.water.coefficients import climate_term, height_factor, kc_max
from rootbound_rules.water.evaporation import evaporation_coefficient, reduction, top_layer
from rootbound_rules.water.rootzone import total_available

EXAMPLES = {n: table(f"fao56_example{n}.csv") for n in (31, 35, 37, 38)}
DEEP = 1e3
"""A water table out of reach. [m]"""


def held_p(p: float, use: float) -> float:
    """The table's p that comes out as ``p`` on a day of this crop water use."""
    return p - 0.04 * (5.0 - use)


def root_zone(*, depth, step, depletion, water, evaporation, demand, p, available):
    """One day of ``zone_day`` with every root free and no water table."""
    names = (
        "depth", "within", "beyond", "below", "table", "Ks", "p", "evaporated", "transpired",
        "percolation", "risen",
    )  # fmt: skip
    day = zone_day(
        depth=depth, step=step, profile=2.0, a=1.0, b=1.0, within=depletion, beyond=depletion,
        below=0.0, table=DEEP, infiltration=water, evaporation=evaporation, demand=demand,
        table_p=held_p(p, demand + evaporation), available_mm_m=available, diffusivity=5.0,
        half_row=38.0, rise_factor=1.0, rise_exponent=3.0, rise_most=2.0, rise_farthest=1.0,
        yield_mm_m=80.0, drain=DEEP, left=0.9,
    )  # fmt: skip
    return dict(zip(names, day, strict=True))


@cache
def example_31() -> list[dict[str, float]]:
    """Ten days of bare loam; ``surface_day`` without canopy leaves all of the soil bare.

    A height of 10 m in a climate without correction shuts the canopy to nothing (Eq. 76).
    """
    days, depletion = [], 0.0
    for _ in range(10):
        ended, _, ke, _ = surface_day(
            depletion=depletion, rain=0.0, irrigation=0.0, et0=4.5, kcb=0.15, kcmin=0.15,
            climate=0.0, height=10.0, tew=20.0, rew=9.0, dry_cn=60.0, wet_cn=90.0,
        )  # fmt: skip
        days.append(
            {
                "De_start": depletion,
                "Kr": reduction(depletion, 20.0, 9.0),
                "Ke": ke,
                "E": ke * 4.5,
                "De_end": ended,
                "ETc": (0.15 + ke) * 4.5,
            }
        )
        depletion = ended
    return days


def top_day(depletion: float, given: dict[str, float]) -> dict[str, float]:
    """One day of the top layer under a wetted share, which only the pieces can take."""
    kcmax = kc_max(given["Kcb"], climate_term(1.6, 35.0), height_factor(0.3))
    few = min(given["one_minus_fc"], given["fw"])
    water = given["P"] + given["I"] / given["fw"]
    wetted = top_layer(depletion, water, 0.0, few, 18.0)
    kr = reduction(wetted, 18.0, 9.0)
    ke = evaporation_coefficient(kr, kcmax, given["Kcb"], few)
    ended = top_layer(depletion, water, ke * given["ETo"], few, 18.0)
    return {
        "Ke": ke, "E": ke * given["ETo"], "Kc": given["Kcb"] + ke, "De_end": ended,
        "ETc": (given["Kcb"] + ke) * given["ETo"], "DPe": water - (depletion - wetted),
        "Kr_unrounded": kr, "Ke_unrounded": ke, "De_end_unrounded": ended,
    }  # fmt: skip


@cache
def top_days(irrigation_on_day_10: float = 0.0) -> list[dict[str, float]]:
    """Ten days of sandy loam; Example 38 irrigates on the tenth, Example 35 does not."""
    days, depletion = [], 18.0
    for row in EXAMPLES[35].rows:
        given = EXAMPLES[35].numbers(row)
        if given["day"] == 10 and irrigation_on_day_10:
            given |= {"I": irrigation_on_day_10, "fw": 0.8}
        days.append(top_day(depletion, given))
        depletion = days[-1]["De_end"]
    return days


@cache
def example_37() -> list[dict[str, float]]:
    """Ten days without rain, transpiration taken as all of Kc ETo."""
    days, depletion = [], 55.0
    for _ in range(10):
        day = root_zone(
            depth=0.8, step=0.0, depletion=depletion, water=0.0, evaporation=0.0,
            demand=1.2 * 5.0, p=0.40, available=200.0,
        )  # fmt: skip
        assert day["p"] == pytest.approx(0.40)
        days.append(
            {"Dr_start": depletion, "Ks": day["Ks"], "ETc": day["transpired"]}
            | {"Dr_end": day["within"]}
        )
        depletion = day["within"]
    return days


@cache
def example_38() -> list[dict[str, float]]:
    """Ten days of a deepening root zone over soil at field capacity."""
    days, depletion, depth, percolated = [], 23.4, 0.30, 0.0
    for row, top in zip(EXAMPLES[38].rows, top_days(27.0), strict=True):
        given = EXAMPLES[38].numbers(row)
        water, demand = given["P"] + given["I"], given["Kcb"] * given["ETo"]
        start = wet_zones(water, 1.0, depletion, depletion, 0.0)[0]
        step = given["Zr_unrounded"] - depth
        day = root_zone(
            depth=depth, step=step, depletion=depletion, water=water, evaporation=top["E"],
            demand=demand, p=0.60, available=130.0,
        )  # fmt: skip
        assert day["p"] == pytest.approx(0.60)
        depletion, depth, percolated = day["within"], day["depth"], day["percolation"]
        days.append(
            {
                "RAW": water_in_reach(1.0, 0.0, total_available(130.0, depth), day["p"]),
                "Dr_start": start,
                "Ks": day["Ks"],
                "ETc": day["evaporated"] + day["transpired"],
                "DP": percolated,
                "Dr_end": depletion,
            }
        )
    return days


RUNS = {31: example_31, 35: top_days, 37: example_37, 38: example_38}


def cells():
    """Every printed cell that has a tolerance."""
    return [
        pytest.param(example, int(row["day"]), column, id=f"ex{example}.d{row['day']}.{column}")
        for example, printed in EXAMPLES.items()
        for row in printed.rows
        for column in printed.tolerance
        if row[column]
    ]


@pytest.mark.parametrize(("example", "day", "column"), cells())
def test_the_day_gives_the_printed_cell(example, day, column):
    printed = EXAMPLES[example]
    row, ours = printed.rows[day - 1], RUNS[example]()[day - 1][column]

    assert abs(ours - float(row[column])) <= printed.tolerance[column] + SLACK, (
        f"{column} of day {day}: ours {ours:.4f}, printed {row[column]} ({row['source']})"
    )


def test_example_38_takes_the_excess_before_the_days_use_not_after_as_equation_88_prints():
    first = example_38()[0]
    as_printed = 40.0 - first["ETc"] - 23.4  # Eq. 88 nets the day's use first

    assert first["DP"] == pytest.approx(16.6)
    assert as_printed == pytest.approx(11.1, abs=0.05)
    assert first["Dr_end"] == pytest.approx(first["ETc"])  # not 0


def test_the_text_of_example_35_says_8_mm_but_its_day_3_follows_9():
    third = top_days()[2]
    with_8 = reduction(top_days()[1]["De_end"], 18.0, 8.0) * (1.212028 - 0.32)

    assert third["Kc"] == pytest.approx(1.04, abs=0.01)
    assert abs(0.32 + with_8 - 1.04) > 0.05
