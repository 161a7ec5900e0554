"""How fast the pages come: wrk against the real server on loopback, many fields in the store.

Run from the repository root: ``PYTHONPATH=tests/bench .venv/bin/python tests/bench/bench_web.py``
(needs Debian's wrk); ``--database URL`` for PostgreSQL, ``--fields 1000000``. Not a test: speeds
are printed, never asserted. Readers come from many addresses, or the pace of one would be measured.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from web_scene import LOOKED_AT, NOW, fill

from rootbound_service.store.engine import make_engine, migrate

PORT = 0
SERVER = """
import sys, uvicorn
from datetime import datetime
from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.web.serve import app_of
folder, url = sys.argv[1:3]
env = {"ROOTBOUND_DATA_DIR": folder, "ROOTBOUND_DATABASE_URL": url, "ROOTBOUND_AUTO_MIGRATE": "no"}
app = app_of(load_settings(env), SetClock(datetime.fromisoformat(sys.argv[4])))
import socket
door = socket.socket(fileno=int(sys.argv[3]))
uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False)).run([door])
"""
LUA = """
local keys = {%s}
local paths = {%s}
local n = %d
request = function()
  n = n + 1
  local path = paths[(n %% #paths) + 1]
  local turn = math.floor(n / #paths) %% #keys
  local where = path[1] .. (path[2] and (path[2] + turn * %d) or "")
  local from = "10." .. (n %% 250) .. "." .. (math.floor(n / 250) %% 250) .. ".7"
  local headers = {["Cookie"] = "rootbound=" .. keys[turn + 1], ["X-Forwarded-For"] = from}
  return wrk.format("GET", where, headers)
end
"""


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--database", default="")
    asked.add_argument("--fields", type=int, default=5000)
    asked.add_argument("--each", type=int, default=250, help="fields of an account")
    asked.add_argument("--seconds", type=int, default=15)
    asked.add_argument("--warm", type=int, default=20, help="seconds before, not counted")
    asked.add_argument("--connections", type=int, default=8)
    asked.add_argument("--processes", type=int, default=2)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        url = given.database or f"sqlite:///{folder}/rootbound.db"
        engine = make_engine(url)
        migrate(engine)
        begun = time.perf_counter()
        with engine.begin() as conn:
            keys = fill(conn, given.fields // given.each, given.each, random.Random(1))
        engine.dispose()
        print(
            f"{given.fields} fields in accounts of {given.each}, "
            f"put in within {time.perf_counter() - begun:.0f} s"
        )
        _measure(folder, url, keys, given)


def _measure(folder, url, keys, given):
    import socket

    door = socket.create_server(("127.0.0.1", PORT), backlog=512)
    door.set_inheritable(True)
    port = door.getsockname()[1]
    words = [sys.executable, "-c", SERVER, folder, url, str(door.fileno()), NOW.isoformat()]
    running = [subprocess.Popen(words, pass_fds=[door.fileno()]) for _ in range(given.processes)]
    try:
        _until_served(port)
        looked = min(LOOKED_AT, given.each)
        for name, paths in {
            "Today": ['{"/today"}'],
            "field page": [f'{{"/fields/", {k}}}' for k in range(1, looked + 1)],
            "both": ['{"/today"}', *(f'{{"/fields/", {k}}}' for k in range(1, 4))],
        }.items():
            lua = Path(folder) / "ask.lua"
            told = ", ".join(f'"{key}"' for key in keys[:200])
            lua.write_text(LUA % (told, ", ".join(paths), 0, given.each))
            if given.warm:
                _wrk(lua, port, given.connections, given.warm)
            out = _wrk(lua, port, given.connections, given.seconds)
            print(name, _told(out))
    finally:
        for one in running:
            one.terminate()
        for one in running:
            one.wait(10)
        door.close()


def _wrk(lua, port, connections, seconds):
    words = ["wrk", "-t1", f"-c{connections}", f"-d{seconds}s", "--latency", "-s", str(lua)]
    words.append(f"http://127.0.0.1:{port}")
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


def _until_served(port):
    """Ask until every process answers; a server that never does ends the bench."""
    import requests
    from urllib3 import Retry

    session = requests.Session()
    again = requests.adapters.HTTPAdapter(max_retries=Retry(60, backoff_factor=0.2, backoff_max=1))
    session.mount("http://", again)
    for _ in range(20):
        session.get(f"http://127.0.0.1:{port}/sign-in", timeout=60, headers={"Connection": "close"})


def _told(out):
    found = dict(re.findall(r"(50%|75%|90%|99%)\s+([\d.]+\w+)", out))
    rate = re.search(r"Requests/sec:\s+([\d.]+)", out)
    bad = re.search(r"Non-2xx or 3xx responses: (\d+)", out)
    wrong = re.search(r"Socket errors: (.*)", out)
    return {
        "a second": rate and rate[1],
        **found,
        "not 200": bad[1] if bad else 0,
        "socket": wrong[1] if wrong else "none",
    }


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main()
