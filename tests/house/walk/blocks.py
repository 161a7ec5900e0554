"""Prints the commands of one section of deploy/guide.md, so that a walk runs what is written.

python blocks.py GUIDE SECTION BLOCK: the BLOCKth fence of "sh" under the heading "## SECTION".
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

FENCE = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def sections(guide: str) -> dict[str, list[str]]:
    """Give every section's fences of commands, by the number or words of its heading."""
    found: dict[str, list[str]] = {}
    for part in re.split(r"^## ", guide, flags=re.MULTILINE)[1:]:
        heading, _, body = part.partition("\n")
        found[heading.partition(". ")[0]] = FENCE.findall(body)
    return found


def main() -> int:
    """Print one."""
    guide, section, block = sys.argv[1:]
    commands = sections(Path(guide).read_text(encoding="utf-8"))
    sys.stdout.write(commands[section][int(block) - 1])
    return 0


if __name__ == "__main__":
    sys.exit(main())
