"""The packed days of a season: one row a season, never put back to an earlier night."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy import Engine

from rootbound_service.store.season_pictures import (
    keep_picture,
    picture_of,
    pictures_of,
    put_pictures,
)

NIGHT = date(2026, 7, 8)


def test_what_was_kept_is_given_with_its_night(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        assert picture_of(conn, season_id) is None
        keep_picture(conn, season_id, NIGHT, b"days")
        assert picture_of(conn, season_id) == (NIGHT, b"days")
        assert pictures_of(conn, [season_id]) == {season_id: b"days"}


def test_a_later_night_stays_when_an_earlier_one_comes_late(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        put_pictures(conn, NIGHT, {season_id: b"tonight"})
        keep_picture(conn, season_id, NIGHT - timedelta(days=1), b"last night")
        assert picture_of(conn, season_id) == (NIGHT, b"tonight")
        keep_picture(conn, season_id, NIGHT, b"tonight, with its card")
        assert picture_of(conn, season_id) == (NIGHT, b"tonight, with its card")
