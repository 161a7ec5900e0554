"""Where the log goes: to stderr, so that what a command prints is only its answer."""

from __future__ import annotations

import logging
import sys

import structlog


def log_to_stderr(*, whole: bool) -> None:
    """Send the log to stderr.

    Parameters
    ----------
    whole
        Log what is done; else only what is wrong, for commands that answer at once.
    """
    level = logging.INFO if whole else logging.WARNING
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            # Plain: the renderer's own tracebacks show local values, and those may be addresses.
            structlog.dev.ConsoleRenderer(
                colors=False, exception_formatter=structlog.dev.plain_traceback
            ),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
    )
