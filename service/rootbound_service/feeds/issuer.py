"""Who issues feeds, for whom, and by what names messages go."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.feeds.cap_chain import Mark
    from rootbound_service.records import Units


@dataclass(frozen=True, slots=True)
class Issuer:
    """Who issues, for whom.

    Parameters
    ----------
    sender
        Mail address of the service.
    person_id
        The account; only a hash of it is shown.
    units, language
        In which the account reads.
    contact
        Whom to ask; empty: nobody is named.
    """

    sender: str
    person_id: int
    units: Units = "us"
    language: str = "en"
    contact: str = ""

    @property
    def name(self) -> str:
        """The sender without what CAP forbids in names (3.2.1)."""
        return re.sub(r"[\s,<&]", "_", self.sender)

    @property
    def account(self) -> str:
        """The account by a name that says nothing."""
        return f"account-{sha256(f'{self.sender} {self.person_id}'.encode()).hexdigest()[:16]}"

    def identifier(self, mark: Mark) -> str:
        """Name a message to this account: to another it is another message.

        Parameters
        ----------
        mark
            Of the message.
        """
        return f"{mark.name}-{self.account[-8:]}"


def season_named(identifier: str) -> tuple[int, datetime] | None:
    """Read the season and the moment out of an identifier; None where it is not one of ours.

    Parameters
    ----------
    identifier
        As it came.
    """
    found = re.fullmatch(r"rootbound-([1-9]\d{0,8})-(\d{8}T\d{6})-[0-9a-f]{8}", identifier)
    if found is None:
        return None
    try:
        return int(found[1]), datetime.fromisoformat(f"{found[2]}+00:00")
    except ValueError:
        return None
