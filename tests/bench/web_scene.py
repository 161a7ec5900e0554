"""A store with many invented fields, put in by the thousand, for the speed of the pages."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta

import numpy as np
from sqlalchemy import Connection, insert, text

from rootbound_service.nights.pictures import PAST, STEP_MM
from rootbound_service.store.risk_months import room_for
from rootbound_service.store.schema import (
    account,
    dig,
    field,
    member,
    person,
    risk,
    season,
    season_picture,
    soil,
    standing,
)
from rootbound_service.store.standings import place_of
from rootbound_service.store.web_sessions import begin_session

NOW = datetime(2026, 7, 20, 15, 0, tzinfo=UTC)
NIGHT = date(2026, 7, 20)
PLANTED = date(2026, 4, 28)
BATCH = 20_000
RUNGS = (0, 0, 0, 0, 1, 1, 2, 3, 4)
GROWERS = 10
"""Of an account."""
LOOKED_AT = 40
"""Fields of an account that have a night for every day, as the pages that are opened have."""


def fill(conn: Connection, accounts: int, each: int, chance: random.Random) -> list[str]:
    """Put in accounts with so many fields each; give a session's key for each account."""
    people = GROWERS + 1
    _put(conn, person, (_person(i) for i in range(1, accounts * people + 1)))
    _put(conn, account, ({"id": a, "name": f"Account {a}"} for a in range(1, accounts + 1)))
    _put(conn, member, _members(accounts, people))
    _put(conn, field, _fields(accounts, each, people, chance))
    total = accounts * each
    _put(
        conn,
        soil,
        (
            {"field_id": i, "texture": "silt loam", "origin": "invented", "origins": {}}
            for i in range(1, total + 1)
        ),
    )
    _put(conn, season, (_season(i) for i in range(1, total + 1)))
    stands = [_stand(i, chance) for i in range(1, total + 1)]
    room_for(conn, (NIGHT - timedelta(days=back) for back in range(70)))
    _put(conn, risk, (_risk(i, NIGHT, *one) for i, one in enumerate(stands, 1)))
    _put(conn, risk, _earlier(accounts, each, chance))
    _put(conn, dig, (_dig(i) for i, one in enumerate(stands, 1) if one[0] == "watched"))
    _put(conn, standing, (_standing(i, each, people, one) for i, one in enumerate(stands, 1)))
    packed = _picture()
    _put(
        conn,
        season_picture,
        ({"season_id": i, "night": NIGHT, "packed": packed} for i in range(1, total + 1)),
    )
    conn.execute(text("ANALYZE"))
    return [begin_session(conn, a * people, NOW, "bench") for a in range(1, accounts + 1)]


def _put(conn, table, rows):
    some = []
    for row in rows:
        some.append(row)
        if len(some) == BATCH:
            conn.execute(insert(table), some)
            some = []
    if some:
        conn.execute(insert(table), some)


def _person(i):
    mail = f"p{i}@bench.example"
    return {
        "id": i, "name": f"Person {i}", "email": mail, "email_key": mail, "role": "grower",
        "units": "us", "time_zone": "America/Chicago", "language": "en",
    }  # fmt: skip


def _members(accounts, people):
    for a in range(1, accounts + 1):
        for p in range(people):
            role = "adviser" if p == people - 1 else "grower"
            yield {"account_id": a, "person_id": (a - 1) * people + p + 1, "role": role}


def _fields(accounts, each, people, chance):
    for a in range(1, accounts + 1):
        for k in range(each):
            i = (a - 1) * each + k + 1
            yield {
                "id": i, "account_id": a, "grower_id": (a - 1) * people + k % GROWERS + 1,
                "adviser_id": a * people, "name": f"Field {i}", "name_key": f"field {i}",
                "lat": 41.5 + chance.random(), "lon": -94.5 + chance.random(),
                "elevation_m": 300.0, "time_zone": "America/Chicago", "irrigated": False,
            }  # fmt: skip


def _season(i):
    return {
        "id": i, "field_id": i, "year": 2026, "crop": "maize", "planted": PLANTED,
        "row_spacing_cm": 76.0, "seed_depth_cm": 5.0, "black_layer_gdd_f": None,
    }  # fmt: skip


def _stand(i, chance):
    if chance.random() < 0.1:
        return "unrated", None, None
    return "watched", chance.choice(RUNGS), chance.random() * 80.0


def _risk(i, night, status, rung, water_mm):
    return {
        "season_id": i, "night": night, "status": status, "rung": rung, "raw_rung": rung,
        "free_rung": 0, "nights_below": 0, "nights_under_said": 0, "said_rung": rung,
        "reason": "stress_likely_14_days" if rung else "ample", "stage": "V12",
        "gdd_f_total": 1200.0, "water_in_reach_mm": water_mm,
        "free_water_mm": 60.0, "days_ahead_kind": "days" if rung else "neither",
        "days_ahead_median": 12.0 if rung else None, "days_ahead_low": 5.0 if rung else None,
        "days_ahead_high": 20.0 if rung else None, "chance_7": 0.3, "chance_14": 0.6,
        "stress_past_7": 0.1, "stress_season": 0.4, "reach": 0.6,
        "weather_through": NIGHT - timedelta(days=1),
        "changed_on": NIGHT, "said_free": False,
        "detail": {"cause": "roots", "ahead": {
            "short": {"middle": "2026-07-30", "first": "2026-07-24", "last": "2026-08-20"},
            "free_short": None, "chance_short": 0.8, "rungs": [0.2, 0.3, 0.2, 0.2, 0.1],
            "members": 30, "days_to_silk": 6, "critical": True, "weather": "gridMET",
            "forecast": {
                "title": "US National Weather Service", "issued": "2026-07-19",
                "through": "2026-07-26",
            },
            "hold": {"kind": "rain", "days": [["2026-07-21", 12.3, 0.0, 30.1]]},
            "stress_by_stage": [["V12", 0.4]], "days": {}}},
    }  # fmt: skip


def _earlier(accounts, each, chance):
    """Every night of the fields whose pages are opened."""
    for a in range(1, accounts + 1):
        for k in range(min(LOOKED_AT, each)):
            i = (a - 1) * each + k + 1
            rung = 0
            for back in range(1, 70):
                rung = chance.choice(RUNGS) if back % 12 == 0 else rung
                yield _risk(i, NIGHT - timedelta(days=back), "watched", rung, chance.random() * 80)


def _dig(i):
    return {
        "season_id": i, "form_id": None, "dug_on": date(2026, 5, 28), "wall_class": i % 4,
        "plants": 5, "crossing": 20, "held": 20, "pan_class": 0, "pan_depth_cm": None,
        "seed_depth_cm": 5.0, "soil_moisture": "moist", "note": "", "by": "bench",
        "recorded_at": NOW,
    }  # fmt: skip


def _standing(i, each, people, one):
    a = (i - 1) // each + 1
    return {
        "field_id": i, "account_id": a,
        "grower_id": (a - 1) * people + (i - 1) % each % GROWERS + 1,
        "season_id": i, "crop": "maize", "night": NIGHT, "status": one[0], "rung": one[1],
        "place": place_of(*one), "changed": 0,
    }  # fmt: skip


def _picture():
    """The same invented days for all: how they look costs nothing to serve."""
    import json
    import zlib

    past, ahead = (NIGHT - PLANTED).days, 28
    chance = np.random.default_rng(1)
    head = {
        "first": PLANTED.isoformat(),
        "past": past,
        "ahead": ahead,
        "stages": [["V6", "2026-06-10"], ["R1", "2026-07-26"]],
    }
    days = [chance.uniform(0, 80, past) / STEP_MM for _ in PAST] + [
        chance.uniform(0, 900, past) for _ in range(2)
    ]
    days += [chance.uniform(0, 80, ahead) / STEP_MM for _ in range(5)]
    body = b"".join(one.astype("<i2").tobytes() for one in days)
    return zlib.compress(json.dumps(head).encode() + b"\n" + body)
