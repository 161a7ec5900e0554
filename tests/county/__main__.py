"""By hand: ``PYTHONPATH=fixtures:tests .venv/bin/python -m county --out build/county``."""

from __future__ import annotations

import argparse
import logging
import shutil
import time
from pathlib import Path

import structlog

from county.live import live
from county.report import figures
from rootbound_service.store.digests import digest_page, digests_of
from rootbound_service.store.engine import make_engine


def main() -> None:
    """Live a season and print what it came to."""
    parser = argparse.ArgumentParser(prog="county", description=__doc__)
    parser.add_argument("--growers", type=int, default=40)
    parser.add_argument("--fields", type=int, default=10, help="of each grower")
    parser.add_argument("--nights", type=int, default=125)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, default=Path("build/county"))
    asked = parser.parse_args()
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.CRITICAL))
    shutil.rmtree(asked.out, ignore_errors=True)
    begun = time.perf_counter()
    season, service, _ = live(asked.out, asked.growers, asked.fields, asked.nights, asked.seed)
    for name, value in figures(season, service).items():
        print(f"{name:45} {value:.3g}" if isinstance(value, float) else f"{name:45} {value}")
    print(f"{'seconds':45} {time.perf_counter() - begun:.0f}")
    engine = make_engine(service.settings.database_url)
    with engine.connect() as conn:
        for one in digests_of(conn)[:60]:
            page = digest_page(conn, one.id)
            if page:
                name = f"digest-{one.person_id}-{one.week}.html"
                (asked.out / name).write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
