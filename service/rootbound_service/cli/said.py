"""What a command says where nobody reads it but a collector of logs: lines of the log."""

from __future__ import annotations

import os
import sys

import typer

FORM = "ROOTBOUND_LOG_FORMAT"


def tell(line: str) -> None:
    """Print a line of a command's answer, or log it.

    Parameters
    ----------
    line
        What the command came to.
    """
    if is_collected():
        _log(line, wrong=False)
    else:
        typer.echo(line)


def tell_wrong(line: str) -> None:
    """Print to stderr what is wrong, or log it.

    Parameters
    ----------
    line
        What is wrong.
    """
    if is_collected():
        _log(line, wrong=True)
    else:
        typer.echo(f"rootbound: {line}", err=True)


def is_collected() -> bool:
    """Tell whether lines go to a collector, though settings may be refused: it is asked of those.

    At a terminal somebody reads them, whatever the settings of the service say.
    """
    return os.environ.get(FORM) == "json" and not sys.stderr.isatty()


def _log(line: str, *, wrong: bool) -> None:
    import structlog

    from rootbound_service.logs import log_to_stderr

    log_to_stderr(whole=True, form="json")
    log = structlog.get_logger(__name__)
    (log.error if wrong else log.info)("said", what=line)
