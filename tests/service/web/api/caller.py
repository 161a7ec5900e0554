"""Programs that call the API: tokens of everybody in the scene, each call from another address."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from fastapi.testclient import TestClient

from browser.app_scene import HERE, AppScene, Elsewhere
from rootbound_service.store.api_tokens import SCOPES, new_token

V1 = "/api/v1"
DUG = {"date": "2026-06-20", "wall_class": 2, "plants": 5, "crossing": 12, "held": 31}
RAIN = {"date": "2026-07-01", "rain_mm": 14.5}
SQUARE = {
    "type": "Polygon",
    "coordinates": [
        [[-94.923, 41.618], [-94.917, 41.618], [-94.917, 41.622], [-94.923, 41.622],
         [-94.923, 41.618]]
    ],
}  # fmt: skip
"""Around the first field: 0.006 by 0.004 degrees at 41.62 north, 22.2 ha."""
SOMEBODY = {"name": "Ann Miller", "email": "ann@example.org", "role": "grower"}
ENROLLED = {
    "name": "North Forty",
    "lat": 41.62,
    "lon": -94.92,
    "grower": "Ann Miller <ann@example.org>",
    "planted": "2026-05-04",
    "texture": "silt loam",
}


def token(scene: AppScene, word: str, scopes: tuple[str, ...] = SCOPES, days: int = 400) -> str:
    """Make a token of somebody, whose count of calls begins at nought."""
    account = scene.other_account if word.startswith("other") else scene.account
    with scene.service.engine.begin() as conn:
        return new_token(
            conn, account, scene.people[word].id, "a test", scopes, scene.clock.now(), days
        )


def program(scene: AppScene, word: str, scopes: tuple[str, ...] = SCOPES) -> TestClient:
    """Give a program that calls for somebody."""
    return anybody(scene, Authorization=f"Bearer {token(scene, word, scopes)}")


def anybody(scene: AppScene, **headers: str) -> TestClient:
    """Give a program without a token."""
    return TestClient(
        Elsewhere(scene.app),  # type: ignore[arg-type]
        base_url=HERE + V1,
        raise_server_exceptions=False,
        follow_redirects=False,
        headers=headers,
    )


class Ticking:
    """Lets time go on with every request, so that none is one too many within a minute."""

    def __init__(self, scene: AppScene) -> None:
        self._app, self._clock = Elsewhere(scene.app), scene.clock

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] == "http":
            self._clock.set(self._clock.now() + timedelta(seconds=0.2))
        await self._app(scope, receive, send)
