"""What is tried on addresses and forms by somebody whose they are not."""

from __future__ import annotations

from browser.app_scene import ADVISER, GROWERS, VIEWER, proof_in
from browser.app_walk import routes_of

KNOWN = {one.name for one in (ADVISER, *GROWERS, VIEWER)}
SECRET = {"token", "key"}
"""Parts of addresses that let somebody in by themselves: nobody else's are tried here."""


def filled(scene, method="GET"):
    """Every address of the application with numbers of the first account in it."""
    of_a = numbers(scene)
    paths = []
    for route in routes_of(scene.app):
        if route.method != method or SECRET & set(route.parameters):
            continue
        paths.append(route.filled(**{name: of_a.get(name, 1) for name in route.parameters}))
    return paths


def numbers(scene):
    """Numbers of things of the first account by their names in addresses."""
    field = scene.fields[0]
    return {
        "field_id": field.id,
        "dig_id": 1,
        "note_id": 1,
        "photo_id": scene.photo,
        "season_id": field.season_id,
        "observation_id": 1,
        "person_id": scene.people["grower"].id,
        "member_id": scene.people["grower"].id,
        "digest_id": 1,
        "year": 2026,
        "n": 1,
        "name": "none",
    }


def leaks(scene, answer, besides=()):
    """Names of the first account that an answer tells."""
    told = answer.text + str(answer.headers)
    return [name for name in scene.secrets if name in told and name not in besides]


def with_proof(client, form, word):
    """The form as it stands, with the asker's own proof in the place of the adviser's."""
    found = {}
    for name, value in form.values():
        # a name of the account would come back as what was typed, and tell nothing
        found.setdefault(name, "Somebody Else" if value in KNOWN else value)
    return found | {"form_token": proof(client, word)}


def proof(client, word):
    """The asker's own proof, taken from a page of theirs."""
    if word == "stranger":
        return "none"
    field = {"grower": 1, "viewer": 1, "other adviser": 13, "other grower": 13}.get(word, 0)
    for page in (f"/fields/{field}", "/me", "/operate"):
        text = client.get(page).text
        if 'name="form_token"' in text:
            return proof_in(text)
    assert word == "operator"
    return "none"


def usual(scene):
    """Names that forms have, with numbers of the first account."""
    return {
        "id": "1",
        "field": str(scene.fields[0].id),
        "field_id": str(scene.fields[0].id),
        "account": str(scene.account),
        "person": str(scene.people["grower"].id),
        "person_id": str(scene.people["grower"].id),
        "days": "7",
        "rain": "3",
        "role": "adviser",
        "wall-1": "3",
        "crossing-1": "2",
        "held-1": "2",
        "session": "1",
        "token": "1",
    }


def ours(scene, rows):
    """Those of some rows that are about the first account or its people."""
    fields = {str(one.id) for one in scene.fields}
    seasons = {str(one.season_id) for one in scene.fields}
    people = {str(scene.people[word].id) for word in ("adviser", "grower", "viewer")}
    about = {
        "account_id": {str(scene.account)},
        "field_id": fields,
        "season_id": seasons,
        "person_id": people,
        "grower_id": people,
        "adviser_id": people,
    }
    found = []
    for table, row in rows:
        values = dict(row)
        own_id = {"field": fields, "season": seasons, "person": people}.get(table, set())
        mine = any(values.get(name) in them for name, them in about.items())
        if mine or values.get("id") in own_id or table in {"dig", "observation", "photo"}:
            found.append((table, row))
    return found
