"""What a form sent, and the proof that it was sent from one of our own pages."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import AbstractAsyncContextManager
from dataclasses import dataclass, field
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from rootbound_service.web.access.reader import (
    Keeper,
    NotYours,
    Reader,
    SignInNeeded,
    whoever,
)
from rootbound_service.web.parts import desk_of

TOKEN = "form_token"  # noqa: S105  a name, no token
HEADER = "x-form-token"
STRANGE = (
    "This did not come from a page of ours, or the page was opened before you signed in. "
    "Nothing was changed. Open the page again and repeat it."
)


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that came with a form."""

    name: str
    data: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class Sent:
    """The fields of a form."""

    values: Mapping[str, tuple[str, ...]]
    files: Mapping[str, tuple[Upload, ...]]

    def get(self, name: str, usual: str = "") -> str:
        """The first value of a name, without the spaces around it."""
        found = self.values.get(name, ())
        return found[0].strip() if found else usual

    def number(self, name: str, most: int) -> int | None:
        """The first value as a whole number from 0 on; None for what is none, or above most."""
        found = self.get(name)
        if not (found.isascii() and found.isdecimal() and len(found) <= len(str(most))):
            return None
        return int(found) if int(found) <= most else None

    def every(self, name: str) -> tuple[str, ...]:
        """All values of a name."""
        return self.values.get(name, ())

    def file(self, name: str) -> Upload | None:
        """The file of a name; None where none was chosen."""
        return next((one for one in self.files.get(name, ()) if one.data), None)

    def flat(self) -> dict[str, str]:
        """Name and first value of all that was filled in, without our own proof."""
        filled = {name: self.get(name) for name in self.values if name != TOKEN}
        return {name: value for name, value in filled.items() if value}


async def sent_form(request: Request) -> Sent:
    """Read a form that came from one of our own pages.

    Raises
    ------
    NotYours
        If it came from elsewhere: the browser says so, or the proof in it is missing.
    """
    refuse_strangers(request)
    async with _form(request) as form:
        who = await run_in_threadpool(whoever, request)
        if who is None:
            raise SignInNeeded("/today")
        if not _proves(request, form, who):
            raise NotYours(STRANGE)
        return await _sent(form)


async def open_form(request: Request) -> Sent:
    """Read a form of a page that needs no signing in; its address or its link is the proof.

    Raises
    ------
    NotYours
        If another site sent it.
    """
    refuse_strangers(request)
    async with _form(request) as form:
        return await _sent(form)


def _form(request: Request) -> AbstractAsyncContextManager[FormData]:
    """Read a form; its files are closed when it is left."""
    return request.form(max_files=30, max_fields=20_000, max_part_size=6_000_000)


def refuse_strangers(request: Request) -> None:
    """Refuse what a browser says another site has sent (Fetch Metadata, RFC 6454 7)."""
    site = request.headers.get("sec-fetch-site")
    if site is not None and site not in {"same-origin", "none"}:
        raise NotYours(STRANGE)
    origin = request.headers.get("origin")
    if site is None and origin and origin != "null":
        here = {request.headers.get("host", "")}
        base = desk_of(request).service.settings.base_url
        if base:
            here.add(urlsplit(base).netloc)
        if _place(origin) not in here:
            raise NotYours(STRANGE)


def _place(origin: str) -> str | None:
    try:
        return urlsplit(origin).netloc
    except ValueError:  # no browser sends such a thing
        return None


def form_token(request: Request, who: Reader | Keeper) -> str:
    """The proof that stands in every form of a signed-in page."""
    return desk_of(request).links.token("form", who.session_id or 0)


def _proves(request: Request, form: FormData, who: Reader | Keeper) -> bool:
    given = form.get(TOKEN) or request.headers.get(HEADER, "")
    if not isinstance(given, str):
        return False
    return desk_of(request).number("form", given) == who.session_id


async def _sent(form: FormData) -> Sent:
    values: dict[str, list[str]] = {}
    files: dict[str, list[Upload]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            files.setdefault(name, []).append(Upload(value.filename or "", await value.read()))
        else:
            values.setdefault(name, []).append(value)
    await form.close()
    return Sent(
        {name: tuple(found) for name, found in values.items()},
        {name: tuple(found) for name, found in files.items()},
    )


Form = Annotated[Sent, Depends(sent_form)]
OpenForm = Annotated[Sent, Depends(open_form)]
