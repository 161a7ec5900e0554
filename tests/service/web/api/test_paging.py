"""Lists come a page at a time, each row once, whatever comes meanwhile.

RFC 8288 3: the next page is named in the header Link with rel="next".
"""

from __future__ import annotations

from urllib.parse import parse_qs, urlsplit

import pytest

from rootbound_service.web.api.paging import Paged, paged
from service.web.api.caller import DUG, RAIN, V1, program


@pytest.fixture
def adviser(scene):
    return program(scene, "adviser")


def pages(client, path, name, limit):
    """Follow next to the end."""
    found, after, asked = [], None, 0
    while asked < 100:
        asked += 1
        params = {"limit": limit} | ({"after": after} if after else {})
        answer = client.get(path, params=params)
        assert answer.status_code == 200, answer.text
        body = answer.json()
        assert len(body[name]) <= limit
        assert ("link" in answer.headers) == (body["next"] is not None)
        found.append(body[name])
        after = body["next"]
        if after is None:
            break
    return found


@pytest.mark.parametrize("limit", [1, 3, 200])
def test_every_field_comes_once(scene, adviser, limit):
    found = [one["id"] for some in pages(adviser, "/fields", "fields", limit) for one in some]

    assert {one.id for one in scene.fields} <= {*found}
    assert found == sorted(set(found))


def test_lists_of_a_field_come_whole(scene, adviser):
    one = scene.fields[0].id
    for day in range(1, 6):
        adviser.post(f"/fields/{one}/digs", json=DUG)
        adviser.post(f"/fields/{one}/observations", json=RAIN | {"date": f"2026-07-0{day}"})
    for part in ("digs", "observations", "notes", "photos"):
        whole = adviser.get(f"/fields/{one}/{part}?limit=200").json()[part]
        some = pages(adviser, f"/fields/{one}/{part}", part, 2)

        assert [it for one_ in some for it in one_] == whole
        assert all(some[:-1])


@pytest.mark.parametrize("part", ["changes", "digests", "people", "invitations"])
def test_lists_of_the_account_come_whole(scene, adviser, part):
    whole = [one["id"] for some in pages(adviser, f"/{part}", part, 200) for one in some]
    parted = [one["id"] for some in pages(adviser, f"/{part}", part, 2) for one in some]

    assert parted == whole
    assert whole == sorted(whole, reverse=part in {"changes", "digests"})


def test_the_header_names_the_next_page_with_all_that_was_asked(adviser):
    answer = adviser.get("/fields", params={"limit": 2, "q": "e", "crop": "maize"})
    link, _, rel = answer.headers["link"].partition("; ")
    there = urlsplit(link.strip("<>"))

    assert rel == 'rel="next"'
    assert there.path == f"{V1}/fields"
    asked = {"limit": ["2"], "q": ["e"], "crop": ["maize"]}
    assert parse_qs(there.query) == asked | {"after": [str(answer.json()["next"])]}


def test_the_largest_number_comes_first_where_the_latest_is_wanted():
    rows = [3, 9, 1, 7]

    def asked(after=None):
        return paged(rows, Paged(after=after, limit=2), lambda it: it, falling=True)

    assert asked() == ([9, 7], 7)
    assert asked(7) == ([3, 1], None)
    assert paged(rows, Paged(limit=2), lambda it: it) == ([1, 3], 3)
    assert paged(rows, Paged(after=3, limit=2), lambda it: it) == ([7, 9], None)


def test_the_latest_change_comes_first(scene, adviser):
    for _ in range(3):
        adviser.post(f"/fields/{scene.fields[2].id}/digs", json=DUG)
    listed = [one["at"] for one in adviser.get("/changes").json()["changes"]]

    assert listed == sorted(listed, reverse=True)


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=201", "limit=x", "after=0", "after=-1", f"after={2**31}", "page=2"]
)
def test_a_page_that_cannot_be_is_refused(adviser, query):
    answer = adviser.get(f"/fields?{query}")

    assert answer.status_code == 422
    assert answer.json()["problems"][0]["where"] == query.partition("=")[0]
