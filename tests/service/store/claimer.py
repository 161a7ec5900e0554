"""A sender in a process of its own: claims until nothing is due, says what, marks nothing.

Reads one line of JSON (url, me, now, sends) and says ``ready``; begins at the next line.
With ``sends`` false it stops after its first claim, as if killed.
"""

from __future__ import annotations

import json
import sys
from datetime import datetime, timedelta

from rootbound_service.store.claiming import claim
from rootbound_service.store.delivery import Taken, mark_sent
from rootbound_service.store.engine import make_engine


def main() -> None:
    """Claim in small bites, so that two senders meet often."""
    order = json.loads(sys.stdin.readline())
    me, now = order["me"], datetime.fromisoformat(order["now"])
    engine = make_engine(order["url"])
    with engine.connect():
        print("ready", flush=True)
    sys.stdin.readline()
    claimed: list[int] = []
    while True:
        with engine.begin() as conn:
            ids = [one.id for one in claim(conn, me, now, timedelta(minutes=10), 3)]
        claimed += ids
        if not ids or not order["sends"]:
            break
        for one in ids:
            with engine.begin() as conn:
                mark_sent(conn, one, me, now, Taken())
    engine.dispose()
    print(json.dumps(claimed))


if __name__ == "__main__":
    main()
