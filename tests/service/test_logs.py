"""The log goes to stderr, short commands log only what is wrong, and a collector gets objects."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

LOG = """
import structlog
from rootbound_service.logs import log_to_stderr
log_to_stderr(whole={whole})
log = structlog.get_logger()
log.info("night_begun")
log.warning("weather_old")
"""
LIBRARIES = """
import logging, warnings
from datetime import date
import structlog
from rootbound_service.logs import log_to_stderr
log_to_stderr(whole=True, form="{form}")
log = structlog.get_logger()
log.info("night_begun", night=date(2026, 7, 1), why="two\\nlines")
try:
    address = "somebody@alder.example"
    raise ValueError("this once")
except ValueError:
    log.exception("tick_failed")
    logging.getLogger("some.library").exception("could not %s", "connect")
logging.getLogger("some.library").info("too much to say")
warnings.warn("going away", FutureWarning)
"""


def heard(script: str) -> list[str]:
    """Lines of the log of a process; it answers nothing."""
    command = [sys.executable, "-W", "default", "-c", script]
    done = subprocess.run(command, capture_output=True, text=True, check=True)

    assert done.stdout == ""
    return done.stderr.splitlines()


@pytest.mark.parametrize(("whole", "lines"), [(True, 2), (False, 1)])
def test_the_log_never_mixes_with_the_answer(whole, lines) -> None:
    said = heard(LOG.format(whole=whole))

    assert len(said) == lines
    assert "weather_old" in said[-1]


def test_for_a_collector_each_line_is_an_object_libraries_and_warnings_too() -> None:
    said = [json.loads(line) for line in heard(LIBRARIES.format(form="json"))]
    told = [(one["level"], one.get("logger"), one["event"].split(":")[0]) for one in said]

    assert told[:3] == [
        ("info", None, "night_begun"),
        ("error", None, "tick_failed"),
        ("error", "some.library", "could not connect"),
    ]
    assert [(level, logger) for level, logger, _ in told[3:]] == [("warning", "py.warnings")]
    assert "FutureWarning: going away" in said[3]["event"]
    assert (said[0]["night"], said[0]["why"]) == ("2026-07-01", "two\nlines")
    assert all(one["time"].endswith("Z") for one in said)


@pytest.mark.parametrize("form", ["plain", "json"])
def test_a_traceback_shows_where_and_no_values_of_that_moment(form) -> None:
    said = "\n".join(heard(LIBRARIES.format(form=form)))

    assert said.count("ValueError: this once") == 2
    assert "alder.example" not in said.replace('address = "somebody@alder.example"', "")


def test_plain_lines_of_libraries_look_like_ours() -> None:
    said = heard(LIBRARIES.format(form="plain"))
    (ours,) = [line for line in said if "night_begun" in line]
    (theirs,) = [line for line in said if "could not connect" in line]

    assert ours.split()[1:3] == ["[info", "]"]
    assert theirs.split()[1:3] == ["[error", "]"]
