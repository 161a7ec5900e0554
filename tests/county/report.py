"""What a county's season came to, in figures: each counted at the peers, not in our own tables."""

from __future__ import annotations

from collections import Counter

from sqlalchemy import select

from county.live import Season, local_hour
from rootbound_service.store.outbox import counts
from rootbound_service.store.schema import outbox, outbox_note
from rootbound_service.wiring import Service

AWAKE = range(8, 20)


def figures(season: Season, service: Service) -> dict[str, float]:
    """Every figure by its name."""
    growers = {one.person.email for one in season.growers} | {
        one.number for one in season.growers if one.number
    }
    weeks = season.nights / 7
    notes = [one for one in season.arrived if one.kind == "notes" and one.to in growers]
    texts = [one for one in season.arrived if one.channel == "text" and one.kind == "notes"]
    told = [one for one in season.arrived if one.kind in {"notes", "digest"}]
    doubles = Counter((one.channel, one.to, one.key) for one in season.arrived)
    outside = [one for one in told if local_hour(one) not in AWAKE]
    with service.engine.connect() as conn:
        by_status = counts(conn)
        carried = conn.scalars(select(outbox_note.c.note_id).distinct()).all()
        sent = conn.execute(select(outbox.c.id).where(outbox.c.status == "sent")).all()
    phones = sum(bool(one.number) for one in season.growers)
    unique = len({(one.channel, one.to, one.key) for one in season.arrived})
    return {
        "growers": len(season.growers),
        "fields": sum(len(one.fields) for one in season.growers),
        "nights": season.nights,
        "notes decided": season.notes,
        "notes carried by a message": len(carried),
        "note messages per grower and week": len(notes) / len(season.growers) / weeks,
        "texts per grower with a phone and season": len(texts) / max(phones, 1),
        "digests": sum(one.kind == "digest" for one in season.arrived),
        "answers taken": season.answers,
        "share outside 8 to 20 of the reader": len(outside) / max(len(told), 1),
        "doubles at the peers": sum(many - 1 for many in doubles.values()),
        "marked sent": len(sent),
        "marked sent that no peer saw": len(sent) - unique,
        "after a stop": season.after_stop,
    } | {f"outbox: {status}": many for status, many in by_status.items() if many}
