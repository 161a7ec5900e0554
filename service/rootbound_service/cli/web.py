"""The command that serves the pages, the API, links, hooks and feeds over HTTP."""

from __future__ import annotations

import os
from typing import Annotated, Any

import typer

from rootbound_service.cli.said import tell
from rootbound_service.cli.session import session_of

Host = Annotated[str, typer.Option(help="Where to listen; behind a proxy leave it as it is.")]
Port = Annotated[int, typer.Option(min=1, max=65535)]
Processes = Annotated[int, typer.Option(min=1, max=64, help="One for each core serves most.")]


def web(
    ctx: typer.Context, host: Host = "127.0.0.1", port: Port = 8040, processes: Processes = 1
) -> None:
    """Serve pages, API, links of letters, calls of providers, feeds and health, until stopped.

    Put a proxy with TLS before it and name its address in ROOTBOUND_BASE_URL.
    """
    session = session_of(ctx)
    with session.service(log=True) as service:
        import uvicorn

        from rootbound_service.web.app import make_app

        served: Any = make_app(service)  # type: ignore[arg-type]  # the protocol of the commands
        if processes > 1:
            os.environ.update(session.settings_env())
            served = "rootbound_service.web.serve:from_environment"
        tell(f"Listening on http://{host}:{port}; Ctrl-C stops it.")
        uvicorn.run(
            served,
            host=host,
            port=port,
            factory=processes > 1,
            workers=processes if processes > 1 else None,
            access_log=False,  # paths hold tokens
            log_config=None,  # its lines go the way of ours
            log_level="warning",
            server_header=False,
            proxy_headers=True,
        )
