"""Whether this machine knows the time zone of every field and every reader."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select, union

from rootbound_service.public.finding import Finding
from rootbound_service.store.schema import field, person

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from sqlalchemy import Connection

SHOWN = 3


def zones_used(conn: Connection) -> set[str]:
    """Give the time zones of all fields and people.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    names = union(select(field.c.time_zone), select(person.c.time_zone))
    return {name for name in conn.scalars(names) if name}


def check_zones(used: Iterable[str], known: Collection[str]) -> Finding:
    """Look whether each zone is known.

    Parameters
    ----------
    used
        Names, as fields and people have them.
    known
        Names this machine has the rules of.
    """
    wanted = set(used)
    missing = sorted(wanted - set(known))
    if not missing:
        return Finding("time zones", well=True, said=f"{len(wanted)} in use, each known here")
    more = f" and {len(missing) - SHOWN} more" if len(missing) > SHOWN else ""
    return Finding(
        "time zones",
        well=False,
        said=f"not known here: {', '.join(missing[:SHOWN])}{more}",
        why="the day and the quiet hours of their fields cannot be told",
        mend="install the rules of time zones, old names too",
        run="pip install --upgrade tzdata",
    )
