"""The web application for a server that makes it itself, such as one of several processes."""

from __future__ import annotations

import os
from contextlib import ExitStack
from typing import TYPE_CHECKING

from rootbound_service.clock import SystemClock
from rootbound_service.logs import log_to_stderr
from rootbound_service.settings import load_settings
from rootbound_service.web.app import make_app
from rootbound_service.wiring import open_service

if TYPE_CHECKING:
    from fastapi import FastAPI

    from rootbound_service.clock import Clock
    from rootbound_service.settings import Settings

NOT_SETTINGS = ("ROOTBOUND_DEBUG",)


def app_of(settings: Settings, clock: Clock) -> FastAPI:
    """Open the service for the life of the process and make the application.

    Parameters
    ----------
    settings
        Where everything is.
    clock
        The time.
    """
    stack = ExitStack()
    app = make_app(stack.enter_context(open_service(settings, clock)))
    app.state.open = stack  # closed with the process
    return app


def from_environment() -> FastAPI:
    """Make the application of one of several processes, from the environment they share."""
    env = {name: value for name, value in os.environ.items() if name not in NOT_SETTINGS}
    settings = load_settings(env)
    log_to_stderr(whole=True, form=settings.log_format)
    return app_of(settings, SystemClock())
