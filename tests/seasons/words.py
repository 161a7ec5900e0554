"""The page's sentences that no figure changes; those with figures stand beside the figures."""

from __future__ import annotations

HEAD = """\
# Real seasons: does it warn rightly?

This page is made by one command, ``PYTHONPATH=fixtures:tests .venv/bin/python -m seasons``, from
public data that is not part of the repository. It is rewritten whenever rules change; the bad
results stand with the good.

**What was tested.** {seasons} seasons were played again, night by night, 1987 to 2020, with what
was known each night: the season's measured days, which come {late} days late as a live night's do,
then each earlier year of the same place as one member of the outlook (7 in 1987, 30 from 2010),
and no forecast. Place: a farm near
Ames, Iowa, tile drained, weather 1980-2020 without humidity and wind. Field: loam, field capacity
{capacity}, wilting point {wilting}, water table at {table} m in spring, planted on 5 May each
year, dug on 1 June with each wall class in turn. "Running short" is the day on which a twin's
stress-day equivalents since V8 pass 2, by the weather that came.

**Against what.** Maize yields of Boone County, Iowa, 1987-2004 (USDA NASS). Nothing else was
measured on these seasons: the free twin alone can be held against yields. What is said of held
roots is the same model with fewer roots, judged against itself; no yields of fields with a known
wall class were at hand, and this page cannot say whether a wall costs what the model thinks.

**What was looked at when.** The physics was changed with 1987-2004 in view, the ladder's numbers
with 1987-2020 on a loam of slightly less water; tables below give 2005-2020 apart where they can.

## The figures that count"""
MEANT = """\
## What a rung has meant

The roots that are told of, all wall classes and years together. A field that stands on *drawing
down* has time; one on *short* has as a rule run short already, or does so within days."""
YEARS_TOLD = """\
## Season by season, free roots

Notes are given as day and rung; 0 is the word that it has eased. Seasons with more than 600 mm
from May to August are marked wet."""
WET = """\
**False alarms, and where they came from.** Before, every second good season had short spells, most
of them after mid-August: the soil could not hold the water that these drained soils do give, and
dry days after dent counted in full. Both are gone by their causes, not by a threshold. **Wet
seasons.** In the flood of 1993 yields fell by two fifths, in 1990 by a tenth; the service is quiet
in both, and rightly: roots that drown, nitrogen that washes out, late planting, hail, wind and
disease are outside its sight. A quiet season is no promise of a good one."""
TRIED = (
    (
        "roots as deep as the mean of cores instead of the front",
        ("-0.61, three of the six best seasons short: a core misses roots that water reaches"),
    ),
    (
        ("roots stop at the capillary fringe, 0.29 m (air entry of the loam) over the table"),
        "-0.75, later seasons far drier; published roots reached the table",
    ),
    (
        "drainable porosity 60 or 100 mm/m instead of 80",
        "-0.78 and -0.75; 60 has one of the six best seasons short",
    ),
    (
        (
            "most that may rise in a day 1.5 or 3 mm instead of 2 (lysimeters under maize: "
            "0-2 and 0-5, Prathapar & Meyer 1993)"
        ),
        "-0.77 and -0.78",
    ),
    (
        "table back at its drains in 5 or 20 days instead of 10",
        "-0.78 and -0.78; root depth of 2018 worse with 5",
    ),
    (
        "water drawn up from moist soil below the roots by diffusion",
        "-0.77",
    ),
    (
        "roots slowed by dry soil ahead of them",
        "-0.78, -0.77 where it bites",
    ),
    (
        "available water of the measured layers, their mean and layer by layer",
        (
            "-0.75 and -0.75, in the table above: a clay loam holds less than the loam; "
            "layer by layer tells nothing that their mean does not"
        ),
    ),
    (
        "mid-season coefficient 0.90 or 1.10",
        "-0.76 and -0.78",
    ),
    (
        "fading by the fourth power of the heat left, nearer to the grain's weights",
        "-0.76; the word of 2012 comes later",
    ),
    (
        "spin-up of 210 or 360 days instead of 90",
        "-0.74: one dry winter carries too far",
    ),
    (
        "dew point by Kimball and others 1997; wind 2.5 m/s",
        "in the last section: better on some stations, worse on others",
    ),
    (
        "first word by the coming 21 days instead of 14",
        "a week earlier, and more words in vain",
    ),
    (
        "first word at a chance of 40 and 25 % instead of 50 and 33 %",
        "two days earlier, two more held seasons warned in vain",
    ),
)
"""What was tried and not taken, and what it did."""
REJECTED = "\n".join(
    (
        "**Tried and not taken** (correlation in seasons under 600 mm, beside -0.78 as it is):",
        "",
        "| tried | what it did |",
        "| --- | --- |",
        *(f"| {tried} | {did} |" for tried, did in TRIED),
        "",
        "Between -0.75 and -0.78 nothing can be told apart with fifteen seasons: one of them,",
        "1988, makes most of it. Values that did not matter were left as they were.",
    )
)
FAILS = """\
## Where it fails, and what is not known

- **Fifteen dry seasons of one county and one weather station.** The interval of the correlation
  reaches from a third to nearly one, and the goal of -0.80 is not reached.
- **The first word of a sudden drought comes late**: members of past years hope for rain that does
  not come. A forecast, which a live night has, is not in these nights.
- **Held roots are not validated.** What a wall costs rests on the drying law, half of which is in
  doubt, on our own scale of resistances and on no yield.
- **The level of soil water** is the trial's; texture alone puts this soil wetter by 0.04, and the
  sensors read low when wet.
- **July 2018 dried faster than the model says** in the upper 60 cm: it draws too evenly from the
  whole root zone.
- **Without a water table** the same soil would cry wolf as before: whether a field has one is
  taken from the soil survey's spring table, and drains are supposed at a metre.
- **Choices within published ranges, not fitted**: 10 days of drainage, 1.00 of mid-season
  coefficient, 0.7 of the drying exponent; and of the ladder, 1.0 stress day in 14, a week to fall,
  15 mm for good news."""
