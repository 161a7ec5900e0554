"""How somebody reads, as somebody gives it: units, language, and the time zone of their clock."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from zoneinfo import available_timezones

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.wrong import nearest, shown

UNITS = ("us", "metric")


def read_reader(given: Mapping[str, object], languages: Collection[str]) -> dict[str, str]:
    """Check what was given of a reader.

    Parameters
    ----------
    given
        ``units``, ``time_zone`` and ``language`` as far as given.
    languages
        Those that there are words in.

    Returns
    -------
    dict
        What was given, each in its right form.

    Raises
    ------
    RefusedInput
        With every problem.
    """
    known = {"units": UNITS, "time_zone": available_timezones(), "language": languages}
    found: dict[str, str] = {}
    problems: list[Problem] = []
    for name, values in known.items():
        if (said := given.get(name)) is None:
            continue
        word = str(said).strip().casefold()
        right = next((one for one in values if one.casefold() == word), None)
        if right is None:
            problems.append(_none_such(name, said, values))
        else:
            found[name] = right
    if problems:
        raise RefusedInput(tuple(problems))
    return found


def _none_such(name: str, said: object, values: Collection[str]) -> Problem:
    """Say what would be right: all there are, or of many the one that is near."""
    flag = f"--{name.replace('_', '-')}"
    what = f"{shown(said)} is no {name.replace('_', ' ')}"
    if len(values) > 9:  # noqa: PLR2004 - too many to list
        by_key = {one.casefold(): one for one in values}
        near = nearest(str(said), by_key)
        wanted = f"did you mean {by_key[near]}?" if near else "give it as America/Chicago"
    else:
        wanted = f"give {' or '.join(sorted(values))}"
    return Problem(flag, what, wanted)
