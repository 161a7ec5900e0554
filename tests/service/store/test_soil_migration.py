"""Soils stored before values had origins: they count as before, and nothing is lost."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, text

from rootbound_service.records import SoilRecord
from rootbound_service.store.engine import migrate
from rootbound_service.store.fields import list_fields
from rootbound_service.store.migrate import FOLDER
from rootbound_service.store.soil import soil_values
from rootbound_service.store.soil_record import effective

PERSON = (
    "INSERT INTO person (id, name, email, email_key, role, units, time_zone) "
    "VALUES (1, 'Ada Quill', 'a@q.example', 'a@q.example', 'grower', 'us', 'UTC')"
)
FIELD = (
    "INSERT INTO field (id, grower_id, name, name_key, lat, lon, time_zone, irrigated) "
    "VALUES (:id, 1, :name, :name, 42.0, -93.0, 'UTC', false)"
)
SEASON = (
    "INSERT INTO season (field_id, year, crop, planted, row_spacing_cm, seed_depth_cm) "
    "VALUES (:id, 2026, 'maize', '2026-04-28', 76.0, 5.0)"
)
SOIL = (
    "INSERT INTO soil (field_id, texture, field_capacity, wilting_point, clay_pct, "
    "profile_depth_m, origin) VALUES (:id, :texture, :fc, :wp, :clay, :depth, :origin)"
)
OLD = (
    {
        "id": 1,
        "name": "north",
        "texture": "silty clay loam",
        "fc": None,
        "wp": None,
        "clay": 33.3,
        "depth": 1.5,
        "origin": "entered by hand",
    },
    {
        "id": 2,
        "name": "south",
        "texture": None,
        "fc": 0.31,
        "wp": 0.17,
        "clay": None,
        "depth": 0.9,
        "origin": "our lab",
    },
)


def test_an_old_soil_counts_as_before_with_an_origin_for_every_value(empty_store: Engine) -> None:
    with empty_store.connect() as conn, conn.begin():
        config = Config()
        config.set_main_option("script_location", str(FOLDER))
        config.attributes["connection"] = conn
        command.upgrade(config, "0001_first_tables")
        conn.execute(text(PERSON))
        for row in OLD:
            for statement in (FIELD, SEASON, SOIL):
                conn.execute(text(statement), row)

    migrate(empty_store)

    with empty_store.connect() as conn:
        north, south = (field.soil for field in list_fields(conn))
        said = {one: soil_values(conn, one) for one in (1, 2)}
    assert north == SoilRecord("silty clay loam", clay_pct=33.3, profile_depth_m=1.5)
    assert south == SoilRecord(None, 0.31, 0.17, profile_depth_m=0.9, origin="our lab")
    assert [effective(said[1]), effective(said[2])] == [north, south]
    assert {one.source for one in said[2]} == {"hand"}
    assert dict(south.origins) == dict.fromkeys(
        ("field_capacity", "wilting_point", "profile_depth_m"), "our lab"
    )
    assert "before origins were kept" in north.origins["profile_depth_m"]
    assert [one.recorded_at for one in said[1]] == [None] * 3
