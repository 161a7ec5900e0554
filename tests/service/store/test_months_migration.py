"""The step to months keeps every risk row and every run, on either database."""

from __future__ import annotations

from datetime import UTC, date, datetime

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, text

from rootbound_service.store.migrate import FOLDER, migrate
from rootbound_service.store.risk import latest_risk, risk_history
from rootbound_service.store.risk_months import months_there
from rootbound_service.store.runs import last_run

NIGHTS = ("2025-12-31", "2026-01-01", "2026-07-14", "2026-07-15")
PEOPLE = """
INSERT INTO person (id, name, email, email_key, role, units, time_zone, language)
VALUES (1, 'Ada', 'ada@quill.example', 'ada@quill.example', 'grower', 'us', 'UTC', 'en');
INSERT INTO account (id, name) VALUES (1, 'Quill');
INSERT INTO field (id, account_id, grower_id, name, name_key, lat, lon, time_zone, irrigated)
VALUES (1, 1, 1, 'North', 'north', 41, -93, 'UTC', false);
INSERT INTO season (id, field_id, year, crop, planted, row_spacing_cm, seed_depth_cm)
VALUES (7, 1, 2025, 'maize', '2025-11-01', 76, 5);
INSERT INTO run (night, started_at, finished_at, fields_ok, fields_failed, weather) VALUES
('2026-07-14', '2026-07-14 11:00:00.000000', '2026-07-14 11:05:00.000000', 1, 0, '')
"""
ROW = (
    "INSERT INTO risk (season_id, night, status, rung, nights_below, nights_under_said, reason, "
    "stage, gdd_f_total, days_ahead_kind, said_free, detail) VALUES "
    "(7, '{night}', 'watched', 2, 0, 0, 'holding', 'V9', {heat}, 'none', false, '{{\"a\": 1}}')"
)


def _at_the_step_before(engine: Engine) -> None:
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    with engine.begin() as conn:
        if conn.dialect.name == "postgresql":
            conn.execute(text("SET LOCAL TIME ZONE 'UTC'"))
        config.attributes["connection"] = conn
        command.upgrade(config, "0005_web")
        for statement in PEOPLE.split(";"):
            conn.exec_driver_sql(statement)
        for heat, night in enumerate(NIGHTS):
            conn.exec_driver_sql(ROW.format(night=night, heat=heat + 0.1))


def test_every_row_stays_and_lies_in_its_month(empty_store: Engine) -> None:
    _at_the_step_before(empty_store)

    migrate(empty_store)

    with empty_store.connect() as conn:
        rows = risk_history(conn, 7)
        assert [(f"{row.night}", row.gdd_f_total) for row in rows] == [
            (night, heat + 0.1) for heat, night in enumerate(NIGHTS)
        ]
        assert rows[0].detail == {"a": 1}
        assert latest_risk(conn, date(2026, 7, 1))[7].night == date(2026, 1, 1)
        made = {"risk_2025_12", "risk_2026_01", "risk_2026_07"}
        assert months_there(conn) == (made if conn.dialect.name == "postgresql" else set())


def test_a_night_that_was_done_was_first_done_then(empty_store: Engine) -> None:
    _at_the_step_before(empty_store)

    migrate(empty_store)

    with empty_store.connect() as conn:
        last = last_run(conn)
    assert last is not None
    assert last.first_finished_at == last.finished_at == datetime(2026, 7, 14, 11, 5, tzinfo=UTC)
