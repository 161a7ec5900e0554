"""What a form says somebody wants by one way, for oneself and for others alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rootbound_service.records import Contact
    from rootbound_service.web.access.forms import Sent

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
CHANNELS = {"email": "E-mail", "text": "Text"}


def rungs() -> list[tuple[int, str]]:
    """Give the rungs to choose among, with what each choice means."""
    return [(one, say.rung_label(one)) for one in range(5)]


def wishes_in(form: Sent, channel: str) -> dict[str, object]:
    """Read what somebody wants, as ``intake.contacts`` takes it.

    Parameters
    ----------
    form
        With ``notes``, ``from_rung`` and ``digest``.
    channel
        Of the way: by text there is no digest.
    """
    rung = form.get("from_rung")
    given: dict[str, object] = {"notes": form.get("notes") == "yes"}
    if rung:
        given["from_rung"] = int(rung) if rung in {*"01234"} else rung
    if channel == "email" and form.get("digest"):
        given["digest"] = form.get("digest")
    return given


def chosen_fields(form: Sent, known: Mapping[int, str], before: Sequence[int]) -> tuple[int, ...]:
    """Give the only fields that are wanted; none: all of the person's.

    Parameters
    ----------
    form
        With ``field`` for each that was ticked.
    known
        Fields that stood on the page.
    before
        As it was: those of another account stand on no page and stay.
    """
    ticked = {str(one) for one in form.every("field")}
    kept = [one for one in before if one not in known]
    return tuple(sorted({*kept, *(one for one in known if str(one) in ticked)}))


def way_words(way: Contact, fields: Mapping[int, str]) -> str:
    """Say what is wanted by a way.

    Parameters
    ----------
    way
        The way.
    fields
        Names of fields by number.
    """
    parts = ["no notes"]
    if way.notes:
        of = ", ".join(fields[one] for one in way.field_ids if one in fields)
        whole = f" of {of}" if of else ""
        rung = f" from {say.rung_label(way.least_rung)} on" if way.least_rung else ""
        parts = [f"notes{whole}{rung}"]
    if way.channel == "email":
        parts.append("no digest" if way.digest_day is None else f"digest on {DAYS[way.digest_day]}")
    return ", ".join(parts)
