"""What was played, as tables that a spreadsheet and pandas read."""

from __future__ import annotations

import csv
import io
from datetime import date
from math import nan

import pandas as pd

from rootbound_service.replay.tables import (
    NIGHT_COLUMNS,
    SEASON_COLUMNS,
    write_nights,
    write_seasons,
)
from service.replay.rig import came, from_july, night, played, said

SEASON = played(2004, from_july(2004, 0, 1, 3), came({date(2004, 7, 9): 2.5}, weighted=12.34))


def rows(write, *seasons):
    file = io.StringIO(newline="")
    write(seasons, file)
    assert "\r" not in file.getvalue()
    file.seek(0)
    return list(csv.DictReader(file))


def test_a_night_has_its_row_with_every_column():
    found = rows(write_nights, SEASON)

    assert list(found[0]) == list(NIGHT_COLUMNS)
    assert len(found) == 3
    third = found[2]
    assert (third["field"], third["night"], third["wall_class"]) == ("By Hand", "2004-07-03", "2")
    assert (third["held_rung"], third["free_rung"], third["held_note"]) == ("3", "0", "3")
    assert (third["days_ahead_median"], third["days_ahead_high"]) == ("6.0", "12.0")


def test_what_is_not_known_is_an_empty_cell():
    quiet = night(date(2004, 7, 1), said(0), ahead_kind="neither", ahead_median=None,
                  ahead_low=None, ahead_high=None)  # fmt: skip
    undug = played(2004, {}, came({}, weighted=nan), wall_class=None, rain_mm=nan)
    season = rows(write_seasons, undug)[1]
    made = SEASON.__class__(
        *(getattr(undug, name) if name != "nights" else (quiet,) for name in SEASON.__slots__)
    )
    only = rows(write_nights, made)[0]

    assert (only["wall_class"], only["days_ahead_median"], only["held_note"]) == ("", "", "")
    assert (season["rain_may_aug_mm"], season["weighted_stress_pct"]) == ("", "")
    assert (season["onset"], season["first_rung_1"], season["lead_rung_1_d"]) == ("", "", "")


def test_a_season_has_a_row_for_each_twin():
    found = rows(write_seasons, SEASON)

    assert list(found[0]) == list(SEASON_COLUMNS)
    assert [row["twin"] for row in found] == ["free", "held"]
    held = found[1]
    assert (held["first_rung_1"], held["first_rung_2"]) == ("2004-07-02", "2004-07-03")
    assert (held["lead_rung_1_d"], held["lead_rung_3_d"], held["lead_rung_4_d"]) == ("7", "6", "")
    assert (held["onset"], held["worst_rung"], held["notes"]) == ("2004-07-09", "3", "2")
    assert (held["weighted_stress_pct"], held["stress_by_stage"]) == ("12.3", "R1:2.50")


def test_another_reader_finds_numbers_in_the_columns_of_numbers():
    file = io.StringIO(newline="")
    write_nights([SEASON], file)
    file.seek(0)
    found = pd.read_csv(file, parse_dates=["night"])

    assert found["night"].dt.day.tolist() == [1, 2, 3]
    assert found["held_chance_14"].tolist() == [0.0, 0.2, 0.6]
    assert found["held_note"].isna().tolist() == [True, False, False]


def test_a_name_with_commas_and_quotes_stays_one_cell():
    season = played(2004, from_july(2004, 0), came({}))
    named = SEASON.__class__(
        *('Ditch, "far" end' if name == "field" else getattr(season, name)
          for name in SEASON.__slots__)
    )  # fmt: skip

    assert rows(write_nights, named)[0]["field"] == 'Ditch, "far" end'
