"""Processes of the service that begin warm: forked from one that has every library loaded.

A kill ends one of them as it would end any; only the seconds of importing are saved. Run as
``python -m drills.warm``, it reads one JSON line an order and answers ``PID`` or ``PID CODE``.
"""

from __future__ import annotations

import json
import os
import select
import signal
import sys
from importlib import import_module

LIBRARIES = (
    "apscheduler.executors.pool",
    "apscheduler.schedulers.background",
    "css_inline",
    "drills.child",
    "jinja2",
    "matplotlib.backends.backend_agg",
    "matplotlib.figure",
    "matplotlib.projections",
    "rootbound_service.channels.build",
    "rootbound_service.channels.send",
    "rootbound_service.nightly",
    "rootbound_service.notes.charts",
    "rootbound_service.soil.soilgrids",
    "rootbound_service.soil.survey",
    "rootbound_service.web.app",
    "rootbound_service.weekly",
    "uvicorn",
)


def main() -> None:
    """Load everything once, then fork for each order until the orders end."""
    _load()
    print("warm", flush=True)
    children: set[int] = set()
    while True:
        readable, _, _ = select.select([sys.stdin], [], [], 0.01)
        for pid in tuple(children):
            ended, status = os.waitpid(pid, os.WNOHANG)
            if ended:
                children.discard(pid)
                print(pid, os.waitstatus_to_exitcode(status), flush=True)
        if readable:
            line = sys.stdin.readline()
            if not line:
                for pid in children:  # whoever gave the orders is gone
                    os.kill(pid, signal.SIGKILL)
                return
            children.add(_fork(json.loads(line)))


def _load() -> None:
    """What a night, a sender and the web need, without opening anything or starting a thread."""
    for name in LIBRARIES:
        import_module(name)
    from rootbound_rules.season.ready import compile_all
    from rootbound_service.nights.whole_code import read_whole_code

    read_whole_code()
    compile_all()  # kept by now: it is read


def _fork(order: dict[str, object]) -> int:
    pid = os.fork()
    if pid:
        print(pid, flush=True)
        return pid
    code = 1
    try:
        log = os.open(str(order["log"]), os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        null = os.open(os.devnull, os.O_RDONLY)
        for there, here in ((null, 0), (log, 1), (log, 2)):
            os.dup2(there, here)
        for name in [one for one in os.environ if one.startswith("ROOTBOUND_")]:
            del os.environ[name]
        os.environ.update(order["env"])  # type: ignore[arg-type]
        sys.argv = ["drills.child", *order["argv"]]  # type: ignore[misc]
        from drills.child import main as child

        child()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 1
    except BaseException:  # noqa: BLE001  a child must never go on as its parent
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    main()
