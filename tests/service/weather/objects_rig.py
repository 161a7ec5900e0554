"""A writer of objects that dies, and what lies in its bucket."""

from __future__ import annotations

from datetime import date

from rootbound_service.weather.objects import Objects

LATE = date(2026, 6, 8)


class Killed(BaseException):
    """The process dies here."""


def pieces_of(own):
    return {name for name in own.objects if "/piece/" in name or "/index/" in name}


def die_after(puts, monkeypatch):
    """Let so many objects be put, then die; a dead process clears nothing up."""
    left = [puts]

    def spend():
        if left[0] == 0:
            raise Killed
        left[0] -= 1

    for name in ("put", "swap"):
        real = getattr(Objects, name)

        def counted(self, *args, real=real):
            spend()
            return real(self, *args)

        monkeypatch.setattr(Objects, name, counted)
    real_async = Objects.put_async

    async def counted_async(self, *args):
        spend()
        await real_async(self, *args)

    monkeypatch.setattr(Objects, "put_async", counted_async)
    return left
