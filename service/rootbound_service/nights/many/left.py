"""What was asked for a night that is not recorded yet; one left in the middle goes on with it.

Asking anew would bring newer forecasts, and no part that is done would follow from that sky.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from pathlib import Path

    from rootbound_service.weather.places import Place

FILE = "night-left.json"
GOES_ON = timedelta(hours=6)
"""A night left longer ago asks anew: newer forecasts are worth more than the parts. Our choice."""


def name_of(night: date, places: Iterable[Place], *, past: bool) -> str:
    """Name what is asked for a night: the same name, the same questions.

    Parameters
    ----------
    night
        The night.
    places
        Asked for.
    past
        Whether their past years are asked for as well.
    """
    keys = "\n".join(sorted(place.key for place in places))
    return f"{night} {past} {sha256(keys.encode()).hexdigest()}"


def note_asked(folder: Path, name: str, now: datetime, came: Mapping[str, Any]) -> None:
    """Note what asking came to, until the night is recorded.

    Parameters
    ----------
    folder
        The data folder.
    name
        Of what was asked.
    now
        The time.
    came
        What it came to, as JSON has it.
    """
    passing = folder / f"{FILE}.passing"
    told = {"name": name, "at": now.isoformat(), "came": dict(came)}
    passing.write_text(json.dumps(told), encoding="utf-8")
    passing.replace(folder / FILE)


def asked_before(folder: Path, name: str, now: datetime) -> dict[str, Any] | None:
    """Give what asking came to for a night that was left not long ago.

    Parameters
    ----------
    folder, name
        As noted.
    now
        The time.

    Returns
    -------
    dict or None
        None where it has to be asked: nothing was noted, or other questions, or too long ago.
    """
    named, came = _noted(folder, now)
    return came if named == name else None


def is_left(folder: Path, night: date, now: datetime) -> bool:
    """Tell whether a night was left in the middle, so that nothing may change its weather yet.

    Parameters
    ----------
    folder
        The data folder.
    night
        The night.
    now
        The time.
    """
    return _noted(folder, now)[0].startswith(f"{night} ")


def _noted(folder: Path, now: datetime) -> tuple[str, dict[str, Any]]:
    """What was asked lately, and what it came to; an empty name where nothing was."""
    try:
        told = cast("dict[str, Any]", json.loads((folder / FILE).read_text(encoding="utf-8")))
        since = now - datetime.fromisoformat(told["at"])
        found = str(told["name"]), dict(told["came"])
    except (OSError, ValueError, KeyError, TypeError):
        return "", {}
    return found if timedelta() <= since <= GOES_ON else ("", {})


def forget_asked(folder: Path) -> None:
    """Let the next run ask anew: the night is recorded.

    Parameters
    ----------
    folder
        The data folder.
    """
    (folder / FILE).unlink(missing_ok=True)
