"""Checking a form: every problem of it at once, those of one value and those between values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from pydantic import ValidationError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.cells import filled
from rootbound_service.intake.forms import DigForm, FieldForm, Form, SoilForm
from rootbound_service.intake.wrong import Label, problems_of

AnyForm = TypeVar("AnyForm", bound=Form)


def check(
    form: type[AnyForm], values: Mapping[str, object], label: Label, **context: object
) -> AnyForm:
    """Fill a form in.

    Parameters
    ----------
    form
        The form.
    values
        What was given, by name; an empty cell counts as not given.
    label
        Names a value the way the person wrote it.
    **context
        What the form's checks need to know: ``today``, ``planted``.

    Returns
    -------
    Form
        The form, complete and right.

    Raises
    ------
    RefusedInput
        With every problem of the form.
    """
    given = filled(values)
    problems: list[Problem] = []
    filled_in: AnyForm | None = None
    try:
        filled_in = form.model_validate(given, context=context)
    except ValidationError as error:
        problems += problems_of(error, form, label)
    problems += _between(form, given, label)
    if problems or filled_in is None:
        raise RefusedInput(tuple(problems))
    return filled_in


def _between(form: type[Form], given: dict[str, object], label: Label) -> list[Problem]:
    """What is wrong between values: which of them are there at all."""
    if issubclass(form, SoilForm):
        return _soil_given(given, label, must=not issubclass(form, FieldForm))
    if issubclass(form, DigForm):
        return _counts_given(given, label)
    return []


def _soil_given(given: dict[str, object], label: Label, *, must: bool) -> list[Problem]:
    """Water contents come as a pair; a field that is watched may have its soil fetched."""
    numbers = [name for name in ("field_capacity", "wilting_point") if name in given]
    if len(numbers) == 1:
        other = {"field_capacity": "wilting_point", "wilting_point": "field_capacity"}[numbers[0]]
        return [Problem(label(other), f"is missing beside {numbers[0]}", "give both or neither")]
    if must and not numbers and "texture" not in given:
        wanted = "name a texture, for example silt loam, or give field_capacity and wilting_point"
        return [Problem(label("texture"), "no soil is given", wanted)]
    return []


def _counts_given(given: dict[str, object], label: Label) -> list[Problem]:
    """Counts come in pairs and with plants; a pan comes with its depth."""
    found: list[Problem] = []
    counts = [name for name in ("crossing", "held") if name in given]
    if len(counts) == 1:
        other = {"crossing": "held", "held": "crossing"}[counts[0]]
        wanted = "count both the roots that cross and those held, or neither"
        found.append(Problem(label(other), f"is missing beside {counts[0]}", wanted))
    if counts and _zero(given.get("plants", 0)):
        wanted = "say how many plants the roots were counted on, 1 or more"
        found.append(Problem(label("plants"), "roots are counted but no plants", wanted))
    no_pan = _zero(given.get("pan_class", 0))
    if not no_pan and "pan_depth_cm" not in given:
        wanted = "say how deep the top of the pan lies, 2 to 80 cm"
        found.append(Problem(label("pan_depth_cm"), "is missing for the pan", wanted))
    if no_pan and "pan_depth_cm" in given:
        wanted = "give the class of the pan, 1 to 3, or leave its depth out"
        found.append(Problem(label("pan_class"), "says no pan but a pan depth is given", wanted))
    return found


def _zero(value: object) -> bool:
    """Whether a value, whatever it is, reads as nought."""
    try:
        return float(str(value)) == 0
    except ValueError:
        return False


def try_check(
    form: type[AnyForm], values: Mapping[str, object], label: Label, **context: object
) -> tuple[AnyForm | None, tuple[Problem, ...]]:
    """Fill a form in as :func:`check` does, returning the problems instead of raising them."""
    try:
        return check(form, values, label, **context), ()
    except RefusedInput as refused:
        return None, refused.problems
