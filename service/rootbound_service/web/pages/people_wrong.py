"""What is wrong in a form about people, beside the input that it is about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rootbound_service.errors import Problem

INPUTS = {
    "--email, --text": "address",
    "--email": "address",
    "--text": "address",
    "--from-rung": "from_rung",
    "--digest": "digest",
    "--units": "units",
    "--time-zone": "time_zone",
    "--language": "language",
    "consent": "wording",
}
"""Names of inputs by what the checks call them; any other name is an input's own."""
LABELS = {
    "address": "Address or number",
    "channel": "Way",
    "from_rung": "From rung",
    "digest": "Digest",
    "units": "Units",
    "time_zone": "Time zone",
    "language": "Language",
    "wording": "Words they agreed to",
    "consent_how": "How they agreed",
    "consent_at": "When they agreed",
    "agreed": "Agreed",
    "said": "What they said",
    "name": "Name",
    "email": "E-mail",
    "role": "May",
    "scope": "It may",
    "days": "For",
    "why": "Because",
    "field": "Field",
    "person": "Person",
    "hours": "Hours",
    "message": "Messages",
}


def by_input(problems: Iterable[Problem]) -> Mapping[str, Problem]:
    """Give each problem by the name of its input, called as its label is.

    Parameters
    ----------
    problems
        As the checks named them; of several about one input the first stands.
    """
    found: dict[str, Problem] = {}
    for one in problems:
        name = INPUTS.get(one.where, one.where)
        found.setdefault(name, Problem(LABELS.get(name, name), one.what, one.wanted))
    return found
