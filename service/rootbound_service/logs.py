"""Where the log goes, and how: to stderr, so that what a command prints is only its answer.

Lines of libraries, and their warnings, go the same way in the same form.
"""

from __future__ import annotations

import logging
import sys
from typing import TYPE_CHECKING, Literal, TextIO

import structlog
from structlog.stdlib import ProcessorFormatter, add_logger_name

if TYPE_CHECKING:
    from structlog.typing import Processor

Form = Literal["plain", "json"]
TIME = "time"
_OURS = "rootbound"
_asked: list[tuple[bool, Form]] = []
"""How the log of this process was asked for last, for processes that it starts."""


class _Stderr(logging.StreamHandler[TextIO]):
    """Writes to what stderr is at the time."""

    def emit(self, record: logging.LogRecord) -> None:
        """Write a line of a library."""
        self.stream = sys.stderr
        super().emit(record)


def log_to_stderr(*, whole: bool, form: Form = "plain") -> None:
    """Send the log to stderr.

    Parameters
    ----------
    whole
        Log what is done; else only what is wrong, for commands that answer at once.
    form
        ``plain`` for eyes; ``json``: each line is one object with ``level``, ``event``, ``time``.
    """
    _asked[:] = [(whole, form)]
    begun: list[Processor] = [
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True, key=TIME),
    ]
    ended = _ended(form)
    structlog.configure(
        processors=[*begun, *ended],
        wrapper_class=structlog.make_filtering_bound_logger(
            logging.INFO if whole else logging.WARNING
        ),
        logger_factory=structlog.WriteLoggerFactory(sys.stderr),  # a line in one piece
    )
    handler = _Stderr()
    handler.name = _OURS
    handler.setLevel(logging.WARNING)
    handler.setFormatter(
        ProcessorFormatter(
            processors=[ProcessorFormatter.remove_processors_meta, *ended],
            foreign_pre_chain=[*begun, add_logger_name],
        )
    )
    root = logging.getLogger()
    for old in [one for one in root.handlers if one.name == _OURS]:
        root.removeHandler(old)
    root.addHandler(handler)
    logging.captureWarnings(capture=True)


def asked_for() -> tuple[bool, Form] | None:
    """Give how this process's log was asked for, None if it never was."""
    return _asked[0] if _asked else None


def _ended(form: Form) -> list[Processor]:
    """What makes a line. No traceback shows local values: those may be addresses."""
    if form == "json":
        return [
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(default=str, ensure_ascii=False),
        ]
    plain = structlog.dev.ConsoleRenderer(
        colors=False, exception_formatter=structlog.dev.plain_traceback, timestamp_key=TIME
    )
    return [plain]
