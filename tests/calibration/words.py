"""What the report says in words; numbers go in by name."""

from __future__ import annotations

HEAD = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>How far the outlook can be believed</title><style>{style}</style>"""

OPENING = """<h1>How far the outlook can be believed</h1>
<p>When the outlook says 30 %, does it happen in three of ten cases? In real fields nobody knows
what the roots found, so we asked in an invented world where everything is known: {seasons}
field-seasons, {nights} nights.</p>"""

METHOD = """<h2>What was done</h2>
<p>For each field-season we invented a place with thirty past years of weather and one year that
comes true, all drawn from the same climate; a soil, a planting date, a wall class; and one value
for each number the model is unsure of, from the same spread its members have. The season was then
played through. Somebody dug between V3 and V6: each root seen crossed the wall with the true
share of that day. Every seventh night from V6 to dent the service's own outlook was asked with
what was known that night and nothing more (no weather forecast: past years alone).</p>
<p><b>What this proves and what it does not.</b> It tests whether chances and ranges are honest if
the model's equations and spreads are right. It cannot show that they are right for a real field:
that takes real seasons. Climates, wall classes and digs are invented, and years here know nothing
of each other, while real droughts can last.</p>"""

READING = {
    "chances": """<h2>Chances</h2>
<p>Each point gathers nights with nearly the same chance; a larger point has more nights. On the
diagonal, what was said is what was seen. Pale bars: where a point may stray by chance alone in 9
of 10 worlds, each season counted once. Dotted: how often it came true in all. Onset is judged
while fewer than half of the members have it behind them. None of thirty members is not never,
and all of them not always: the outermost points lie a little off for that reason.</p>""",
    "skill": """<h2>Against simpler forecasts</h2>
<p>A forecast earns its keep only beside what anyone could say without it: how often it happened
in other seasons of that climate at that stage, or that last night's rung stays. Bars show how
much of their squared error the outlook saves; lines are 90 % ranges, seasons left out in
turn.</p>""",
    "ahead": """<h2>Days ahead</h2>
<p>How many days sooner stress sets in with the held roots, given as a range that should hold
the truth in 8 of 10 cases; pale: 80 ± 4 %. Many truths lie exactly on an end of the range,
“free roots would not” above all. Counting those as inside would flatter the range, so ties are
shared by chance in the figure to look at. Nights of one season resemble each other: the first
column takes one random night a season (mean of fifty draws), ± is two standard errors and
counts seasons, not nights. Only seasons whose held roots run short count here, so another seed
moves the share by a few points.</p>""",
    "water": """<h2>Water in reach</h2>
<p>The middle 80 % of members against what was there. Flat bars are right: a heap in the middle
would be ranges too wide, heaps at both ends too narrow. Pale: chance alone.</p>""",
    "controls": """<h2>Would this page notice?</h2>
<p>The same world with a lie in it. <i>Drier years</i>: the year that comes true is drawn from the
dry climate, wherever the field lies. <i>Dig ignored</i>: the service takes held roots for free.
<i>Wall only</i> is no lie but a loss: the counts are withheld.</p>""",
    "table": """<h2>The numbers behind the points</h2>""",
}

TAIL = """<h2>How to do it again</h2>
<p><code>PYTHONPATH=fixtures:tests .venv/bin/python -m calibration --seasons {seasons} --seed {seed}
--out build/calibration</code> writes this page and <code>calibration.json</code> with every
number; the same seed gives the same world.</p>
<p class=quiet>Brier score and its parts: Brier 1950, Murphy 1973. Consistency bars: Bröcker and
Smith 2007. Ranked probability score: Epstein 1969. Ranges by Weibull plotting positions. Ask the
outlook where to look and what to water first, never for a yield.</p></html>"""
