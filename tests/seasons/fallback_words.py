"""Words of the section on fallbacks; numbers in braces are filled in by the trial."""

from __future__ import annotations

TEXT = """## Weather without humidity, wind or radiation

The Iowa weather has no humidity and no wind. The model then takes the dew point at the night's
lowest temperature, wind of 2 m/s and, where radiation is missing too, what the day's range of
temperature suggests (FAO-56 Eqs. 48 and 50, p. 63). Below, three places that measured humidity
and wind are computed with all they have, and again without. Errors are of reference
evapotranspiration (ET0), May to September; the last column is the error of the mid-season
coefficient (Kcb) of maize, June to August, by Eq. 70. Nothing is fitted.

{losses}

- **What is lost is demand.** Without humidity and wind ET0 is too low at all three, by
  {de_bilt:.0f} to {chicago:.0f} %, and the coefficient too. In open country such a model warns
  late rather than too often: what the weather lacks does not by itself explain false alarms.
- **Single days** are off by {least:.1f} to {most:.1f} mm (root mean square) whatever the mean. A
  season averages this out, one night's reading does not.
- **Radiation** by temperatures makes ET0 4 to 5 % too high at two places. On the Iowa file it
  moves ET0 by {m.ames_sun.percent:+.1f} % against the file's own radiation, and a single day by
  {m.ames_sun.rmse:.2f} mm.
- **Hargreaves** (Eq. 52) does a little better than the three steps at Holyoke, but at De Bilt it
  is {hargreaves:.0f} % too high, and it knows no coefficient. It is not used.

### Is the dew point at the lowest temperature?

{dew_points}

FAO-56 (p. 58) takes 2 to 3 K less in arid places. Kimball and others (1997) lower the dew point
by the day's evaporation over the year's rain; Thornton and others (2000) do so only where a year
evaporates more than 2.5 times its rain ({m.dryness[Holyoke]:.1f} times at Holyoke,
{m.dryness[Chicago]:.1f} at Chicago, {m.dryness[De Bilt]:.1f} at De Bilt). The rain of Holyoke
and Chicago is not in their files: 450 and 1000 mm a year are our own knowledge.

Four more places, computed once in the same way and not repeated by this trial (June to August;
ET0 May to September):

{once}

On the humid plain the dew point is at the lowest temperature, within half a degree. At Chicago's
airports it is 2 to 3.5 K lower: nights stay warm over a city and by a lake, and these are no
farms. In dry country it is 2.5 K lower even among irrigated fields.

**Tried and not taken.** Kimball's estimate has the smaller error on single days at all three
stations, but at De Bilt its bias is larger ({kimball.percent:+.1f} % instead of
{kept.percent:+.1f} %), and at Lincoln, the place most like Iowa, it makes a bias of 6 % where
there was none. Where arid only, it helps at Holyoke and changes nothing elsewhere; but that one
place is all there is to judge it by, with a rain that we had to add, and a season's file cannot
tell how dry its place is. So the plain step stays. In dry country take a weather source that
has humidity.

### Is 2 m/s the wind?

{winds}

The world's mean of 2 m/s (FAO-56 p. 63) is too low for open plains in summer: 2.9 m/s at Holyoke,
2.5 at Lincoln, 2.7 at Chicago's two airports (lakeside). It is right at De Bilt
({m.high_mast:.1f} m/s should its sensor stand at 20 m instead of 10) and at Greensboro, and three
times too high at Mount Shasta. With 2.5 m/s ET0 would be better on the plains, worse at the
other three (+3 % instead of -1 % at De Bilt, +4 instead of +1 at Greensboro, +30 instead of +22
at Mount Shasta). The number serves every place, so it stays.

### What to expect for Iowa

Lincoln is the nearest likeness: ET0 4 % too low without humidity and wind from May to September,
about 30 mm, and Kcb 0.02 too low at mid season. That is one year of one airport; our judgement
for Iowa is 0 to 8 % too low, and 0 to 0.03. The bracket of Eq. 70 comes out at
{m.ames_kcb:+.3f} on the Iowa file, so Kcb is near the table's value either way.

Sources: CoAgMET (Holyoke, 1138 m, 2020), KNMI (De Bilt, 2016-2018), R packages modeldata
(Chicago, 2001-2016) and maRsden (Ames, 1980-2020); Python packages ridgeplot (Lincoln) and pvlib
(Greensboro); NOAA hourly records (O'Hare, Mount Shasta). Wind at airports and at De Bilt is
brought from 10 to 2 m by FAO-56 Eq. 47.
"""
