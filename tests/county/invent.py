"""An invented county for one season: forty growers, four advisers, four hundred fields."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from rootbound_service.records import Contact, DigRecord, FieldRecord, Person, SoilRecord

YEAR = 2026
FIRST = (
    "Ada", "Bram", "Cleo", "Dirk", "Elin", "Falk", "Greta", "Hugo", "Ilse", "Joon",
    "Karel", "Lotte", "Milo", "Nora", "Otto", "Petra", "Quin", "Runa", "Sven", "Tilda",
)  # fmt: skip
LAST = ("Ashby", "Brandt", "Corliss", "Dahl", "Eckert", "Fenwick", "Garrow", "Holm")
ADVISERS = ("Ines Varga", "Jonas Pell", "Karin Olt", "Leif Aune")
NAMES = (
    "Long Acre", "Mill Bottom", "Church Forty", "Stone Gate", "Heron Piece", "West Ridge",
    "Tin Barn", "Quarry Flat", "Old Orchard", "Sand Hollow", "Creek Side", "North Eighty",
)  # fmt: skip
ZONES = ("America/Chicago",) * 13 + ("America/Denver",) * 4 + ("America/New_York",) * 3
SOILS = ("silty clay loam", "loam", "silt loam", "sandy loam", "clay loam")
WALLS = (0,) * 7 + (1,) * 6 + (2,) * 5 + (3,) * 2
TEXTED, TEXT_ONLY = 16, 6
"""Growers with e-mail and text, and with notes by text alone; the others have e-mail alone."""


@dataclass(frozen=True, slots=True)
class Grower:
    """A grower with fields, and how they want to hear."""

    person: Person
    adviser: Person
    number: str
    """Of their phone; empty: none is told."""
    text_only: bool
    fields: tuple[FieldRecord, ...]
    digs: dict[str, DigRecord]
    """By the name of the field; some are never dug."""


def growers(many: int, fields_each: int, seed: int) -> list[Grower]:
    """Invent them; the same seed gives the same county."""
    rng = Random(seed)
    advisers = [
        Person(name, f"{name.split()[0].lower()}@alder.example", "adviser", "us", ZONES[0])
        for name in ADVISERS
    ]
    return [_grower(rng, i, advisers[i * len(advisers) // many], fields_each) for i in range(many)]


def text_contact(grower: Grower, person_id: int) -> Contact:
    """Their phone: from tight on, or everything where it is all they have."""
    return Contact(person_id, "text", grower.number, least_rung=1 if grower.text_only else 2)


def _grower(rng: Random, number: int, adviser: Person, fields_each: int) -> Grower:
    name = f"{FIRST[number % len(FIRST)]} {LAST[number % len(LAST)]}"
    mail = f"{name.lower().replace(' ', '.')}.{number}@alder.example"
    units = "metric" if number % 5 == 4 else "us"
    person = Person(name, mail, "grower", units, ZONES[number % len(ZONES)])
    home = 41.40 + 1.2 * rng.random(), -95.10 + 2.2 * rng.random()
    fields = tuple(_field(rng, person, adviser, home, i) for i in range(fields_each))
    digs = {one.name: _dig(rng, one.planted) for one in fields if rng.random() < 0.85}
    texted = number < TEXTED + TEXT_ONLY
    phone = f"+1515555{100 + number:04d}" if texted else ""
    return Grower(person, adviser, phone, TEXTED <= number < TEXTED + TEXT_ONLY, fields, digs)


def _field(
    rng: Random, grower: Person, adviser: Person, home: tuple[float, float], number: int
) -> FieldRecord:
    texture = rng.choice(SOILS)
    table = rng.choice((None, 1.2, 1.5)) if texture != "sandy loam" else None
    return FieldRecord(
        name=f"{NAMES[number % len(NAMES)]} {grower.name}",
        lat=round(home[0] + 0.04 * rng.random(), 4),
        lon=round(home[1] + 0.04 * rng.random(), 4),
        elevation_m=None,
        row_spacing_cm=76.2,
        time_zone="America/Chicago",
        grower=grower,
        adviser=adviser,
        soil=SoilRecord(texture=texture, organic_matter_pct=3.0, water_table_m=table),
        crop="maize",
        planted=date(YEAR, 4, 22) + timedelta(days=rng.randrange(16)),
        black_layer_gdd_f=float(rng.choice((2600, 2650, 2700, 2750))),
        seed_depth_cm=5.0,
        irrigated=rng.random() < 0.08,
    )


def _dig(rng: Random, planted: date) -> DigRecord:
    wall = rng.choice(WALLS)
    plants = rng.randrange(3, 8)
    roots = 10 * plants
    held = round(roots * min(0.95, max(0.05, rng.gauss(0.15 + 0.22 * wall, 0.08))))
    pan = rng.choice((0,) * 8 + (1, 2))
    return DigRecord(
        dug_on=planted + timedelta(days=rng.randrange(28, 36)),
        wall_class=wall,
        plants=plants,
        crossing=roots - held,
        held=held,
        pan_class=pan,
        pan_depth_cm=float(rng.randrange(22, 34)) if pan else None,
        form_id=f"card-{rng.getrandbits(48):012x}",
        by="the adviser",
    )
