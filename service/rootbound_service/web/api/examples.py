"""Calls that the page of the API shows; the tests make every one of them."""

from __future__ import annotations

import json

READ = 'curl -H "Authorization: Bearer $TOKEN"'
SEND = f'{READ} -H "Content-Type: application/json"'
DIG = {"date": "2026-06-01", "wall_class": 2, "plants": 5, "crossing": 12, "held": 31}
RAIN = {"date": "2026-07-01", "rain_mm": 14.5}


def _get(path: str) -> str:
    return f'{READ} "$BASE/api/v1{path}"'


def _post(path: str, body: dict[str, object], more: str = "") -> str:
    return f"{SEND}{more} -d '{json.dumps(body)}' \"$BASE/api/v1{path}\""


EXAMPLES = (
    ("Which fields are tight?", _get("/fields?rung=2")),
    ("How does one field stand?", _get("/fields/1")),
    ("Its season day by day", _get("/fields/1/season")),
    (
        "Record a dig, safe to repeat",
        _post("/fields/1/digs", DIG, ' -H "Idempotency-Key: card-17"'),
    ),
    ("Record rain from the field's gauge", _post("/fields/1/observations", RAIN)),
    ("Everything a note rests on", _get("/notes/1")),
)
"""A question, and the call that answers it."""
