"""One thing wrong with what a person gave, said in a way that every reader shares."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from typing import TYPE_CHECKING

from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

Label = Callable[[str], str]
"""Names a value the way the person wrote it: ``--lat``, ``[field] lat``, ``line 3, lat``."""

CODE = "rootbound"
UNSEEN = ("Cc", "Cs", "Zl", "Zp")
"""Unicode classes that no name needs: control characters, halves, line ends."""


def wrong(what: str, wanted: str, at: str | None = None) -> PydanticCustomError:
    """Make the error a validator raises.

    Parameters
    ----------
    what
        What is wrong, naming the value as given.
    wanted
        What would be right.
    at
        The value to blame where that is not the one being checked.

    Returns
    -------
    PydanticCustomError
        To be raised; :func:`problems_of` turns it into a :class:`Problem`.
    """
    context: dict[str, object] = {"what": what, "wanted": wanted, "at": at}
    return PydanticCustomError(CODE, "{what}; {wanted}", context)


def shown(value: object) -> str:
    """A value as it can be quoted in one line of a message."""
    text = "".join(
        " " if unicodedata.category(letter) in UNSEEN else letter for letter in str(value)[:60]
    )
    return f'"{text.strip()}"'


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that ``word`` was most likely meant to be, or None."""
    matches = get_close_matches(word.lower(), tuple(known), n=1, cutoff=0.6)
    return matches[0] if matches else None


def unknown_key(key: str, known: Iterable[str], label: Label) -> Problem:
    """What is wrong with a key nobody knows, and what would be right."""
    names = tuple(known)
    guess = nearest(key, names)
    wanted = f"did you mean {guess}?" if guess else f"use one of {', '.join(names)}"
    where = label(key if key.isidentifier() else shown(key))
    return Problem(where, "is not a known name", wanted)


def problems_of(error: ValidationError, form: type[BaseModel], label: Label) -> tuple[Problem, ...]:
    """Turn everything pydantic found into problems a person can read.

    Parameters
    ----------
    error
        What validating ``form`` raised.
    form
        The form; its field descriptions say what is wanted where a value is missing.
    label
        Names a value the way the person wrote it.

    Returns
    -------
    tuple[Problem, ...]
        One for every error, in the order of the form.
    """
    found: list[Problem] = []
    for item in error.errors(include_url=False):
        name = str(item["loc"][0]) if item["loc"] else ""
        context = item.get("ctx", {})
        if item["type"] == CODE:
            where = label(str(context["at"] or name))
            found.append(Problem(where, str(context["what"]), str(context["wanted"])))
        elif item["type"] == "extra_forbidden":
            found.append(unknown_key(name, form.model_fields, label))
        else:
            what = "is missing" if item["type"] == "missing" else item["msg"]
            known = form.model_fields.get(name)
            where = label(name) if name else "one of the names"  # a name that is no text
            found.append(Problem(where, what, (known and known.description) or "see --help"))
    return tuple(found)
