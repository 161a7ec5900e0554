"""A sender in a process of its own, to be killed: sends until nothing is left, then ends.

Reads one line of JSON: url (database), port (mail), lease_s, too_early. Says ``ready`` before it
begins. With ``too_early`` it marks before it sends, as a control: that way loses messages.
"""

from __future__ import annotations

import json
import sys
from datetime import timedelta
from random import SystemRandom
from threading import Event
from uuid import uuid4

from rootbound_service.channels.email import Letterhead
from rootbound_service.channels.mail_channel import MailChannel
from rootbound_service.channels.send import send_due
from rootbound_service.channels.sending import StoreOutbox
from rootbound_service.channels.smtp import SmtpTransport
from rootbound_service.clock import SystemClock
from rootbound_service.links import Links
from rootbound_service.records import OutboxMessage
from rootbound_service.store.delivery import Taken
from rootbound_service.store.engine import make_engine
from rootbound_service.store.outbox import counts

BATCH = 5
"""Small, so that senders meet often."""
PAUSE_S = 0.05


class TooEarly(StoreOutbox):
    """The wrong way round: sent in the books before it is sent."""

    def still_wanted(self, message: OutboxMessage, me: str) -> bool:
        return self.mark_sent(message.id, me, SystemClock().now(), Taken())


def main() -> None:
    """Send as the service does, with a short lease."""
    order = json.loads(sys.stdin.readline())
    engine = make_engine(order["url"])
    relay = SmtpTransport("127.0.0.1", order["port"], timeout_s=20)
    head = Letterhead("alerts@rootbound.example")
    channels = {"email": MailChannel(relay, head, Links("a secret of the tests"))}
    outbox = (TooEarly if order["too_early"] else StoreOutbox)(engine)
    me, lease = uuid4().hex, timedelta(seconds=order["lease_s"])
    with engine.execution_options(ro=True).connect() as conn:
        counts(conn)
    print("ready", flush=True)
    while True:
        more = {"rng": SystemRandom(), "lease": lease, "limit": BATCH}
        if send_due(outbox, channels, SystemClock(), me, **more).total:
            continue
        with engine.execution_options(ro=True).connect() as conn:
            left = counts(conn)
        if not left["pending"] + left["sending"]:
            break
        Event().wait(PAUSE_S)  # others have the rest in hand, or had it when they were killed
    engine.dispose()


if __name__ == "__main__":
    main()
