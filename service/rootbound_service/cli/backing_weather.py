"""What a backup holds of weather and forecasts that lie outside the data folder."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from rootbound_service.settings import Settings
    from rootbound_service.store.backup_archive import Archive

ISSUES_IN = "files/forecasts/issues/"
"""Where the issues stand in a backup, wherever they are kept."""
IN_STORE = (
    "Not in it: the weather in {url}, which the first night after a restore fetches again where it "
    "is lost. Keep versions there, or copy head.json of each source first and the rest within the "
    "hour."
)


@contextmanager
def lying_elsewhere(settings: Settings, *, weather: bool) -> Generator[dict[str, Path]]:
    """Give the folders of a backup that lie outside the data folder, at rest.

    Parameters
    ----------
    settings
        With the place of the weather.
    weather
        Whether its arrays are kept: nobody writes them meanwhile.

    Yields
    ------
    dict of Path
        By the folder's name in the backup.
    """
    from rootbound_service.weather.drawer import drawer_in
    from rootbound_service.weather.forecast.shelf import ISSUES
    from rootbound_service.weather.forecast.shelf_copy import copy_out
    from rootbound_service.weather.where import weather_place
    from rootbound_service.weather.write_lock import write_lock

    place = weather_place(settings)
    with ExitStack() as held:
        if isinstance(place, Path):
            for store in sorted((place / "weather").glob("*.zarr")) if weather else ():
                held.enter_context(write_lock(store.with_suffix(".lock")))
            yield {name: place / name for name in ("weather", "forecasts")}
            return
        work = Path(held.enter_context(tempfile.TemporaryDirectory(prefix="rootbound-")))
        copy_out(drawer_in(place, f"forecasts/{ISSUES}"), work / "forecasts" / ISSUES)
        yield {name: work / name for name in ("weather", "forecasts")}


def said_of_weather(settings: Settings, words: str, *, weather: bool) -> tuple[str, ...]:
    """Say what a backup lacks of the weather.

    Parameters
    ----------
    settings
        With the place of the weather.
    words
        Of a backup without weather, where a folder keeps it.
    weather
        Whether it was asked for.
    """
    from rootbound_service.weather.where import weather_place

    place = weather_place(settings)
    if not isinstance(place, Path):
        return (IN_STORE.format(url=place.url),)
    return () if weather else (words,)


def weather_back(settings: Settings) -> None:
    """Move arrays that were restored to the data folder where another folder keeps them.

    Parameters
    ----------
    settings
        With the place of the weather.
    """
    from rootbound_service.weather.where import weather_place

    place, came = weather_place(settings), settings.data_dir / "weather"
    if not isinstance(place, Path) or place == settings.data_dir or not came.is_dir():
        return
    (place / "weather").mkdir(parents=True, exist_ok=True)
    for one in sorted(came.iterdir()):
        if not (place / "weather" / one.name).exists():
            shutil.move(one, place / "weather" / one.name)


def forecasts_back(settings: Settings, archive: Archive) -> int:
    """Put the issues of a backup where they are kept, unless that is the data folder.

    What was issued stays true, so that those that are there already are left as they are.

    Parameters
    ----------
    settings
        With the place of the weather.
    archive
        The backup, looked through.

    Returns
    -------
    int
        How many came back.
    """
    from rootbound_service.weather.drawer import drawer_in
    from rootbound_service.weather.forecast.shelf import ISSUES
    from rootbound_service.weather.forecast.shelf_copy import put_back
    from rootbound_service.weather.where import weather_place

    place = weather_place(settings)
    if place == settings.data_dir:
        return 0

    def content(name: str) -> Callable[[], bytes]:
        def read() -> bytes:
            with archive.open(name) as file:
                return file.read()

        return read

    names = [one.name for one in archive.manifest.files if one.name.startswith(ISSUES_IN)]
    files = {name.removeprefix(ISSUES_IN): content(name) for name in names}
    return put_back(drawer_in(place, f"forecasts/{ISSUES}"), files)
