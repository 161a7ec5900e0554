"""What is recorded of a field as lines: who said what, when, and what may be recorded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rootbound_service.notes.en.seen_words import what_text

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord, ObservationRecord, Units

HEADS = ("id", "day", "what", "by", "recorded", "note")


def rows_of(
    every: Sequence[ObservationRecord], field: FieldRecord, units: Units | None = None
) -> Iterator[tuple[str, str, str, str, str, str]]:
    """Cells of what was observed, by day; what was withdrawn stays to be seen."""
    units = units or field.grower.units
    withdrawn = {one.withdraws: one for one in every if one.withdraws is not None}
    zone = ZoneInfo(field.time_zone)
    said = [one for one in every if one.withdraws is None]
    for one in sorted(said, key=lambda one: (one.day, one.recorded_at, one.id)):
        note, taken = one.note, withdrawn.get(one.id)
        if taken is not None:
            at = taken.recorded_at.astimezone(zone)
            note = f"withdrawn by {taken.by} on {at:%Y-%m-%d}" + (f"; {note}" if note else "")
        at = one.recorded_at.astimezone(zone)
        what = what_text(one, units)
        yield (str(one.id), str(one.day), what, one.by, f"{at:%Y-%m-%d %H:%M}", note)


def none_yet(field: FieldRecord) -> str:
    """What may be recorded, for whoever finds nothing recorded."""
    rain = "0.8 in" if field.grower.units == "us" else "20 mm"
    name = f'"{field.name}"' if " " in field.name else field.name
    on = f"--on YYYY-MM-DD --by {field.grower.name.split()[0]}"
    return "\n".join(
        (
            f"Nothing is recorded for {field.name} this season.",
            "What you measure and see there counts from the next night on:",
            f"  rootbound observe {name} --rain '{rain}' {on}",
            "      the field's own gauge takes the place of the weather grid on that day",
            f"  rootbound observe {name} --rolled {on}",
            f"  rootbound observe {name} --not-rolled {on}",
            "      leaves at noon, from V8 on: both answers sharpen the outlook",
            f"  rootbound observe {name} --irrigated '{rain}' {on}",
            f"  rootbound observe {name} --harvested {on}",
        )
    )
