"""Nights of many invented fields for the speed of the store; no weather, no outlook."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy import Connection, insert, text
from web_scene import _dig, _fields, _person, _season  # the same invented people and fields

from rootbound_service.records import RiskRecord
from rootbound_service.store.schema import account, dig, field, person, season, soil, standing

NIGHT = date(2026, 7, 20)
ACCOUNT_FIELDS, PEOPLE = 250, 11
DETAIL = {
    "shown": "held",
    "held": {"chance_7": 0.12, "chance_14": 0.44, "stress": 0.2512, "collars": 12.5, "needed": 0.5,
             "raw_rung": 1, "raw_reason": "stress_possible_14_days"},
    "free": {"chance_7": 0.02, "chance_14": 0.14, "stress": 0.0512, "collars": 12.5, "needed": 0.5,
             "raw_rung": 0, "raw_reason": "ample", "rung": 0, "reason": "ample"},
    "reason": "stress_possible_14_days", "note": False, "cause": "roots", "news": None,
    "belief": None,
    "memory": {"rung": 0, "below": 0, "said": None, "under": 0, "changed_on": "2026-07-01"},
    "ahead": {"short": {"middle": "2026-07-30", "first": "2026-07-24", "last": "2026-08-20"},
              "free_short": None, "chance_short": 0.8, "rungs": [0.2, 0.3, 0.2, 0.2, 0.1],
              "members": 30, "days_to_silk": 6, "critical": True, "weather": "a grid"},
}  # fmt: skip


def enrol(conn: Connection, many: int, chance: random.Random) -> None:
    """Put in so many fields with a season, a soil and a dig each, standing as never computed."""
    accounts = -(-many // ACCOUNT_FIELDS)
    people = accounts * PEOPLE
    _put(conn, person, (_person(i) for i in range(1, people + 1)))
    _put(conn, account, ({"id": a, "name": f"Account {a}"} for a in range(1, accounts + 1)))
    fields = _fields(accounts, ACCOUNT_FIELDS, PEOPLE, chance)
    _put(conn, field, itertools.islice(fields, many))
    some = range(1, many + 1)
    _put(conn, soil, ({"field_id": i, "texture": "silt loam", "origin": "invented", "origins": {}}
                      for i in some))  # fmt: skip
    _put(conn, season, (_season(i) for i in some))
    _put(conn, dig, (_dig(i) for i in some))
    _put(conn, standing, (_waiting(i) for i in some))
    conn.execute(text("ANALYZE"))


def night_of(numbers: range, night: date, chance: random.Random) -> list[RiskRecord]:
    """Invent what a night found; no figure is as on the night before."""
    made = []
    for number in numbers:
        wet = chance.random()
        rung = int(5 * wet)
        made.append(
            replace(
                ROW, season_id=number, night=night, rung=rung, raw_rung=rung,
                gdd_f_total=1200 + 20.0 * (night - NIGHT).days + wet,
                water_in_reach_mm=80 * (1 - wet), free_water_mm=60 + 20 * (1 - wet),
                chance_7=wet / 2, chance_14=wet, weather_through=night - timedelta(days=1),
                detail={**DETAIL, "note": wet > 0.5},
            )
        )  # fmt: skip
    return made


ROW = RiskRecord(
    season_id=0, night=NIGHT, status="watched", rung=1, raw_rung=1, free_rung=0, nights_below=0,
    said_rung=1, nights_under_said=0, reason="stress_likely_14_days", stage="V12",
    gdd_f_total=1200.0, water_in_reach_mm=31.2, free_water_mm=60.0, days_ahead_kind="days",
    days_ahead_median=12.0, days_ahead_low=5.0, days_ahead_high=20.0, chance_7=0.3, chance_14=0.6,
    stress_past_7=0.1, stress_season=0.4, reach=0.6, weather_through=NIGHT - timedelta(days=1),
    changed_on=NIGHT, said_free=False,
)  # fmt: skip


def _put(conn, table, rows):
    rows = iter(rows)
    while some := list(itertools.islice(rows, 20_000)):
        conn.execute(insert(table), some)


def _waiting(i):
    return {
        "field_id": i, "account_id": (i - 1) // ACCOUNT_FIELDS + 1,
        "grower_id": (i - 1) // ACCOUNT_FIELDS * PEOPLE + (i - 1) % ACCOUNT_FIELDS % 10 + 1,
        "season_id": i, "crop": "maize", "night": None, "status": "waiting", "rung": None,
        "place": 5.0, "changed": 0,
    }  # fmt: skip
