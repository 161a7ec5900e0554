"""One address says where weather is stored: a folder, a bucket, or memory; others are refused."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.settings import load_settings
from rootbound_service.weather.objects import Objects
from rootbound_service.weather.where import place_of, weather_place


def test_without_an_address_it_is_the_data_folder(tmp_path):
    assert weather_place(load_settings({"ROOTBOUND_DATA_DIR": str(tmp_path)})) == tmp_path


@pytest.mark.parametrize(
    ("url", "folder"),
    [
        ("file:///srv/weather", "/srv/weather"),
        ("file:///srv/weather/", "/srv/weather"),
        ("file://localhost/srv/w", "/srv/w"),
        ("file:///srv/two%20words", "/srv/two words"),
    ],
)
def test_a_file_address_is_a_folder(url, folder):
    assert place_of(url) == Path(folder)


def test_an_address_in_the_settings_moves_the_weather_and_nothing_else(tmp_path):
    told = {
        "ROOTBOUND_DATA_DIR": str(tmp_path / "data"),
        "ROOTBOUND_WEATHER_STORE": (tmp_path / "else").as_uri(),
    }

    assert weather_place(load_settings(told)) == tmp_path / "else"
    assert load_settings(told).data_dir == tmp_path / "data"


def test_memory_of_one_name_is_one_place_and_of_another_another():
    one, same, other = (place_of(f"memory://{name}/p") for name in ("one", "one", "other"))
    assert isinstance(one, Objects)
    one.put("a", b"1")

    assert same.get("a").content == b"1"
    assert other.get("a") is None
    assert place_of("memory://one").get("p/a").content == b"1"
    same.remove(("a", "never"))


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("ftp://x/y", "'ftp://x/y' is no such place"),
        ("/srv/weather", "'/srv/weather' is no such place"),
        ("s3:///prefix", "is no such place"),
        ("file://host/x", "names no folder"),
        ("file:///", "names no folder"),
        ("s3://bucket/a/../b", "climbs out of its bucket"),
        ("s3://bucket/%2e%2e/b", "climbs out of its bucket"),
    ],
)
def test_an_address_of_no_kind_of_ours_is_refused_with_those_there_are(url, said):
    with pytest.raises(RefusedInput) as refused:
        place_of(url)

    assert said in str(refused.value)
    assert str(refused.value).startswith("ROOTBOUND_WEATHER_STORE: ")
    assert "file:///a/folder, s3://bucket/prefix" in str(refused.value)


@pytest.mark.parametrize("url", ["s3://key:hush@bucket/x", "s3://bucket/x?secret=hush"])
def test_keys_in_an_address_are_refused_and_not_repeated(url):
    with pytest.raises(RefusedInput, match=r"AWS_\* variables") as refused:
        place_of(url)

    assert "hush" not in str(refused.value)


@pytest.mark.parametrize("url", ["s3://bucket/x", "memory://x"])
def test_without_the_extra_the_line_that_installs_it_is_told(url, monkeypatch):
    from rootbound_service.weather import where

    where._memory.cache_clear()
    monkeypatch.setitem(sys.modules, "obstore.store", None)

    with pytest.raises(RefusedInput, match=r"pip install 'rootbound\[objects\]'"):
        place_of(url)


def test_a_folder_needs_no_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "obstore", None)
    monkeypatch.setitem(sys.modules, "obstore.store", None)

    assert place_of("file:///srv/weather") == Path("/srv/weather")
