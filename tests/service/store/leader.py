"""A worker's waiting in a process of its own: says when it waits, when it leads, when it lost.

Reads one line of JSON (url); the next line ends it. A log line of the waiting goes to stdout too.
"""

from __future__ import annotations

import json
import sys
import threading

import structlog

from rootbound_service.store.engine import make_engine
from rootbound_service.worker.lead import hold, wait_for_lead


def main() -> None:
    """Lead as soon as may be, until told to stop or the lead is lost."""
    structlog.configure(processors=[_say], logger_factory=structlog.PrintLoggerFactory())
    url = json.loads(sys.stdin.readline())["url"]
    stop = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.readline(), stop.set()), daemon=True).start()
    engine = make_engine(url)
    lead = wait_for_lead(engine, stop, 0.02)
    if lead is not None:
        print("leads", flush=True)
        hold(lead, stop, 0.02)
        lead.give_up()
    engine.dispose()
    print("ended", flush=True)


def _say(_logger: object, _level: str, event: structlog.typing.EventDict) -> str:
    sys.stdout.flush()
    return str(event["event"])


if __name__ == "__main__":
    main()
