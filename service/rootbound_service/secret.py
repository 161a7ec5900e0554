"""The secret that signs links: from the settings, else made once and kept in the data folder."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.links import Links

if TYPE_CHECKING:
    from rootbound_service.settings import Settings

NAME = "secret.key"


def links_of(settings: Settings) -> Links:
    """Give what makes and reads the tokens of links.

    Parameters
    ----------
    settings
        With a secret, needed where several hosts share a database; without one it is made.
    """
    given = settings.secret.get_secret_value() if settings.secret else None
    return Links(given or _kept(settings.data_dir / NAME), settings.base_url)


def _kept(path: Path) -> str:
    """Read the secret, made at the first time; two processes that start at once agree."""
    if not path.exists():
        own = path.with_name(f"{NAME}.{os.getpid()}.{secrets.token_hex(4)}")
        own.touch(mode=0o600)
        own.write_text(secrets.token_urlsafe(32), encoding="ascii")
        with suppress(FileExistsError):
            os.link(own, path)  # all or nothing, and the first one stays
        own.unlink()
    return path.read_text(encoding="ascii")
