"""``rootbound dig``: one dig card."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from datetime import datetime

    from rootbound_service.records import DigRecord, FieldRecord

CARE = (
    "Before the next dig: have buried lines located first (in the US call 811), mind heat and "
    "machinery, and keep to the re-entry times on pesticide labels."
)

Text = str | None
Field = Annotated[str, typer.Argument(metavar="FIELD", help="Name or number of the field.")]
Day = Annotated[Text, typer.Option("--date", metavar="YYYY-MM-DD", help="Day of the dig.")]
Wall = Annotated[
    Text,
    typer.Option(metavar="0-3", help="0 crumbles, 1 firm, 2 smeared, 3 hard and shiny."),
]
Plants = Annotated[Text, typer.Option(metavar="N", help="Plants dug.")]
Crossing = Annotated[Text, typer.Option(metavar="N", help="Nodal roots that cross the row.")]
Held = Annotated[Text, typer.Option(metavar="N", help="Nodal roots held along the row.")]
Pan = Annotated[
    Text, typer.Option(metavar="0-3", help="0 none, 1 firm, 2 hard, 3 very hard or platy.")
]
PanDepth = Annotated[Text, typer.Option(metavar="CM", help="Depth of the top of the pan.")]
SeedDepth = Annotated[Text, typer.Option(metavar="CM", help="Depth of the seed as found.")]
Moisture = Annotated[Text, typer.Option(metavar="WORD", help="Soil: dry, moist or wet.")]
By = Annotated[Text, typer.Option(metavar="NAME", help="Who dug.")]
Note = Annotated[Text, typer.Option(metavar="TEXT", help="Anything else that was seen.")]

FLAGS = {"soil_moisture": "--moisture"}


def dig(  # noqa: PLR0913, PLR0917  a flag each
    ctx: typer.Context,
    field: Field,
    date: Day = None,
    wall_class: Wall = None,
    plants: Plants = None,
    crossing: Crossing = None,
    held: Held = None,
    pan_class: Pan = None,
    pan_depth_cm: PanDepth = None,
    seed_depth_cm: SeedDepth = None,
    moisture: Moisture = None,
    note: Note = None,
    by: By = None,
) -> None:
    """Record what a dig found.

    The field is rated from the next night on. Have buried lines located before digging (in
    the US call 811), mind heat and machinery, and keep to the re-entry times on labels.
    """
    card: dict[str, object] = {
        "date": date,
        "wall_class": wall_class,
        "plants": plants,
        "crossing": crossing,
        "held": held,
        "pan_class": pan_class,
        "pan_depth_cm": pan_depth_cm,
        "seed_depth_cm": seed_depth_cm,
        "soil_moisture": moisture,
        "note": note,
    }
    typer.echo(CARE)
    session = session_of(ctx)
    with session.service() as service:
        from rootbound_service.store.fields import add_dig, find_field

        with service.engine.begin() as conn:
            found = find_field(conn, field)
            checked = _checked(card, found, session.now())
            signed = replace(checked, by=_who(by), recorded_at=session.now())
            stored = add_dig(conn, found.season_id, signed)
    typer.echo(_recorded(stored, found))


def _checked(card: dict[str, object], field: FieldRecord, now: datetime) -> DigRecord:
    from zoneinfo import ZoneInfo

    from rootbound_service.intake.digs import dig_record
    from rootbound_service.intake.labels import flag

    return dig_record(
        card | {"form_id": _form_id(card)},
        planted=field.planted,
        today=now.astimezone(ZoneInfo(field.time_zone)).date(),
        label=lambda name: FLAGS.get(name, flag(name)),
    )


def _who(by: str | None) -> str:
    """Who dug, or nobody said."""
    if by is None:
        return ""
    from rootbound_service.intake.check import check
    from rootbound_service.intake.labels import flag
    from rootbound_service.intake.observations_form import WhoForm

    return check(WhoForm, {"by": by}, flag).by


def _form_id(card: dict[str, object]) -> str:
    """The same card typed twice is one card."""
    return "cli-" + hashlib.sha256(repr(sorted(card.items())).encode()).hexdigest()[:32]


def _recorded(card: DigRecord, field: FieldRecord) -> str:
    counts = ""
    if card.crossing is not None:
        counts = f", {card.crossing} roots crossing and {card.held} held"
    pan = f", pan class {card.pan_class} at {card.pan_depth_cm:g} cm" if card.pan_depth_cm else ""
    return (
        f"Recorded the dig of {card.dug_on} in {field.name}: wall class {card.wall_class}, "
        f"{card.plants} plants{counts}{pan}."
    )
