"""Calls of others to us: texts and letters that came in, and what became of those sent."""

from __future__ import annotations

from collections.abc import Callable

import structlog
from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, Response
from starlette.concurrency import run_in_threadpool

from rootbound_service.channels.gateway_file import GatewayFile, read_file
from rootbound_service.channels.hook import Proof
from rootbound_service.channels.receipts import incoming_of, read_call, receipt_of
from rootbound_service.intake.phones import PhoneRefused, e164_of_sender
from rootbound_service.replies.mail import MailIn, take_mail
from rootbound_service.replies.text import TextIn, take_text
from rootbound_service.store.receipts import add_receipt, message_named
from rootbound_service.web.parts import Desk

_log = structlog.get_logger(__name__)


def router(desk: Desk) -> APIRouter:
    """Make the routes.

    Parameters
    ----------
    desk
        The service.
    """
    routes, settings = APIRouter(), desk.service.settings
    file = read_file(settings.text_gateway_file) if settings.text_gateway_file else GatewayFile()
    proof = Proof(file.proof.scheme, file.proof.header)

    @routes.post("/in/text")
    async def text(request: Request) -> Response:
        return await _call(desk, request, proof, lambda body, kind: _text(desk, file, body, kind))

    @routes.post("/in/receipt")
    async def receipt(request: Request) -> Response:
        return await _call(
            desk, request, proof, lambda body, kind: _receipt(desk, file, body, kind)
        )

    @routes.post("/in/mail")
    async def mail(request: Request) -> Response:
        to = request.query_params.get("to", "")
        return await _call(desk, request, Proof(), lambda body, _: _mail(desk, body, to))

    return routes


async def _call(
    desk: Desk, request: Request, proof: Proof, act: Callable[[bytes, str], None]
) -> Response:
    """Check who calls, act, and say so in a word; what is wrong is not told to strangers."""
    hidden, now = desk.service.settings.text_hook_secret, desk.service.clock.now()
    body = await request.body()
    secret = hidden.get_secret_value() if hidden else ""
    if not proof.holds(request.headers, body, secret, now):
        return PlainTextResponse("no", 403)
    try:
        kind = request.headers.get("content-type", "")
        await run_in_threadpool(act, body, kind)
    except (ValueError, PhoneRefused) as error:
        _log.warning("hook_refused", path=request.url.path, error=type(error).__name__)
        return PlainTextResponse(f"not understood: {error}", 422)
    return PlainTextResponse("ok")


def _text(desk: Desk, file: GatewayFile, body: bytes, kind: str) -> None:
    came = incoming_of(read_call(body, kind), file.inbound)
    now = desk.service.clock.now()
    with desk.service.engine.begin() as conn:
        sender = e164_of_sender(came.sender)
        take_text(conn, TextIn(sender, came.text, came.provider_id, now), desk.ask)


def _receipt(desk: Desk, file: GatewayFile, body: bytes, kind: str) -> None:
    came = receipt_of(read_call(body, kind), file.receipt)
    with desk.service.engine.begin() as conn:
        message = message_named(conn, "text", came.provider_id)
        if message is not None:
            add_receipt(conn, message, desk.service.clock.now(), came.state, None, came.said)


def _mail(desk: Desk, body: bytes, to: str) -> None:
    with desk.service.engine.begin() as conn:
        take_mail(conn, MailIn(body, desk.service.clock.now(), to), desk.links, desk.ask)
