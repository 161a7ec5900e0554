"""Two accounts, a soil service that says what it is told to, and the pages for enrolling."""

from __future__ import annotations

import re
from contextlib import contextmanager
from dataclasses import dataclass, field

from sqlalchemy import func, select

from browser.app_scene import an_app, proof_in
from rootbound_service.public.http import Unavailable
from rootbound_service.soil.profile import Layer, Profile
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.schema import field as field_table
from rootbound_service.store.schema import person

ORDER = """
[[order]]
need = "days"
region = "world"
sources = ["nasa_power"]
[[order]]
need = "soil"
region = "world"
sources = ["survey"]
"""
PLACE = {"lat": "41.7000", "lon": "-94.7000"}
RINGS = ((-94.706, 41.697), (-94.694, 41.697), (-94.694, 41.703), (-94.706, 41.703))
CORNERS = " ".join(f"{lon},{lat}" for lon, lat in RINGS)
BUSY = Unavailable("survey", "is not well (HTTP 504)", retry_later=True)
LAYER = Layer(
    0, 150, 10, 63, 27, 3.1, field_capacity=0.33, wilting_point=0.15, texture="silty clay loam"
)


@dataclass
class FakeSurvey:
    """A soil survey that says what it is told to."""

    says: Layer | Exception = LAYER
    name: str = "survey"
    title: str = "The soil survey"
    asked: list[tuple[float, float]] = field(default_factory=list)

    def covers(self, lat: float, lon: float) -> bool:
        return lat > 0 > lon

    def fetch(self, lat: float, lon: float) -> Profile:
        self.asked.append((lat, lon))
        if isinstance(self.says, Exception):
            raise self.says
        return Profile("survey", "Alder silty clay loam", 80.0, (self.says,), raw=b"{}")


class EnrolScene:
    """The application with a survey that can be told what to say."""

    def __init__(self, app, survey):
        self.app, self.survey = app, survey
        self.engine = app.service.engine

    def client(self, word="adviser"):
        return self.app.client(self.app.who[word])

    def form(self, **changes):
        """What the form sends for a new field of a grower of the account."""
        usual = {"name": "Cedar Quarter", "grower": self.grower, "planted": "2026-04-30",
                 "crop": "maize", "row_spacing": "30", "seed_depth": "2", "form_id": "f-1",
                 "step": "soil", **PLACE}  # fmt: skip
        return {name: value for name, value in (usual | changes).items() if value is not None}

    @property
    def grower(self):
        return str(self.app.people["grower"].id)

    def send(self, path="/fields/new", word="adviser", client=None, files=None, **values):
        client = client or self.client(word)
        page = "/fields/new" if word.endswith("adviser") else f"/fields/{self.app.fields[0].id}"
        proof = proof_in(client.get(page).text)
        return client.post(path, data=values | {"form_token": proof}, files=files)

    def fields(self, name=None):
        with self.engine.connect() as conn:
            where = [] if name is None else [field_table.c.name == name]
            return load_fields(conn, *where)

    def people(self):
        with self.engine.connect() as conn:
            return conn.scalar(select(func.count()).select_from(person))


@contextmanager
def an_enrol_scene(folder, says=LAYER):
    """Open the scene in a folder."""
    order = folder / "order.toml"
    order.write_text(ORDER, encoding="utf-8")
    survey = FakeSurvey(says)
    settings = {"ROOTBOUND_SOURCES_FILE": str(order)}
    with an_app(folder / "data", computed=False, **settings) as app:
        app.service.parts.soils["survey"] = survey
        yield EnrolScene(app, survey)


HIDDEN = re.compile(r'<input type="hidden" name="(\w+)" value="([^"]*)"')


def hidden_in(html):
    """The hidden inputs of the last form of a page."""
    from html import unescape

    found = {name: unescape(value) for name, value in HIDDEN.findall(html.rpartition("<form")[2])}
    found.pop("form_token", None)
    return found


def keep(scene, **changes):
    """Enrol by both steps, as a browser does."""
    client = scene.client()
    page = scene.send(client=client, **scene.form(**changes))
    assert page.status_code == 200, page.text
    values = hidden_in(page.text)
    return scene.send(client=client, **values, step="keep")
