"""What the end of a season is judged by comes whole, in few statements."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from sqlalchemy import event

from rootbound_service.records import DigRecord, NoteRecord, ObservationRecord
from rootbound_service.store.fields import add_dig, add_field
from rootbound_service.store.observations import add_observation
from rootbound_service.store.risk import save_notes, save_risk
from rootbound_service.store.seasons_past import seasons_past, years_past

AT = datetime(2026, 7, 2, tzinfo=UTC)


def test_a_season_comes_with_its_notes_digs_what_stands_and_its_last_row(
    store, a_field, a_risk, season_id
):
    with store.begin() as conn:
        for night in (date(2026, 7, 9), date(2026, 7, 2)):
            save_notes(conn, [NoteRecord(season_id, night, 1, 2, "x", {"a": 1}, f"n-{night}")])
        add_dig(conn, season_id, DigRecord(date(2026, 5, 25), 2, soil_moisture="wet"))
        rain = ObservationRecord("rain", date(2026, 7, 1), 8.0, "Ada", AT)
        stays = add_observation(conn, season_id, rain)
        wrong = add_observation(conn, season_id, replace(rain, value=80.0))
        add_observation(conn, season_id, replace(wrong, withdraws=wrong.id, form_id=""))
        save_risk(conn, [a_risk(), a_risk(night=date(2026, 9, 15), rung=3)])
        other = add_field(conn, a_field(name="Creek")).id

    with store.connect() as conn:
        (first, second) = seasons_past(conn, 2026, range(1, other + 1))

    assert (first.field_name, first.notes, first.risk) == ("Creek", (), None)
    assert (second.season_id, second.grower, second.planted) == (
        season_id,
        "Ada Quill",
        date(2026, 4, 28),
    )
    assert [(one.night.day, one.evidence) for one in second.notes] == [(2, {}), (9, {})]
    assert second.seen == (stays,)
    assert [one.wall_class for one in second.digs] == [2]
    assert second.risk is not None
    assert second.risk.rung == 3


def test_another_year_and_another_persons_field_are_not_among_them(store, season_id):
    with store.connect() as conn:
        (one,) = seasons_past(conn, 2026, [1])
        assert one.season_id == season_id
        assert seasons_past(conn, 2025, [1]) == ()
        assert seasons_past(conn, 2026, []) == ()
        assert seasons_past(conn, 2026, [99]) == ()
        assert (years_past(conn, [1]), years_past(conn, [99])) == ((2026,), ())


def test_forty_fields_take_as_many_statements_as_one(store, a_field):
    with store.begin() as conn:
        ids = [add_field(conn, a_field(name=f"Field {at}")).id for at in range(40)]
    asked: list[str] = []

    def heard(_conn, _cursor, statement, *_rest):
        asked.append(statement)

    event.listen(store, "before_cursor_execute", heard)
    with store.connect() as conn:
        assert len(seasons_past(conn, 2026, ids)) == 40
    assert sum(one.lstrip().upper().startswith("SELECT") for one in asked) == 5
