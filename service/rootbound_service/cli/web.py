"""The command that answers links, hooks and feeds over HTTP."""

from __future__ import annotations

from typing import Annotated

import typer

from rootbound_service.cli.session import session_of

Host = Annotated[str, typer.Option(help="Where to listen; behind a proxy leave it as it is.")]
Port = Annotated[int, typer.Option(min=1, max=65535)]


def web(ctx: typer.Context, host: Host = "127.0.0.1", port: Port = 8040) -> None:
    """Answer links of letters, calls of providers, feeds and health, until stopped.

    Put a proxy with TLS before it and name its address in ROOTBOUND_BASE_URL.
    """
    with session_of(ctx).service(log=True) as service:
        import uvicorn

        from rootbound_service.web.app import make_app

        config = uvicorn.Config(
            make_app(service),  # type: ignore[arg-type]  # the protocol of the commands
            host=host,
            port=port,
            access_log=False,  # paths hold tokens
            log_level="warning",
            server_header=False,
            proxy_headers=True,
        )
        typer.echo(f"Listening on http://{host}:{port}; Ctrl-C stops it.")
        uvicorn.Server(config).run()
