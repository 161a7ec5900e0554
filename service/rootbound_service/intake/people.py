"""People as a form names them: ``Name <mail>``."""

from __future__ import annotations

import re

from email_validator import EmailNotValidError, validate_email

from rootbound_service.intake.cells import read_text
from rootbound_service.intake.limits import NAME_LENGTH
from rootbound_service.intake.wrong import shown, wrong

PERSON = re.compile(r"([^<>]*)<([^<>]*)>")
WANTED = 'write the name and the mail address as "Name <name@example.org>"'


def read_person(value: object) -> tuple[str, str]:
    """Read a person.

    Parameters
    ----------
    value
        ``Name <mail>`` as text.

    Returns
    -------
    tuple[str, str]
        Name and mail address, the address in its normal form.

    Raises
    ------
    PydanticCustomError
        Naming which of the two is wrong.
    """
    match = PERSON.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        raise wrong(f"{shown(value)} is not a name with a mail address", WANTED)
    name = match[1].strip().strip('"').strip()
    if not name:
        raise wrong("the name is missing before the mail address", WANTED)
    return read_text(name, "a name", NAME_LENGTH), _address(match[2].strip())


def _address(text: str) -> str:
    """The address in its normal form; nobody is asked whether it can be reached."""
    try:
        return validate_email(text, check_deliverability=False).normalized
    except EmailNotValidError as error:
        reason = str(error).rstrip(".")
        raise wrong(f"{shown(text)} is not a mail address: {reason}", WANTED) from None
