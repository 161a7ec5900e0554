"""The log goes to stderr, and short commands log only what is wrong."""

from __future__ import annotations

import subprocess
import sys

import pytest

SPEAK = """
import structlog
from rootbound_service.cli.logs import log_to_stderr
log_to_stderr(whole={whole})
log = structlog.get_logger()
log.info("night_begun")
log.warning("weather_old")
"""


@pytest.mark.parametrize(("whole", "lines"), [(True, 2), (False, 1)])
def test_the_log_never_mixes_with_the_answer(whole, lines) -> None:
    done = subprocess.run(
        [sys.executable, "-c", SPEAK.format(whole=whole)],
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == lines
    assert "weather_old" in done.stderr
