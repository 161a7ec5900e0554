"""``python -m seasons``: play the real seasons and write the page on them.

Run ``PYTHONPATH=fixtures:tests .venv/bin/python -m seasons``: one to two minutes on two cores.
It writes ``rules/docs/real-seasons.md`` with its pictures beside it.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

from seasons.baselines import IOWA
from seasons.trial import Trial, play_trial

DOCS = Path(__file__).resolve().parents[2] / "rules" / "docs"
NAME = "real-seasons"


def main(argv: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="seasons", description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=min(os.cpu_count() or 1, 4))
    parser.add_argument("--out", type=Path, default=DOCS, help="folder of the page")
    args = parser.parse_args(argv)
    console = Console(stderr=True)
    if not IOWA.exists():
        console.print(f"there is no {IOWA}: the real seasons are not part of the repository")
        return 1
    with Progress(console=console) as progress:
        bar = progress.add_task("seasons played", total=None)
        played = play_trial(
            args.workers, progress=lambda done, of: progress.update(bar, completed=done, total=of)
        )
    from seasons.page import write

    console.print(f"{write(Trial(tuple(played)), args.out, NAME)} is written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
