"""Whether the place of the stored weather takes what is put there and gives it back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.errors import ServiceError
from rootbound_service.public.finding import Finding
from rootbound_service.weather.drawer import FolderDrawer
from rootbound_service.weather.objects import OvertakenError

if TYPE_CHECKING:
    from rootbound_service.weather.objects import Objects

WHAT = "stored weather"
WHY = "no night can be computed without it"
CONTENT = (b"one", b"another")


def look_at_weather(place: Path | Objects, mark: str) -> Finding:
    """Put something small where the weather is stored, read it and take it away.

    Parameters
    ----------
    place
        A folder, or objects.
    mark
        Of this trial alone.
    """
    if isinstance(place, Path):
        return _folder(place, mark)
    name = f"trial/{mark}"
    try:
        try:
            return _objects(place, name)
        finally:
            place.remove((name,))
    except ServiceError as error:
        return Finding(
            WHAT,
            well=False,
            said=str(error).partition("; ")[0],
            why=WHY,
            mend="is the bucket there, may this key put, get, list and delete in it, are "
            "AWS_ENDPOINT_URL and AWS_REGION right?",
        )


def _objects(place: Objects, name: str) -> Finding:
    """Try all that a change needs: put, get, list, and a swap that somebody else's put stops."""
    tag = place.swap(name, CONTENT[0], None)
    found = place.get(name)
    listed = [one.name for one in place.listed("trial")]
    if found is None or found.content != CONTENT[0] or name not in listed:
        said = f"{place.url} takes an object and does not give it back at once"
        mend = "use a store that shows what was put to whoever asks next"
        return Finding(WHAT, well=False, said=said, why=WHY, mend=mend)
    place.swap(name, CONTENT[1], tag)
    for old in (None, tag):
        try:
            place.swap(name, CONTENT[0], old)
        except OvertakenError:
            continue
        return Finding(
            WHAT,
            well=False,
            said=f"{place.url} puts an object although another was put meanwhile",
            why="of two writers one would undo what the other wrote",
            mend="use a store that heeds If-Match and If-None-Match, as Amazon S3 does",
        )
    return Finding(WHAT, well=True, said=f"{place.url} can be written to and read")


def _folder(place: Path, mark: str) -> Finding:
    """Try a file in the folder, or say that the first night makes it."""
    if not place.is_dir():
        return Finding(WHAT, well=True, said=f"{place} is not made yet; the first night does")
    drawer, name = FolderDrawer(place), f".trial-{mark}"
    try:
        drawer.put(name, CONTENT[0])
        try:
            well = drawer.read(name) == CONTENT[0]
        finally:
            drawer.remove(name)
    except OSError as error:
        well, why_not = False, str(error.strerror)
    else:
        why_not = "it gives back something else"
    if well:
        return Finding(WHAT, well=True, said=f"{place} can be written to and read")
    return Finding(
        WHAT,
        well=False,
        said=f"{place} cannot be used ({why_not})",
        why=WHY,
        mend="look at its rights, its room and its disk; ROOTBOUND_WEATHER_STORE names it",
    )
