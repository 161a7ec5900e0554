"""``rootbound enroll``: one field, by flags or from a TOML file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli import flags
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from rootbound_service.cli.service import Service
    from rootbound_service.cli.session import Session
    from rootbound_service.records import FieldRecord

NOT_FLAGS = ("ctx", "file")


def enroll(  # noqa: PLR0913, PLR0917  a flag each
    ctx: typer.Context,
    file: Annotated[
        Path | None, typer.Option(metavar="TOML", help="Take everything from this file instead.")
    ] = None,
    name: flags.Name = None,
    lat: flags.Lat = None,
    lon: flags.Lon = None,
    elevation_m: flags.Elevation = None,
    row_spacing_cm: flags.RowCm = None,
    row_spacing_in: flags.RowIn = None,
    irrigated: flags.Irrigated = False,  # noqa: FBT002  a switch on the command line
    crop: flags.Crop = None,
    planted: flags.Planted = None,
    black_layer_gdd_f: flags.BlackLayer = None,
    seed_depth_cm: flags.SeedCm = None,
    seed_depth_in: flags.SeedIn = None,
    texture: flags.Texture = None,
    field_capacity: flags.FieldCapacity = None,
    wilting_point: flags.WiltingPoint = None,
    clay_pct: flags.Clay = None,
    organic_matter_pct: flags.OrganicMatter = None,
    profile_depth_m: flags.Profile = None,
    water_table_m: flags.WaterTable = None,
    grower: flags.Grower = None,
    adviser: flags.Adviser = None,
    units: flags.UnitSystem = None,
) -> None:
    """Enrol one field for its season.

    Give flags, or one TOML file with [field], [season], [soil], [people] and [[dig]].
    Every problem is named at once; nothing is stored until all is right.
    """
    given = {key: value for key, value in locals().items() if key not in NOT_FLAGS}
    session = session_of(ctx)
    record = _from_file(file, ctx) if file else _from_flags(given, ctx)
    with session.service() as service:
        from rootbound_service.store.fields import add_field

        with service.engine.begin() as conn:
            stored = add_field(conn, record, session.now())
        typer.echo(_enrolled(stored))
        if not stored.soil.is_known:
            _fetch_soil(service, stored, session)
    _say_gaps(stored.crop)


def _from_file(file: Path, ctx: typer.Context) -> FieldRecord:
    from rootbound_service.intake.toml_file import field_from_toml

    beside = [name for name, value in ctx.params.items() if name != "file" and value]
    if beside:
        names = ", ".join("--" + name.replace("_", "-") for name in beside)
        message = f"--file stands alone: write {names} into the file"
        raise typer.BadParameter(message)
    return field_from_toml(file, today=session_of(ctx).now())


def _from_flags(given: dict[str, object], ctx: typer.Context) -> FieldRecord:
    from rootbound_service.intake.fields import field_record
    from rootbound_service.intake.labels import flag

    return field_record(given, today=session_of(ctx).now(), label=flag)


def _fetch_soil(service: Service, field: FieldRecord, session: Session) -> None:
    """Ask the soil services at once; what fails is asked again in the nights."""
    from rootbound_service.soil.build import sources_at
    from rootbound_service.soil.fetch import fetch_soils

    parts = service.parts
    at = sources_at(parts.order, parts.soils)
    for one in fetch_soils(service.engine, at, (field,), session.now()):
        typer.echo(one.sentence + ("." if one.source else ""))
        if one.source:
            typer.echo("rootbound soil shows each value; --set puts one right.")


def _say_gaps(crop: str) -> None:
    """Say what a crop has no source for; the one gap of maize closes with its seed tag."""
    from rootbound_rules.crop.gaps import gaps

    for sentence in gaps(crop) if crop != "maize" else ():
        typer.echo(f"note: {sentence}", err=True)


def _enrolled(field: FieldRecord) -> str:
    digs = len(field.digs)
    told = (
        f"with {digs} dig{'s' if digs > 1 else ''}" if digs else "unrated until its roots are dug"
    )
    return (
        f"Enrolled {field.name} as field {field.id}, {field.crop} planted {field.planted}, "
        f"{field.time_zone}: {told}."
    )
