"""Lives the county's season hour by hour with the worker's own ticks, and listens at the peers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from county.invent import YEAR, Grower, growers, text_contact
from loopback.climate import ClimatePlay
from loopback.mailbox import Mailbox
from loopback.public_server import PublicServer
from loopback.text_gateway import TextGateway
from rootbound_service.clock import SetClock
from rootbound_service.records import ConsentEvent
from rootbound_service.replies.text import TextIn, take_text
from rootbound_service.settings import load_settings
from rootbound_service.store.contacts import contacts_of, put_contact
from rootbound_service.store.fields import add_dig, add_field, find_field
from rootbound_service.store.people import list_people
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.ticks import digest_tick, night_tick, send_tick
from rootbound_service.worker.weather_ticks import past_tick

FIRST = date(YEAR, 5, 10)
SMALL_HOURS = time(9, 30)
HOURS = tuple(range(10, 34))
"""Hours of a day from its night on at which the sender looks, by UTC; beyond 24 the next day."""
WORDING = "I agree to notes on my fields by text, at most two a week unless failing."
RELAY_DOWN = (date(YEAR, 7, 9), date(YEAR, 7, 10))
"""Days on which the mail relay takes nothing."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """One message as the reader's own device shows it."""

    channel: str
    to: str
    key: str
    """Message-ID or the gateway's key: a double has the same."""
    moment: datetime
    zone: str
    kind: str


@dataclass(slots=True)
class Season:
    """What came of a county's season."""

    growers: list[Grower]
    nights: int = 0
    notes: int = 0
    arrived: list[Arrived] = field(default_factory=list[Arrived])
    answers: int = 0
    stopped: set[str] = field(default_factory=set[str])
    after_stop: int = 0
    """Messages to somebody who had stopped them."""


def env_of(folder: Path, box: Mailbox, texts: TextGateway, sky: PublicServer) -> dict[str, str]:
    """Settings that lead everything to the stand-ins."""
    file = folder / "gateway.toml"
    file.write_text(texts.file, encoding="utf-8")
    return {
        "ROOTBOUND_DATA_DIR": str(folder / "data"),
        "ROOTBOUND_SMTP_HOST": box.host,
        "ROOTBOUND_SMTP_PORT": str(box.port),
        "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
        "ROOTBOUND_OPERATOR_EMAIL": "operator@rootbound.example",
        "ROOTBOUND_BASE_URL": "https://rootbound.example",
        "ROOTBOUND_BOUNCE_ADDRESS": "bounces@rootbound.example",
        "ROOTBOUND_TEXT_GATEWAY_FILE": str(file),
        "ROOTBOUND_TEXT_TOKEN": texts.token,
    } | sky.env


def live(
    folder: Path, many: int, fields_each: int, nights: int, seed: int = 1, progress=print
) -> tuple[Season, Service, SetClock]:
    """Live a season; the service is closed with the folder's last night in it."""
    folder.mkdir(parents=True, exist_ok=True)
    season = Season(growers(many, fields_each, seed))
    rng, play = Random(seed), ClimatePlay({YEAR: "dry_july"})
    clock = SetClock(datetime.combine(FIRST, SMALL_HOURS, UTC))
    with Mailbox() as box, TextGateway() as texts, PublicServer(play, FIRST) as sky:
        settings = load_settings(env_of(folder, box, texts, sky))
        with open_service(settings, clock) as service:
            enrol(service, season, clock.now())
            ears = Ears(season, box, texts, clock)
            while past_tick(service):
                pass
            for step in range(nights):
                night = FIRST + timedelta(days=step)
                one_day(service, clock, sky, ears, night, rng)
                progress(f"{night}: {season.notes} notes, {len(season.arrived)} messages")
    return season, service, clock


def enrol(service: Service, season: Season, now: datetime) -> None:
    """Everybody with their fields, and the phones of those who agreed."""
    with service.engine.begin() as conn:
        for grower in season.growers:
            for one in grower.fields:
                add_field(conn, one, now)
        ids = {one.email: one.id for one in list_people(conn)}
        for grower in season.growers:
            if not grower.number:
                continue
            person_id = ids[grower.person.email]
            agreed = ConsentEvent(0, "given", now, "command", WORDING, "yes, by phone")
            put_contact(conn, text_contact(grower, person_id), agreed)
            if grower.text_only:
                (mail,) = (one for one in contacts_of(conn) if one.address == grower.person.email)
                put_contact(conn, replace(mail, notes=False), None)


class Ears:
    """Notes at each peer what arrived since it last listened, and when."""

    def __init__(self, season: Season, box: Mailbox, texts: TextGateway, clock: SetClock) -> None:
        self.season, self.box, self.texts, self.clock = season, box, texts, clock
        self.mails = self.sent = 0
        people = [grower.person for grower in season.growers]
        people += [grower.adviser for grower in season.growers]
        self.zones = {one.email: one.time_zone for one in people}
        self.zones |= {one.number: one.person.time_zone for one in season.growers if one.number}

    def listen(self) -> list[Arrived]:
        now, new = self.clock.now(), []
        for letter in self.box.received[self.mails :]:
            mail = letter.mail
            kind = str(mail["List-ID"]).split("<")[1].split(".")[0]
            zone = self.zones.get(letter.recipient, "")
            new.append(Arrived("email", letter.recipient, mail["Message-ID"], now, zone, kind))
        for text in self.texts.taken[self.sent :]:
            kind = "answers" if text.key.startswith("answer") else "notes"
            new.append(Arrived("text", text.to, text.key, now, self.zones[text.to], kind))
        self.mails, self.sent = len(self.box.received), len(self.texts.taken)
        self.season.after_stop += sum(
            one.to in self.season.stopped and one.kind != "answers" for one in new
        )
        self.season.arrived += new
        return new


def one_day(
    service: Service, clock: SetClock, sky: PublicServer, ears: Ears, night: date, rng: Random
) -> None:
    """The night, then every hour of the day; people answer within hours."""
    season = ears.season
    clock.set(datetime.combine(night, SMALL_HOURS, UTC))
    sky.now = clock.now()
    report = night_tick(service)
    season.nights += 1
    season.notes += report.notes if report else 0
    for grower in season.growers:
        for name, card in grower.digs.items():
            if card.dug_on == night:
                with service.engine.begin() as conn:
                    add_dig(conn, find_field(conn, name).season_id, card)
    for hour in HOURS:
        clock.set(datetime.combine(night, time(0), UTC) + timedelta(hours=hour))
        trouble(ears, night, rng)
        digest_tick(service)
        send_tick(service)
        for one in ears.listen():
            if one.channel == "text" and one.kind == "notes":
                answer(service, season, one, clock.now(), rng)


def trouble(ears: Ears, night: date, rng: Random) -> None:
    """What goes wrong at the peers: a relay that is down, busy boxes, a gateway in trouble."""
    down = RELAY_DOWN[0] <= night <= RELAY_DOWN[1]
    for address in ears.zones:
        if "@" in address:
            busy = rng.random() < 0.01
            ears.box.set_fault(address, "451" if down or busy else None)
    ears.texts.faults.clear()
    if rng.random() < 0.1:
        ears.texts.faults.extend(rng.choices(("429", "500", "drop"), k=3))


def answer(service: Service, season: Season, told: Arrived, now: datetime, rng: Random) -> None:
    """Some say they have seen it, some tell of rain, a few have had enough."""
    draw = rng.random()
    body = "OK" if draw < 0.4 else "Rain 0.6" if draw < 0.5 else "STOP" if draw < 0.51 else ""
    if not body:
        return
    season.answers += 1
    with service.engine.begin() as conn:
        text = TextIn(told.to, body, f"in-{season.answers}", now)
        take_text(conn, text, "the adviser's office")
    if body == "STOP":
        season.stopped.add(told.to)


def local_hour(one: Arrived) -> int:
    """What the reader's clock says."""
    return one.moment.astimezone(ZoneInfo(one.zone)).hour
