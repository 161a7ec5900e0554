"""Calls made up from the API's own schema, good and bad ones, against all of it.

    PYTHONPATH=fixtures:tests .venv/bin/python -m service.web.api.whole_schema --minutes 10

runs for so long, with other calls at every seed, and says every answer that the schema does not
foretell.
"""

from __future__ import annotations

import argparse
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    ignored_auth,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)
from sqlalchemy import select

from browser.app_scene import AppScene, an_app
from rootbound_service.store.accounts import put_operator
from rootbound_service.store.schema import dig, invitation, note, observation, photo
from rootbound_service.store.schema import field as field_table
from service.web.api.caller import V1, Ticking, token

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
"""All but that good data is always accepted: a day in the future is good to a schema only."""
ONCE = [*CHECKS, ignored_auth, unsupported_method]
REAL_VALUES = {
    "grower": "Ann Miller <ann@example.org>",
    "email": "ann@example.org",
    "texture": "silt loam",
    "lat": 41.62,
    "lon": -94.92,
}
"""What a schema cannot know to be good."""
DAYS = {"planted": date(2026, 4, 1), "date": date(2026, 6, 1)}
"""From these on a month of days is good."""


@dataclass
class Report:
    """What came of the calls."""

    answers: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def lines(self) -> Iterator[str]:
        """Say it."""
        for name, many in sorted(self.answers.items()):
            yield f"{many:7d}  {name}"
        yield f"{len(self.faults)} faults"
        yield from self.faults


def try_everything(scene: AppScene, report: Report, *, examples: int, at: int) -> None:
    """Make some calls of each kind.

    Parameters
    ----------
    scene
        The service.
    report
        Filled.
    examples
        Calls of each operation, of each mode.
    at
        Seed.
    """
    schema = schemathesis.openapi.from_asgi(f"{V1}/openapi.json", Ticking(scene))
    real = real_numbers(scene)
    with scene.service.engine.begin() as conn:
        put_operator(conn, scene.people["adviser"].id)
    for found in schema.get_all_operations():
        operation = found.ok()
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            _try(scene, operation, mode, report, (examples, at), real)


def real_numbers(scene: AppScene) -> dict[str, list[int]]:
    """Give numbers of what there is, by their names in addresses; people but the caller."""
    tables = {
        "field_id": field_table,
        "dig_id": dig,
        "note_id": note,
        "observation_id": observation,
        "photo_id": photo,
        "invitation_id": invitation,
    }
    with scene.service.engine.connect() as conn:
        found = {name: list(conn.scalars(select(it.c.id))) for name, it in tables.items()}
    found["person_id"] = [scene.people[word].id for word in ("viewer", "grower")]
    return found | {"year": [2025, 2026]}


def _try(scene, operation, mode, report, how, real) -> None:
    key, (examples, at) = token(scene, "adviser"), how
    headers = {"Authorization": f"Bearer {key}"}
    first = [True]

    @seed(at)
    @settings(
        max_examples=examples,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(
        case=operation.as_strategy(generation_mode=mode),
        choice=st.integers(0, 2**20),
    )
    def calls(case, choice) -> None:
        checks, first[0] = (ONCE if first[0] else CHECKS), False
        if mode is GenerationMode.POSITIVE and choice % 4:
            _make_real(case, choice, real)
        answer = case.call(headers=headers, timeout=120)
        report.answers[f"{answer.status_code} {operation.label}"] += 1
        try:
            case.validate_response(answer, checks=checks, headers=headers)
        except FailureGroup as group:
            report.faults += [
                f"{operation.label}: {one.title}: {one.message}\n{case.as_curl_command()}"
                for one in group.exceptions
            ]

    calls()


def _make_real(case, choice, real) -> None:
    """Put what there is in the place of what was made up, so that calls come through."""
    for name in case.path_parameters or {}:
        some = real.get(name)
        if some:
            case.path_parameters[name] = some[choice % len(some)]
    if isinstance(case.body, dict):
        _make_good(case.body, choice)


def _make_good(body, choice) -> None:
    """Put good values in the place of those that only a person would give."""
    given_ = {name for name, value in body.items() if value is not None}
    body |= {name: value for name, value in REAL_VALUES.items() if name in given_}
    later = timedelta(days=choice % 30)
    body |= {name: (day + later).isoformat() for name, day in DAYS.items() if name in given_}
    if "soil" not in body and choice % 3:  # counts and pans come in pairs
        for name in ("crossing", "held", "pan_depth_cm", "field_capacity", "wilting_point"):
            body.pop(name, None)
        body |= {"pan_class": 0} if "pan_class" in body else {}


def main() -> None:
    """Run for some minutes."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--minutes", type=float, default=10)
    asked.add_argument("--seed", type=int, default=1)
    given_ = asked.parse_args()
    until, report, at = time.monotonic() + 60 * given_.minutes, Report(), given_.seed
    with tempfile.TemporaryDirectory() as folder, an_app(Path(folder)) as scene:
        while time.monotonic() < until:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                try_everything(scene, report, examples=20, at=at)
            at += 1
            print(f"seed {at}: {sum(report.answers.values())} calls", flush=True)
            report.faults = list(dict.fromkeys(report.faults))[:200]
    print("\n".join(report.lines()))


if __name__ == "__main__":
    main()
