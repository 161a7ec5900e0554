"""Stand-ins for outbox and relay that remember what was asked of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage

from rootbound_service.channels.email import Letterhead
from rootbound_service.channels.mail_channel import MailChannel
from rootbound_service.channels.transport import SendError
from rootbound_service.links import Links
from rootbound_service.records import OutboxMessage
from rootbound_service.store.channel_state import ChannelState
from service.notes.cast import NOW

HEAD = Letterhead("alerts@rootbound.example")
LINKS = Links("a secret of the tests")


def by_mail(transport) -> dict:
    """Give e-mail as the only channel."""
    return {"email": MailChannel(transport, HEAD, LINKS)}


def message(number: int = 1, **changes) -> OutboxMessage:
    """Write a message that is due; any part can be changed."""
    plain = OutboxMessage(
        dedupe_key=f"note-1-2025-07-16-{number}",
        kind="note",
        channel="email",
        person_id=1,
        to_address=f"person{number}@holt.example",
        to_name="Maren Holt",
        subject=f"Tight: Long Acre {number}",
        text="Long Acre is tight.\n",
        html="<p>Long Acre is tight.</p>",
        images={},
        created_at=NOW,
        available_at=NOW,
        not_after=NOW + timedelta(hours=36),
        thread_key="note-season-5-person-1",
        id=number,
    )
    return replace(plain, **changes)


class FakeOutbox:
    """An outbox in memory with the leases of the real one."""

    def __init__(self, *messages: OutboxMessage) -> None:
        self.waiting = {one.id: one for one in messages}
        self.leases: dict[int, tuple[str, datetime]] = {}
        self.sent: dict[int, str | None] = {}
        self.dead: dict[int, tuple[int | None, str]] = {}
        self.unknown: dict[int, tuple[int | None, str]] = {}
        self.retried: list[tuple[int, datetime, int | None, str]] = []
        self.first_key: str | None = None
        self.stopped: set[int] = set()
        self.taken: dict = {}
        self.states: dict[str, ChannelState] = {}

    def claim(
        self, me: str, now: datetime, lease: timedelta, limit: int, channel: str
    ) -> list[OutboxMessage]:
        due = [
            one
            for one in self.waiting.values()
            if one.channel == channel
            and one.available_at <= now
            and (one.id not in self.leases or self._ran_out(one.id, now))
        ][:limit]
        for one in due:
            self.waiting[one.id] = replace(one, attempts=one.attempts + 1)
            self.leases[one.id] = (me, now + lease)
        return [self.waiting[one.id] for one in due]

    def still_wanted(self, message: OutboxMessage, me: str) -> bool:
        return message.id not in self.stopped

    def put_back(self, message_id: int, me: str, available_at: datetime) -> bool:
        if not self._mine(message_id, me):
            return False
        one = self.waiting[message_id]
        self.waiting[message_id] = replace(
            one, available_at=available_at, attempts=one.attempts - 1
        )
        del self.leases[message_id]
        return True

    def state(self, channel: str) -> ChannelState:
        return self.states.get(channel, ChannelState())

    def put_state(self, channel: str, state: ChannelState) -> None:
        self.states[channel] = state

    def _ran_out(self, message_id: int, now: datetime) -> bool:
        return self.leases[message_id][1] <= now

    def _mine(self, message_id: int, me: str) -> bool:
        return self.leases.get(message_id, ("", None))[0] == me

    def first_message_key(self, thread_key: str, person_id: int | None) -> str | None:
        return self.first_key

    def mark_sent(self, message_id, me, now, taken) -> bool:
        self.taken[message_id] = taken
        return self._settle(message_id, me, self.sent, taken.provider_id)

    def mark_dead(self, message_id, me, now, code, error) -> bool:
        return self._settle(message_id, me, self.dead, (code, error))

    def mark_unknown(self, message_id, me, now, code, error) -> bool:
        return self._settle(message_id, me, self.unknown, (code, error))

    def mark_retry(self, message_id, me, now, available_at, code, error) -> bool:
        if not self._mine(message_id, me):
            return False
        self.retried.append((message_id, available_at, code, error))
        self.waiting[message_id] = replace(self.waiting[message_id], available_at=available_at)
        del self.leases[message_id]
        return True

    def _settle(self, message_id, me, where, value) -> bool:
        if not self._mine(message_id, me):
            return False
        where[message_id] = value
        del self.waiting[message_id]
        del self.leases[message_id]
        return True

    def everywhere(self) -> set[int]:
        """Every message that is accounted for."""
        return {*self.waiting, *self.sent, *self.dead, *self.unknown}


class FakeTransport:
    """A relay that takes everything but what it was told to answer with an error."""

    def __init__(self, errors: dict[str, SendError | None] | None = None) -> None:
        self.errors = errors or {}
        self.taken: list[tuple[str, EmailMessage]] = []
        self.tried: list[str] = []
        self.closed = 0

    def send(self, raw: bytes, sender: str, to: str) -> str | None:
        self.tried.append(to)
        error = self.errors.get(to)
        if error is not None:
            raise error
        self.taken.append((to, message_from_bytes(raw, policy=policy.default)))
        return f"queued {len(self.taken)}"

    def close(self) -> None:
        self.closed += 1
