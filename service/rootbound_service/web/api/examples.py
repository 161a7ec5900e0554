"""Calls that the page of the API shows; the tests make every one of them as it stands there."""

from __future__ import annotations

import json
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Example:
    """A question, and the call that answers it."""

    question: str
    path: str
    body: dict[str, object] | None = None
    method: str = "GET"
    headers: dict[str, str] = field(default_factory=dict[str, str])
    file: str = ""
    """Name of a photo that is sent along."""


def curl(one: Example) -> str:
    """Write a call for a shell, with $BASE and $TOKEN set.

    Parameters
    ----------
    one
        The call.
    """
    parts = ["curl", '-H "Authorization: Bearer $TOKEN"']
    parts += [f'-H "{name}: {value}"' for name, value in one.headers.items()]
    if one.file:
        parts.append(f'-F "file=@{one.file}"')
    elif one.body is not None:
        parts.append('-H "Content-Type: application/json"')
        parts.append(f"-d '{json.dumps(one.body)}'")
    if one.method == "PATCH" or (one.method == "POST" and one.body is None and not one.file):
        parts.append(f"-X {one.method}")
    return " \\\n  ".join((*parts, f'"$BASE/api/v1{one.path}"'))


def _post(question: str, path: str, body: dict[str, object] | None, key: str = "") -> Example:
    return Example(question, path, body, "POST", {"Idempotency-Key": key} if key else {})


ENROLLED = {
    "name": "North Forty",
    "lat": 41.62,
    "lon": -94.92,
    "grower": "Ann Miller <ann@example.org>",
    "planted": "2026-05-04",
    "texture": "silt loam",
}
DUG = {"date": "2026-06-01", "wall_class": 2, "plants": 5, "crossing": 12, "held": 31}
EXAMPLES = (
    Example("Whose token is this, and what may it do?", "/me"),
    Example("How many fields stand how?", "/today"),
    Example("Which fields are tight?", "/fields?rung=2"),
    Example("Every field, 20 at a time: send next as after", "/fields?limit=20"),
    Example("How does one field stand?", "/fields/1"),
    Example("Its season day by day, and the outlook", "/fields/1/season"),
    Example("Where to dig first, and where again?", "/dig-list"),
    _post("Enrol a field, safe to repeat", "/fields", dict(ENROLLED), "north-forty-2026"),
    Example(
        "Correct its soil by hand",
        "/fields/1",
        {"soil": {"texture": "silt loam", "clay_pct": 24}},
        "PATCH",
    ),
    _post("Record a dig, safe to repeat", "/fields/1/digs", dict(DUG), "card-17"),
    Example("What does a dig mean?", "/fields/1/digs/1/meaning"),
    Example("Add a photo of it", "/fields/1/digs/1/photos", method="POST", file="wall.jpg"),
    _post(
        "Record rain from the field's gauge",
        "/fields/1/observations",
        {"date": "2026-07-01", "rain_mm": 14.5},
    ),
    _post("Take an observation back", "/observations/1/withdraw", {"note": "another gauge"}),
    Example("What was told of a field?", "/fields/1/notes"),
    Example("Everything a note rests on", "/notes/1"),
    _post("Say that it was seen", "/notes/1/seen", None),
    _post("Hear nothing of a field for a week", "/fields/1/silence", {"days": 7}),
    _post(
        "Invite a grower",
        "/invitations",
        {"name": "Ann Miller", "email": "ann@example.org", "role": "grower"},
    ),
    Example("Who changed what?", "/changes?limit=10"),
    Example("Were last year's warnings right?", "/seasons/2025"),
)
