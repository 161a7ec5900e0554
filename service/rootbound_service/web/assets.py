"""Style sheets and scripts of the pages, from the package, under names that change with them."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib.resources import files

from fastapi import APIRouter
from fastapi.responses import PlainTextResponse, Response

MIMES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "json": "application/manifest+json",
    "png": "image/png",
}
FOR_A_YEAR = "public, max-age=31536000, immutable"


@cache
def asset(name: str) -> tuple[bytes, str] | None:
    """Give an asset and its mark; None for a name that is none of ours."""
    if name not in _names():
        return None
    body = files("rootbound_service.web").joinpath("static", name).read_bytes()
    return body, sha256(body).hexdigest()[:12]


@cache
def asset_path(name: str) -> str:
    """Give the address of an asset, which changes when it does.

    Parameters
    ----------
    name
        Of a file in ``static/``.
    """
    found = asset(name)
    if found is None:
        raise LookupError(f"there is no asset {name}")
    return f"/s/{name}?{found[1]}"


def router() -> APIRouter:
    """Make the route."""
    routes = APIRouter()

    @routes.get("/s/{name}")
    def give(name: str) -> Response:
        found = asset(name)
        if found is None:
            return PlainTextResponse("there is no such file", 404)
        body, mark = found
        mime = MIMES.get(name.rpartition(".")[2], "application/octet-stream")
        return Response(body, media_type=mime, headers=_headers(name, mark))

    return routes


def _headers(name: str, mark: str) -> dict[str, str]:
    headers = {"Cache-Control": FOR_A_YEAR, "ETag": f'"{mark}"'}
    if name == "sw.js":  # a worker is looked for anew, and serves every page
        headers |= {"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"}
    return headers


@cache
def _names() -> frozenset[str]:
    folder = files("rootbound_service.web").joinpath("static")
    return frozenset(one.name for one in folder.iterdir() if one.is_file())
