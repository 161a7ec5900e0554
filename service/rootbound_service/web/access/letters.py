"""The short letters that let people in."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rootbound_service.links import way_in_mark
from rootbound_service.records import OutboxMessage
from rootbound_service.store import invitations, sign_in

if TYPE_CHECKING:
    from rootbound_service.records import Person

SIGN_IN = """Somebody, probably you, asks to sign in to Rootbound with this address.

Open this link and press the button within 15 minutes; it works once:
{link}

If it was not you, do nothing: nobody gets in without this letter.
"""
INVITED = """{by} invites you to Rootbound, in the account "{account}", as {role}.

Rootbound watches how much water is left in reach of the roots of maize fields and writes when it
runs short. Open this link and press the button within two weeks; it works once:
{link}

If you do not know {by}, do nothing: you are not enrolled in anything by this letter.
"""
ROLES = {
    "adviser": "an adviser, who enrols and digs",
    "grower": "a grower, who sees their own fields",
    "viewer": "a viewer, who looks on",
}


def sign_in_letter(person: Person, number: int, now: datetime) -> OutboxMessage:
    """Write the letter with a link to sign in.

    Parameters
    ----------
    person
        Whom it lets in.
    number
        Of the link.
    now
        The time.
    """
    text = SIGN_IN.format(link=way_in_mark("enter", number))
    to, mark = (person.name, person.email), f"enter-{number}"
    return _letter(to, mark, "Sign in to Rootbound", text, now, sign_in.LASTS)


def invitation_letter(
    guest: invitations.Guest, number: int, by: str, account: str, now: datetime
) -> OutboxMessage:
    """Write the letter that invites somebody.

    Parameters
    ----------
    guest
        Whom, as what.
    number
        Of the invitation.
    by, account
        Who invites, and into what.
    now
        The time.
    """
    link, role = way_in_mark("join", number), ROLES[guest.role]
    text = INVITED.format(link=link, by=by, account=account, role=role)
    subject = f"{by} invites you to Rootbound"
    to, mark = (guest.name, guest.email), f"join-{number}"
    return _letter(to, mark, subject, text, now, invitations.LASTS)


def _letter(
    to: tuple[str, str], mark: str, subject: str, text: str, now: datetime, lasts: timedelta
) -> OutboxMessage:
    name, address = to
    return OutboxMessage(
        dedupe_key=mark,
        kind="answer",
        channel="email",
        person_id=None,
        to_address=address,
        to_name=name,
        subject=subject,
        text=text,
        html="",
        images={},
        created_at=now,
        available_at=now,
        not_after=now + lasts,
        priority=0,
    )
