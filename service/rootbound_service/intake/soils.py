"""Values of a soil entered one by one, and the names of those to be cleared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from pydantic import ValidationError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.forms import SoilForm
from rootbound_service.intake.wrong import problems_of, shown, unknown_key

NAMES = tuple(SoilForm.model_fields)
"""What a soil has, by name."""


def entered_soil(assignments: Sequence[str]) -> dict[str, float | str]:
    """Read values written as ``name=value``.

    Parameters
    ----------
    assignments
        Such as ``clay_pct=28``.

    Returns
    -------
    dict
        Values by name, within the limits of the forms.

    Raises
    ------
    RefusedInput
        With every problem: what is no assignment, no name of ours, twice, or out of range.
    """
    given: dict[str, str] = {}
    problems: list[Problem] = []
    for text in assignments:
        name, equals, value = (part.strip() for part in text.partition("="))
        key = name.lower().replace("-", "_")
        if not equals or not value:
            wanted = "write name=value, for example clay_pct=28"
            problems.append(Problem("--set", f"{shown(text)} sets nothing", wanted))
        elif key not in NAMES:
            problems.append(unknown_key(key, NAMES, lambda one: f"--set {one}"))
        elif key in given:
            problems.append(Problem(f"--set {key}", "is given twice", "give it once"))
        else:
            given[key] = value
    try:
        form = SoilForm.model_validate(given)
    except ValidationError as error:
        problems += problems_of(error, SoilForm, lambda one: f"--set {one}")
        raise RefusedInput(tuple(problems)) from None
    if problems:
        raise RefusedInput(tuple(problems))
    return {name: cast("float | str", getattr(form, name)) for name in given}


def cleared_soil(names: Sequence[str]) -> tuple[str, ...]:
    """Read names of values to be cleared.

    Parameters
    ----------
    names
        As written.

    Raises
    ------
    RefusedInput
        If one is no name of ours.
    """
    keys = tuple(dict.fromkeys(name.strip().lower().replace("-", "_") for name in names))
    unknown = [key for key in keys if key not in NAMES]
    if unknown:
        raise RefusedInput(
            tuple(unknown_key(key, NAMES, lambda one: f"--clear {one}") for key in unknown)
        )
    return keys
