"""The API's description of itself (OpenAPI 3.1), and the list of its calls read from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rootbound_service.web.api.problems import ProblemOut

VERSION = "/v1"
ABOUT = (
    "Everything the pages do. Figures are in SI units with the unit in the name, days are written "
    "as 2026-05-04. Every error is problem+json (RFC 9457) and says where, what, and what would "
    "be right. Lists come a page at a time: send next as after, or follow the Link header "
    "(RFC 8288). A POST with an Idempotency-Key may be sent again. What a token may do is never "
    "more than its owner may."
)
METHODS = ("get", "post", "patch", "put", "delete")


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the API."""

    part: str
    method: str
    path: str
    told: str


def schema_of(usual: dict[str, Any]) -> dict[str, Any]:
    """Complete the schema that the framework makes.

    Parameters
    ----------
    usual
        As made; it is kept there and completed once.
    """
    if "servers" in usual:
        return usual
    paths: dict[str, Any] = usual["paths"]
    usual["paths"] = {path.removeprefix(VERSION): told for path, told in paths.items()}
    usual["servers"] = [{"url": f"/api{VERSION}"}]
    shapes: dict[str, Any] = usual.setdefault("components", {}).setdefault("schemas", {})
    problem = ProblemOut.model_json_schema(ref_template="#/components/schemas/{model}")
    shapes |= problem.pop("$defs")
    shapes["ProblemOut"] = problem
    return usual


def calls_of(schema: Mapping[str, Any]) -> list[Call]:
    """List every call, for a page that people read.

    Parameters
    ----------
    schema
        From :func:`schema_of`.
    """
    found = [
        Call(told["tags"][0], method.upper(), f"/api{VERSION}{path}", told["description"])
        for path, methods in schema["paths"].items()
        for method, told in methods.items()
        if method in METHODS
    ]
    return sorted(found, key=lambda one: one.part)
