"""``rootbound backup`` and ``rootbound restore`` as an operator meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sqlalchemy import Engine
from typer.testing import CliRunner, Result

from loopback.object_store import ObjectStore
from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import SetClock
from rootbound_service.records import OutboxMessage
from rootbound_service.store.engine import make_engine
from rootbound_service.store.fields import find_field
from rootbound_service.store.outbox import counts, enqueue
from rootbound_service.weather.drawer import drawer_in
from rootbound_service.weather.where import place_of
from rootbound_service.weather.write_lock import write_lock
from rootbound_service.worker.schedule import one_worker


@pytest.fixture
def ask(store: Engine, clock: SetClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Run a command on the test's database, or on another data folder."""
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("ROOTBOUND_SMTP_PASSWORD", "hunter2-of-the-relay")
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)

    def go(*args: object, to: Path | None = None) -> Result:
        place = ["--data-dir", str(to)] if to else ["--database", url_of(store)]
        words = [*place, *(str(one) for one in args)]
        return CliRunner().invoke(app, words, obj=Session(clock=clock))

    return go


def url_of(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=False)


@pytest.fixture
def waiting(store: Engine, enrolled, clock: SetClock) -> None:
    """A field, and one message that waits."""
    now = clock.now()
    message = OutboxMessage(
        dedupe_key="note-1",
        kind="note",
        channel="email",
        person_id=None,
        to_address="ada@quill.example",
        to_name="Ada Quill",
        subject="North Forty: tight",
        text="text",
        html="<p>text</p>",
        images={},
        created_at=now,
        available_at=now,
        not_after=None,
    )
    with store.begin() as conn:
        enqueue(conn, [message])


@pytest.mark.usefixtures("waiting")
def test_a_backup_is_taken_checked_and_restored_elsewhere(ask, tmp_path):
    kept, elsewhere = tmp_path / "kept.tar", tmp_path / "elsewhere"

    taken = ask("backup", kept)
    checked = ask("restore", kept, "--verify")
    restored = ask("restore", kept, to=elsewhere)

    assert (taken.exit_code, checked.exit_code, restored.exit_code) == (0, 0, 0)
    assert "tables as of 2026-07-14 11:00 UTC." in taken.output
    assert "Not in it: the settings, whatever passwords they hold, and secret.key." in taken.output
    assert "Not in it: weather" in taken.output
    assert f"{kept}: whole. It holds" in checked.output
    assert "Held: 1 message that waited then. See rootbound outbox list" in restored.output
    assert "stop again whoever has stopped since" in restored.output
    engine = make_engine(f"sqlite:///{elsewhere / 'rootbound.db'}")
    with engine.connect() as conn:
        assert counts(conn)["unknown"] == 1
        assert find_field(conn, "North Forty").soil.texture == "silt loam"
    engine.dispose()


@pytest.mark.usefixtures("waiting")
def test_what_is_kept_back_is_found_and_let_go_by_the_outbox_commands(ask, tmp_path):
    kept, elsewhere = tmp_path / "kept", tmp_path / "elsewhere"
    ask("backup", kept)
    ask("restore", kept, to=elsewhere)

    listed = ask("outbox", "list", "--status", "unknown", to=elsewhere)
    let_go = ask("outbox", "retry", 1, to=elsewhere)

    assert "1 unknown" in listed.output
    assert let_go.output == "1 message due now.\n"


@pytest.mark.usefixtures("waiting")
def test_send_lets_what_waited_go(ask, tmp_path):
    ask("backup", tmp_path / "kept")

    restored = ask("restore", tmp_path / "kept", "--send", to=tmp_path / "elsewhere")

    assert "it may come twice" in restored.output
    assert "1 pending" in ask("outbox", "list", to=tmp_path / "elsewhere").output


def test_no_secret_is_in_a_backup(ask, tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "secret.key").write_text("k3y-of-the-links")

    assert ask("backup", tmp_path / "kept.tar", "--weather").exit_code == 0

    held = (tmp_path / "kept.tar").read_bytes()
    assert b"hunter2" not in held
    assert b"k3y-of" not in held


def test_weather_is_kept_only_where_it_is_asked_for(ask, tmp_path):
    chunk = tmp_path / "data" / "weather" / "nasa_power.zarr" / "c" / "0"
    chunk.parent.mkdir(parents=True)
    chunk.write_bytes(b"a chunk")

    bare, whole = ask("backup", tmp_path / "bare"), ask("backup", tmp_path / "whole", "--weather")
    ask("restore", tmp_path / "whole", to=tmp_path / "elsewhere")

    assert "folders weather" in whole.output
    assert "weather" not in json.loads((tmp_path / "bare" / "manifest.json").read_text())["folders"]
    assert "--weather" in bare.output
    name = chunk.relative_to(tmp_path / "data")
    assert (tmp_path / "elsewhere" / name).read_bytes() == b"a chunk"


def test_weather_is_copied_under_the_lock_of_its_writers(ask, tmp_path, monkeypatch):
    from rootbound_service.weather import write_lock as room

    (tmp_path / "data" / "weather" / "nasa_power.zarr").mkdir(parents=True)
    locked: list[str] = []

    def seen(path: Path):
        locked.append(path.name)
        return write_lock(path)

    monkeypatch.setattr(room, "write_lock", seen)
    assert ask("backup", tmp_path / "kept", "--weather").exit_code == 0
    assert locked == ["nasa_power.lock"]


@pytest.mark.usefixtures("waiting")
def test_a_place_with_data_is_refused_in_a_sentence(ask, tmp_path, store):
    ask("backup", tmp_path / "kept")

    refused = ask("restore", tmp_path / "kept")

    assert refused.exit_code == 1
    assert "rootbound: the database: it is not empty: there are rows in" in refused.output
    with store.connect() as conn:
        assert counts(conn)["pending"] == 1


def test_a_damaged_backup_is_refused_in_sentences_one_a_file(ask, tmp_path):
    ask("backup", tmp_path / "kept")
    for name in ("field", "person"):
        (tmp_path / "kept" / "tables" / f"{name}.jsonl.gz").write_bytes(b"")

    refused = ask("restore", tmp_path / "kept", "--verify")

    assert refused.exit_code == 1
    assert [line.partition(": it has 0 bytes")[0] for line in refused.output.splitlines()] == [
        f"rootbound: {tmp_path / 'kept'}: tables/{name}.jsonl.gz" for name in ("field", "person")
    ]


def test_there_being_nothing_to_back_up_is_said(ask, tmp_path):
    refused = ask("backup", tmp_path / "kept", to=tmp_path / "nowhere")

    assert refused.exit_code == 1
    assert "there are no tables of ours to back up" in refused.output
    assert not (tmp_path / "kept").exists()


def test_nothing_is_restored_beside_a_worker_that_runs(ask, tmp_path):
    ask("backup", tmp_path / "kept")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()

    with one_worker(elsewhere):
        refused = ask("restore", tmp_path / "kept", to=elsewhere)

    assert refused.exit_code == 1
    assert f"another worker already runs on {elsewhere}; stop it first" in refused.output
    assert not (elsewhere / "rootbound.db").exists()


def an_issue(place):
    drawer = drawer_in(place, "forecasts/issues")
    drawer.put("made-up-1-1/20260706T120000Z-nws-0123456789ab.json.gz", b"an issue")
    return drawer


def test_forecasts_in_an_object_store_are_kept_and_come_back_to_another(ask, tmp_path, monkeypatch):
    with ObjectStore() as bucket:
        for name, value in bucket.env.items():
            monkeypatch.setenv(name, value)
        monkeypatch.setenv("ROOTBOUND_WEATHER_STORE", f"{bucket.url}/lived")
        an_issue(place_of(f"{bucket.url}/lived"))
        kept = ask("backup", tmp_path / "kept.tar", "--weather")
        verified = ask("restore", tmp_path / "kept.tar", "--verify")
        before = set(bucket.objects)
        monkeypatch.setenv("ROOTBOUND_WEATHER_STORE", f"{bucket.url}/other")
        restored = ask("restore", tmp_path / "kept.tar", to=tmp_path / "elsewhere")
        came = sorted(set(bucket.objects) - before)

    assert "folders forecasts" in kept.output
    assert "Not in it: the weather in s3://weather/lived" in kept.output.replace("\n", " ")
    assert "head.json" in kept.output
    assert verified.exit_code == restored.exit_code == 0
    assert ": whole. It holds" in verified.output
    assert came == ["other/forecasts/issues/made-up-1-1/20260706T120000Z-nws-0123456789ab.json.gz"]


def test_a_weather_folder_elsewhere_is_kept_and_its_forecasts_come_back(ask, tmp_path, monkeypatch):
    lived, other = tmp_path / "lived", tmp_path / "other"
    monkeypatch.setenv("ROOTBOUND_WEATHER_STORE", lived.as_uri())
    an_issue(lived)
    (lived / "weather" / "nasa_power.zarr").mkdir(parents=True)
    (lived / "weather" / "nasa_power.zarr" / "zarr.json").write_bytes(b"{}")
    bare, whole = ask("backup", tmp_path / "bare"), ask("backup", tmp_path / "kept", "--weather")
    monkeypatch.setenv("ROOTBOUND_WEATHER_STORE", other.as_uri())
    restored = ask("restore", tmp_path / "kept", to=tmp_path / "elsewhere")

    assert "folders forecasts" in bare.output
    assert "--weather" in bare.output
    assert "weather" in json.loads((tmp_path / "kept" / "manifest.json").read_text())["folders"]
    assert "--weather" not in whole.output
    assert restored.exit_code == 0
    assert drawer_in(other, "forecasts/issues").folders() == ["made-up-1-1"]
    assert (other / "weather" / "nasa_power.zarr" / "zarr.json").read_bytes() == b"{}"
