"""Some weeks of eleven fields of every kind, to be lived through by one night and by the other."""

from __future__ import annotations

from datetime import UTC, date, datetime

from rootbound_service.records import DigRecord, ObservationRecord
from rootbound_service.store.fields import find_field
from rootbound_service.store.observations import add_observation
from service.nights.rig import NORTH, YEAR, Rig, a_field

FIRST, LAST = date(YEAR, 6, 27), date(YEAR, 8, 8)
MANY = {"ROOTBOUND_SWEEP_FROM_FIELDS": "0", "ROOTBOUND_SWEEP_WORKERS": "1"}
DUG = date(YEAR, 5, 28)
FIELDS = (
    a_field("Held"),
    a_field("Shiny", NORTH, digs=(DigRecord(DUG, 3, plants=6),)),
    a_field("Free", digs=(DigRecord(DUG, 0, plants=6),)),
    a_field("Undug", NORTH, digs=()),
    a_field("Late", planted=date(YEAR, 6, 26), digs=()),
    a_field("Watered", irrigated=True),
    a_field("Gauged", NORTH),
    a_field("Seen"),
    a_field("Cut", NORTH),
    a_field("Pan", digs=(DigRecord(DUG, 1, plants=5, pan_class=3, pan_depth_cm=18.0),)),
    a_field("Old", planted=date(YEAR - 1, 4, 28), digs=()),
)
SEEN = {
    "Watered": [("irrigation", date(YEAR, 7, 8), 30.0), ("irrigation", date(YEAR, 7, 20), 35.0)],
    "Gauged": [("rain", date(YEAR, 7, 10), 22.0)],
    "Seen": [("rolled", date(YEAR, 7, 9), 1.0)],
    "Cut": [("harvest", date(YEAR, 7, 18), None)],
}


def tell(rig: Rig, name: str, told: list) -> None:
    """Store what was seen on a field."""
    with rig.service.engine.begin() as conn:
        season = find_field(conn, name).season_id
        for kind, day, value in told:
            at = datetime(YEAR, day.month, day.day, 22, tzinfo=UTC)
            add_observation(conn, season, ObservationRecord(kind, day, value, "Ines", at))
