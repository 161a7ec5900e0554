"""Errors as plain sentences on stderr, and the exit codes that go with them."""

from __future__ import annotations

import os
from collections.abc import Iterable

import typer
from typer.core import TyperGroup

from rootbound_service.cli.said import tell_wrong
from rootbound_service.cli.session import DEBUG
from rootbound_service.errors import Problem, ServiceError

DONE, REFUSED, USAGE, PARTLY = 0, 1, 2, 3

EPILOG = (
    "Exit codes: 0 done; 1 refused or failed, nothing was stored; 2 the command was written "
    "wrongly; 3 partly failed, the rest was done. ROOTBOUND_DEBUG=1 shows where an error arose."
)


class PlainGroup(TyperGroup):
    """The commands, none of which ends in a traceback."""

    def invoke(self, ctx: typer.Context) -> object:  # type: ignore[override]  # typer's own class
        """Run a command; say in a sentence what stopped it."""
        try:
            return super().invoke(ctx)
        except (typer.Exit, typer.Abort, BrokenPipeError):
            raise
        except ServiceError as error:
            _show_trace(error)
            complain(str(error).splitlines())
        except Exception as error:
            if _is_usage(error):
                raise
            _show_trace(error)
            complain([_unforeseen(error)])
        raise typer.Exit(REFUSED)


def complain(lines: Iterable[str | Problem]) -> None:
    """Print sentences to stderr."""
    for line in lines:
        tell_wrong(str(line))


def _is_usage(error: Exception) -> bool:
    """Whether the parser raised it, which then shows the usage and exits with 2."""
    return hasattr(error, "exit_code") and hasattr(error, "format_message")


def _show_trace(error: Exception) -> None:
    if os.environ.get(DEBUG) == "1":
        raise error


def _unforeseen(error: Exception) -> str:
    # First line only: a database error goes on with the values, and those may be addresses.
    first = (str(error).splitlines() or [""])[0]
    return (
        f"this should not have happened: {type(error).__name__}: {first}; "
        f"set {DEBUG}=1 to see where it arose"
    )
