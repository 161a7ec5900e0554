"""``python -m calibration``: live invented seasons and write how far the outlook can be believed.

Run ``PYTHONPATH=fixtures:tests .venv/bin/python -m calibration --seasons 500 --out
build/calibration``: one to three minutes on two cores.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

from calibration.forecast import Asked
from calibration.runs import run
from calibration.summary import summary

CONTROLS = {
    "drier years": (Asked(), "dry"),
    "dig ignored": (Asked("ignored"), ""),
    "wall only": (Asked("wall only"), ""),
}
CONTROL_SHARE = 4
"""Each control takes a quarter of the seasons."""


def report(seasons: int, seed: int, workers: int, progress: Progress) -> dict:
    """Return all numbers, the controls' beside the honest world's."""

    def live(label: str, count: int, asked: Asked, drier: str) -> dict:
        bar = progress.add_task(label, total=count)
        table = run(
            count, seed, workers, asked, drier, lambda done: progress.update(bar, completed=done)
        )
        return summary(table)

    numbers = live("the honest world", seasons, Asked(), "")
    few = max(seasons // CONTROL_SHARE, 12)
    controls = {"as it is": _brief(numbers)}
    for label, (asked, drier) in CONTROLS.items():
        controls[label] = _brief(live(label, few, asked, drier))
    return numbers | {"seed": seed, "controls": controls}


def _brief(numbers: dict) -> dict:
    """What the page shows of a control."""
    return {
        "seasons": numbers["seasons"],
        "chances": {"stress14_held": numbers["chances"]["stress14_held"]},
        "days_ahead": {"all": numbers["days_ahead"]["all"]},
        "water": {"water14_held": numbers["water"]["water14_held"]},
    }


def main(argv: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="calibration", description=__doc__.splitlines()[0])
    parser.add_argument("--seasons", type=int, default=500, help="invented field-seasons")
    parser.add_argument("--seed", type=int, default=1, help="of the invented world")
    parser.add_argument("--workers", type=int, default=min(os.cpu_count() or 1, 4))
    parser.add_argument("--out", type=Path, default=Path("build/calibration"), help="folder")
    args = parser.parse_args(argv)
    if args.seasons < 12:
        parser.error("--seasons: fewer than 12 say nothing; 500 are usual")
    console = Console(stderr=True)
    with Progress(console=console) as progress:
        numbers = report(args.seasons, args.seed, args.workers, progress)
    from calibration.page import page

    args.out.mkdir(parents=True, exist_ok=True)
    (args.out / "calibration.json").write_text(json.dumps(numbers, indent=1), encoding="utf-8")
    (args.out / "calibration.html").write_text(page(numbers), encoding="utf-8")
    console.print(f"{args.out / 'calibration.html'} and calibration.json are written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
