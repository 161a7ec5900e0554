"""What a check of one part of the service found, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from rootbound_service.public.http import Unavailable

LATER = "wait and look again; the night goes on with what is stored and with other sources"
SHAPE = (
    "the service answers otherwise than documented: look at its own news page, then for a newer "
    "version of this program; until then put another source first in the order"
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One check: what was looked at, whether it is well, and what would mend it."""

    what: str
    well: bool
    said: str
    mend: str = ""
    why: str = ""
    """Why it matters, where the sentence does not say so itself."""
    run: str = ""
    """One command that mends it, or the first of those that do."""


def try_out(what: str, ask: Callable[[], str]) -> Finding:
    """Ask a service once and say how it went.

    Parameters
    ----------
    what
        The service, for people.
    ask
        Asks, and says in a few words what came.

    Returns
    -------
    Finding
        Never raises for the service's sake.
    """
    from rootbound_service.errors import ServiceError
    from rootbound_service.public.http import Unavailable

    try:
        return Finding(what, well=True, said=ask())
    except Unavailable as error:
        return Finding(what, well=False, said=error.what, mend=mend_of(error))
    except (ServiceError, OSError) as error:
        return Finding(what, well=False, said=str(error), mend="see the sentence")


def mend_of(error: Unavailable) -> str:
    """Say what helps against a service that gave nothing.

    Parameters
    ----------
    error
        What it said.
    """
    if "could not be reached" in error.what or "secure connection" in error.what:
        return "look at this machine's way to the internet, its proxy and its clock"
    if error.retry_later:
        return LATER
    if "403" in error.what or "contact" in error.what:
        return "set ROOTBOUND_CONTACT to a mail address the service can write to"
    return SHAPE
