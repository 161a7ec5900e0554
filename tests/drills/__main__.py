"""Fault drills: what breaks a small service, at which moments, and what came of it, as a table.

    PYTHONPATH=fixtures:tests .venv/bin/python -m drills [name ...] [--times 50] [--database URL]

Without names: all of them. ``--database`` names a PostgreSQL server's database; each moment gets
a database of its own beside it.
"""

from __future__ import annotations

import argparse
import logging
import tempfile
from pathlib import Path

import structlog

from drills import DRILLS
from drills.full_disk import enter, possible
from drills.world import a_world

HEAD = "drill                moments   hit healed  lost doubled twice seconds"


def main() -> int:
    """Run the drills asked for; 0 if every moment healed."""
    asked = argparse.ArgumentParser(prog="drills", description=__doc__)
    asked.add_argument("names", nargs="*", metavar="name", help=", ".join(DRILLS))
    asked.add_argument("--times", type=int, default=50, help="moments of each (default: 50)")
    asked.add_argument("--database", default="", help="a PostgreSQL server; else SQLite")
    asked.add_argument("--folder", type=Path, help="keep the base here, for the next run")
    given = asked.parse_args()
    if strange := set(given.names) - set(DRILLS):
        asked.error(f"no such drill: {', '.join(sorted(strange))}; there are {', '.join(DRILLS)}")
    if not given.names:
        given.names = [one for one in DRILLS if one != "disk" or possible()]
    if "disk" in given.names:
        enter()
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.CRITICAL))
    with tempfile.TemporaryDirectory() as own:
        folder = given.folder or Path(own)
        folder.mkdir(parents=True, exist_ok=True)
        with a_world(folder, given.database) as world:
            print(f"on {'PostgreSQL' if given.database else 'SQLite'}\n{HEAD}", flush=True)
            wrong: list[str] = []
            for name in given.names:
                for tally in DRILLS[name](world, given.times):
                    print(tally.line(), flush=True)
                    wrong += tally.wrong
                    for one in tally.notes:
                        print(f"    {one}")
                    for said, many in tally.said.items():
                        print(f"    said {said}: {many}")
                    for one in tally.wrong[:10]:
                        print(f"    {one}", flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
