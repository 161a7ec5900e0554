"""A service's file is fetched once, kept, and asked for again only in case it has changed."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.sources.cf_files import Need
from rootbound_service.weather.sources.cf_remote import Fetched
from service.weather.cf_rig import PLAIN, Service

URL = "https://weather.example/2026/t-202607.nc"
MONDAY, TUESDAY = date(2026, 7, 6), date(2026, 7, 7)


@pytest.fixture
def service(tmp_path):
    made = Service()
    made.put(URL, PLAIN.write(tmp_path / "theirs.nc"))
    return made


@pytest.fixture
def shelf(service, tmp_path):
    return Fetched(service, tmp_path / "ours")


def need(asked_on=MONDAY, *, settled=False, where=URL):
    return Need(where, date(2026, 7, 1), asked_on, settled, "Made, t")


def test_a_file_is_fetched_and_says_when_the_service_changed_it(shelf):
    (found,) = shelf.find(need())

    assert found.name == "t-202607.nc"
    assert found.issued == datetime(2026, 7, 1, 10, tzinfo=UTC)
    assert found.path.read_bytes()[:4] == b"\x89HDF"


def test_on_one_day_a_file_is_asked_for_once(shelf, service):
    assert shelf.find(need()) == shelf.find(need())
    assert len(service.asked) == 1


def test_another_day_only_a_changed_file_is_wanted(shelf, service, tmp_path):
    (before,) = shelf.find(need())
    (same,) = shelf.find(need(TUESDAY))
    service.put(URL, PLAIN.write(tmp_path / "new.nc"), "Wed, 08 Jul 2026 10:00:00 GMT")
    (after,) = shelf.find(need(date(2026, 7, 8)))

    assert [sorted(headers) for _, headers in service.asked] == [
        [],
        ["If-Modified-Since", "If-None-Match"],
        ["If-Modified-Since", "If-None-Match"],
    ]
    assert same == before
    assert after.issued == datetime(2026, 7, 8, 10, tzinfo=UTC)
    assert after.path == before.path


def test_what_was_fetched_outlives_the_process(shelf, service, tmp_path):
    (before,) = shelf.find(need())

    (after,) = Fetched(service, tmp_path / "ours").find(need(TUESDAY))

    assert after == before
    assert "If-Modified-Since" in service.asked[1][1]


def test_a_settled_file_is_not_asked_for_again(shelf, service):
    shelf.find(need(settled=True))
    shelf.find(need(TUESDAY, settled=True))

    assert len(service.asked) == 1


def test_a_file_whose_note_is_lost_or_torn_is_fetched_whole(shelf, service):
    (found,) = shelf.find(need())
    note = found.path.with_name(found.path.name + ".said.json")
    for day, torn in enumerate(["[1]", "{", '{"etag": 3}', "null"], 7):
        note.write_text(torn)
        assert shelf.find(need(date(2026, 7, day))) == [found]

    assert [headers for _, headers in service.asked] == [{}] * 5


def test_a_file_that_is_not_there_yet_is_none_and_is_asked_for_the_next_day(shelf, service):
    other = "https://weather.example/2026/t-202608.nc"

    assert shelf.find(need(where=other)) == []
    assert shelf.find(need(where=other)) == []
    service.put(other, service.files[URL][0])
    assert shelf.find(need(TUESDAY, where=other))
    assert len(service.asked) == 2


@pytest.mark.parametrize("status", [400, 403, 206])
def test_a_refusal_is_told_by_its_number(shelf, service, status):
    service.status = status

    with pytest.raises(Unavailable, match=rf"Made, t: refused the file \(HTTP {status}\)"):
        shelf.find(need())


def test_a_service_that_says_unchanged_of_a_file_we_lack_is_odd(shelf, service):
    service.status = 304

    with pytest.raises(Unavailable, match="HTTP 304"):
        shelf.find(need())


def test_a_web_page_under_the_files_name_is_not_kept(shelf, service, tmp_path):
    page = tmp_path / "page.html"
    page.write_text("<html>back soon</html>")
    service.put(URL, page)

    with pytest.raises(Unavailable, match="something else than netCDF") as caught:
        shelf.find(need())
    assert caught.value.retry_later
    assert list((tmp_path / "ours").iterdir()) == []


def test_two_addresses_with_one_name_are_two_files(shelf, service):
    other = "https://weather.example/2025/t-202607.nc"
    service.put(other, service.files[URL][0])

    assert shelf.find(need())[0].path != shelf.find(need(where=other))[0].path


def test_a_file_that_a_better_one_replaces_is_dropped_with_its_note(shelf, tmp_path):
    shelf.find(need())
    shelf.forget(URL)

    assert list((tmp_path / "ours").iterdir()) == []


def test_a_date_that_is_none_leaves_the_issue_unknown(shelf, service):
    service.put(URL, service.files[URL][0], "yesterday")

    assert shelf.find(need())[0].issued is None


def test_a_file_that_was_deleted_beside_its_note_is_fetched_whole(shelf, service):
    (found,) = shelf.find(need())
    found.path.unlink()

    assert shelf.find(need(TUESDAY)) == [found]
    assert found.path.exists()
    assert service.asked[1][1] == {}
