"""``rootbound fields`` and ``rootbound show``: how the fields stand, and one of them in full."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.records import FieldRecord, RiskRecord, Units

UnitSystem = Annotated[
    str | None,
    typer.Option("--units", metavar="us|metric", help="Units; each grower's own if not given."),
]
NONE_YET = (
    "No field is enrolled yet. Enrol the first from a file, rootbound enroll --file FIELD.toml, "
    "or by flags, see rootbound enroll --help."
)


def fields(ctx: typer.Context, units: UnitSystem = None) -> None:
    """List the fields and how they stand.

    Rungs: 0 ample, 1 drawing down, 2 tight, 3 short, 4 failing. A field is unrated until it
    is dug, and has no answer when its weather is too old.
    """
    from rootbound_service.cli.overview import print_overview
    from rootbound_service.store.fields import list_fields
    from rootbound_service.store.risk import risk_on
    from rootbound_service.store.runs import last_run

    chosen, session = _units(units), session_of(ctx)
    today = session.now().date()
    with session.service() as service, service.engine.connect() as conn:
        listed, risks = list_fields(conn, today), risk_on(conn, today)
        run = last_run(conn, finished_only=True)
    if not listed:
        typer.echo(NONE_YET)
        return
    stale = session.settings().weather_stale_days
    print_overview(listed, risks, today=today, stale_days=stale, units=chosen)
    typer.echo(_last_night(run.night if run else None, today))


def show(
    ctx: typer.Context,
    field: Annotated[str, typer.Argument(metavar="FIELD", help="Name or number of the field.")],
    units: UnitSystem = None,
    belief: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Also draw how reports of leaves moved the figures: a .png or .svg.",
        ),
    ] = None,
) -> None:
    """Show one field in full.

    Place, soil, digs, what people saw there, how it stands and why, what comes, its notes with
    their numbers, and its rungs by night.
    """
    from rootbound_service.cli.card import field_lines, seen_lines
    from rootbound_service.cli.night_card import night_lines, note_lines
    from rootbound_service.cli.timeline import timeline
    from rootbound_service.nights.row_facts import members_of
    from rootbound_service.nights.standing import facts_of
    from rootbound_service.store.fields import find_field
    from rootbound_service.store.notes import notes_listed
    from rootbound_service.store.observations import every_observation
    from rootbound_service.store.risk import risk_history
    from rootbound_service.store.runs import last_run

    chosen, session = _units(units), session_of(ctx)
    today, stale = session.now().date(), session.settings().weather_stale_days
    with session.service() as service, service.engine.connect() as conn:
        found = find_field(conn, field)
        history = [row for row in risk_history(conn, found.season_id) if row.night <= today]
        seen = every_observation(conn, found.season_id)
        listed = [note for note, _ in notes_listed(conn, [found.season_id])]
        run = last_run(conn, finished_only=True)
    risk, earlier = (history[-1], history[:-1]) if history else (None, [])
    facts = facts_of(found, risk, today=today, stale_days=stale, earlier=earlier)
    night, units = run.night if run else None, chosen or found.grower.units
    lines = [*field_lines(found), *seen_lines(seen, found, units), "", _last_night(night, today)]
    members = members_of(risk) if risk else 0
    lines += [*night_lines(facts, units, members), *note_lines(listed)]
    drawn = timeline(history, min(night or today, today))
    if drawn:
        lines += ["", "Rungs by night", *(f"  {line}" for line in drawn)]
    if belief is not None:
        lines += ["", _draw(belief, found, risk)]
    typer.echo("\n".join(lines))


def _draw(path: Path, field: FieldRecord, risk: RiskRecord | None) -> str:
    """Draw how belief moved, and say where the picture is; or why there is none."""
    from rootbound_service.errors import Problem, RefusedInput

    told = risk.detail.get("belief") if risk else None
    if path.suffix.lower() not in {".png", ".svg"}:
        raise RefusedInput(
            (Problem("--belief", f"{path.name} is no picture", "name a .png or .svg"),)
        )
    if not isinstance(told, dict) or not cast("dict[str, object]", told).get("moved"):
        return "No report of leaves counts in the last night's figures: there is nothing to draw."
    from rootbound_service.desk.belief_plot import draw_belief

    draw_belief(cast("dict[str, object]", told), field.name, path)
    return f"Before and after the reports of leaves: {path}"


def _units(given: str | None) -> Units | None:
    if given in {None, "us", "metric"}:
        return given  # type: ignore[return-value]  # just compared
    message = "write us or metric"
    raise typer.BadParameter(message, param_hint="--units")


def _last_night(night: date | None, today: date) -> str:
    """Say how old the figures are: silence is never fine."""
    if night is None:
        return "No night has been run yet: rootbound nightly runs one."
    if (today - night).days > 1:
        return f"No night has been run since {night}: the figures are of that night."
    return f"Figures of the night of {night}."
