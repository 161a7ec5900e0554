"""What the commands are handed: the settings reach the parts, and all is closed afterwards."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from rootbound_service.clock import SetClock
from rootbound_service.errors import RefusedInput
from rootbound_service.public.order import read_order
from rootbound_service.settings import load_settings
from rootbound_service.store.migrate import migrate
from rootbound_service.wiring import KNOWN, open_service, patience_of, user_agent_of
from service.nights.rig import POWER_ONLY

CLOCK = SetClock(datetime(2026, 6, 1, tzinfo=UTC))


def settings_in(folder, **more):
    return load_settings({"ROOTBOUND_DATA_DIR": str(folder)} | more)


def test_a_public_service_is_asked_politely_and_one_on_this_machine_briskly(tmp_path):
    order = read_order(POWER_ONLY, KNOWN)
    public = settings_in(tmp_path, ROOTBOUND_HTTP_TIMEOUT_S="7")
    here = settings_in(tmp_path, ROOTBOUND_NASA_POWER_URL="http://127.0.0.1:8080")

    assert (patience_of(public, order).pause_s, patience_of(public, order).timeout_s) == (1.0, 7)
    assert patience_of(here, order).pause_s == 0.0


def test_one_public_service_in_the_order_is_enough_to_be_polite(tmp_path):
    order = read_order(None, KNOWN)
    half = settings_in(tmp_path, ROOTBOUND_NASA_POWER_URL="http://127.0.0.1:8080")

    assert patience_of(half, order).pause_s == 1.0


def test_we_name_a_contact_the_nearest_at_hand(tmp_path):
    plain = settings_in(tmp_path)
    told = settings_in(tmp_path, ROOTBOUND_CONTACT="field-desk@alder.example")

    assert user_agent_of(plain) == "rootbound (alerts@localhost)"
    assert user_agent_of(told) == "rootbound (field-desk@alder.example)"


def test_a_name_that_only_begins_like_this_machine_is_a_public_one(tmp_path):
    other = settings_in(tmp_path, ROOTBOUND_NASA_POWER_URL="http://localhost.example.org")

    assert patience_of(other, read_order(POWER_ONLY, KNOWN)).pause_s == 1.0


def test_everything_lies_in_the_data_folder_which_is_made(tmp_path):
    folder = tmp_path / "new" / "house"
    with open_service(settings_in(folder), CLOCK) as service:
        assert service.clock is CLOCK
        assert service.settings.data_dir == folder

    assert (folder / "rootbound.db").exists()


def test_a_database_is_not_brought_up_to_date_where_the_operator_does_it(tmp_path):
    settings = settings_in(tmp_path, ROOTBOUND_AUTO_MIGRATE="false")
    with open_service(settings, CLOCK) as service:
        from sqlalchemy import inspect

        assert inspect(service.engine).get_table_names() == []
        migrate(service.engine)
        assert "risk" in inspect(service.engine).get_table_names()


def test_a_database_that_is_none_is_refused(tmp_path):
    settings = settings_in(tmp_path, ROOTBOUND_DATABASE_URL="mysql://somewhere/else")
    with pytest.raises(RefusedInput, match="mysql is no database we use"):
        open_service(settings, CLOCK).__enter__()
