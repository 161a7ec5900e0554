"""Daily weather from CF files, netCDF or Zarr, fetched or on disk, as a preset describes them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.public.http import Unavailable
from rootbound_service.weather.cells import Grid
from rootbound_service.weather.day import Ask, Block, Habits
from rootbound_service.weather.sources.cf_axes import grid_of
from rootbound_service.weather.sources.cf_files import Folder, Need, filled, periods
from rootbound_service.weather.sources.cf_names import with_names
from rootbound_service.weather.sources.cf_open import Damaged, open_dataset
from rootbound_service.weather.sources.cf_presets import SHIPPED, read_preset, shipped_preset
from rootbound_service.weather.sources.cf_remote import Fetched
from rootbound_service.weather.sources.cf_take import Taking

if TYPE_CHECKING:
    from rootbound_service.weather.sources.cf_files import Found, Shelf
    from rootbound_service.weather.sources.cf_preset import Files, Preset
    from rootbound_service.weather.sources.cf_remote import Downloads

MOST_VALUES = 16_000_000
"""Of one answer in memory: 128 MB."""


def open_preset(path: Path, caller: Downloads, folder: Path) -> CfSource:
    """Open the grid that a preset describes.

    Parameters
    ----------
    path
        The preset; the bare name of a shipped one means that, where there is no such file.
    caller
        Fetches files that are not on our disk.
    folder
        Where fetched files are kept, each grid's in a folder of its own.

    Raises
    ------
    RefusedInput
        If the preset is wrong, or names no file.
    Unavailable
        If the grid is to be read from a file that is not as described.
    """
    shipped = path.stem in SHIPPED and not path.exists()
    preset = shipped_preset(path.stem) if shipped else read_preset(path)
    return CfSource(preset, caller, folder / preset.name)


class CfSource:
    """A grid of daily weather in CF files.

    Parameters
    ----------
    preset
        What the files are.
    caller
        Fetches files that are not on our disk.
    cache
        Folder for fetched files.

    Raises
    ------
    RefusedInput
        If files must be fetched and ``caller`` or ``cache`` is missing, or the grid is to be
        read from files and there is none.
    Unavailable
        If the grid is to be read from a file that is not as described.
    """

    def __init__(
        self, preset: Preset, caller: Downloads | None = None, cache: Path | None = None
    ) -> None:
        self._preset = preset
        self._folder = Folder(preset.folder)
        self._fetched = Fetched(caller, cache) if caller is not None and cache else None
        if self._fetched is None and any(entry.remote for entry in preset.files):
            where, what = f"{preset.name} files", "files are to be fetched and have nowhere to go"
            raise RefusedInput((Problem(where, what, "give a caller and a cache folder"),))
        self._grid = self._written_grid() or self._first_grid()

    @property
    def name(self) -> str:
        """Short name, as in keys of cells and in settings."""
        return self._preset.name

    @property
    def title(self) -> str:
        """Name for people."""
        return self._preset.title

    @property
    def grid(self) -> Grid:
        """Its cells."""
        return self._grid

    @property
    def quantities(self) -> tuple[str, ...]:
        """Which of our quantities it can give."""
        return self._preset.quantities

    @property
    def earliest(self) -> date:
        """The first day it has."""
        return self._preset.earliest

    @property
    def habits(self) -> Habits:
        """Its lag and its revisions."""
        row = self._preset.habits
        return Habits(row.lag, row.recent, row.settled)

    def split(self, ask: Ask) -> Iterator[Ask]:
        """Cut by file, and further where an answer would not fit in memory.

        Parameters
        ----------
        ask
            What is wanted.

        Yields
        ------
        Ask
            All cells each, as one file serves them all.
        """
        shift = timedelta(days=self._preset.label_shift_days)
        most = max(1, MOST_VALUES // (len(self.quantities) * max(1, len(ask.cells))))
        parts = self._preset.files[0].parts
        for first, last in periods(parts, ask.start - shift, ask.end - shift):
            day, end = first + shift, last + shift
            while day <= end:
                until = day + timedelta(days=min(most - 1, (end - day).days))
                yield replace(ask, start=day, end=until)
                day = until + timedelta(days=1)

    def fetch(self, ask: Ask) -> Block:
        """Read every quantity of some days for all cells.

        Parameters
        ----------
        ask
            Cells and days.

        Returns
        -------
        Block
            In our names and units; a day without a file's step, and a cell outside the files,
            is NaN.

        Raises
        ------
        Unavailable
            If there is no file yet, or one is not as described.
        """
        taking = Taking(self._preset, ask, (self._grid.lat_step, self._grid.lon_step))
        for number, entry in enumerate(self._preset.files):
            taking.next_kind(entry)
            for start, where, quantities in self._wanted(entry, taking):
                found = self._find(entry, where, start, ask)
                for file in found:
                    self._take(taking, entry, where, file, quantities)
                if found:
                    self._replaced(number, start)
        young = (ask.asked_on - ask.start).days <= self.habits.lag
        if not taking.origins and not young:  # of the youngest days a file is not expected yet
            what = f"has no file yet for {ask.start} to {ask.end}"
            raise Unavailable(self.title, what, retry_later=True)
        return self._block(ask, taking)

    def _take(
        self, taking: Taking, entry: Files, where: str, file: Found, quantities: list[str]
    ) -> None:
        """Read one file; a fetched one that is damaged is dropped, so that it comes anew."""
        try:
            taking.take(file, quantities)
        except Damaged as error:
            if entry.remote and self._fetched is not None:
                self._fetched.forget(where)
                raise Unavailable(error.who, error.what, retry_later=True) from error
            raise

    def _block(self, ask: Ask, taking: Taking) -> Block:
        """Put together what was taken."""
        said = hashlib.sha256(taking.values.tobytes())
        said.update(taking.status.tobytes())
        return Block(
            source=self.name,
            cells=ask.cells,
            start=ask.start,
            quantities=self.quantities,
            values=taking.values,
            status=taking.status,
            issued=taking.issued,
            origins=tuple(taking.origins),
            fingerprint=said.hexdigest(),
            suffix="nc",
        )

    def _wanted(self, entry: Files, taking: Taking) -> list[tuple[date, str, list[str]]]:
        """List the files to look up, each with its first day and the quantities it serves."""
        found: dict[str, tuple[date, list[str]]] = {}
        for quantity in self.quantities:
            file = self._preset.variables[quantity].file
            for start in taking.missing(quantity, entry.parts):
                where = filled(entry, start, file)
                known = found.setdefault(where, (start, []))
                if quantity not in known[1]:
                    known[1].append(quantity)
        return [(start, where, names) for where, (start, names) in found.items()]

    def _find(self, entry: Files, where: str, start: date, ask: Ask) -> list[Found]:
        """Look a file up, on disk or at the service."""
        age = (ask.asked_on - start).days
        settled = entry.status == "final" and age > self._preset.habits.settled
        shelf: Shelf = self._folder
        if entry.remote and self._fetched is not None:
            shelf = self._fetched
        who = f"{self.title}, {where.rpartition('/')[2]}"
        return shelf.find(Need(where, start, ask.asked_on, settled, who))

    def _replaced(self, number: int, start: date) -> None:
        """Drop fetched files of later kinds that a found one replaces."""
        for entry in self._preset.files[number + 1 :]:
            if entry.remote and self._fetched is not None and self._preset.files[number].remote:
                names = {self._preset.variables[quantity].file for quantity in self.quantities}
                for file in names:
                    self._fetched.forget(filled(entry, start, file))

    def _written_grid(self) -> Grid | None:
        """Grid of the preset."""
        shape = self._preset.grid
        if shape is None:
            return None
        wraps = abs(shape.columns * shape.lon_step - 360.0) < shape.lon_step / 2
        return Grid(self.name, **shape.model_dump(), wraps=wraps)

    def _first_grid(self) -> Grid:
        """Grid of the first file there is."""
        for entry in self._preset.files:
            file = next(iter(self._preset.variables.values())).file or ""
            anything = dict.fromkeys(("year", "month", "day"), "*")
            where = entry.where.format(**anything, file=file)
            who = f"{self.title}, {where}"
            need = Need(where, self.earliest, self.earliest, settled=False, who=who)
            for found in self._folder.find(need)[:1]:
                who = f"{self.title}, {found.name}"
                with open_dataset(found.path, who) as dataset:
                    axes = with_names(dataset, self._preset.axes, who)
                    return grid_of(dataset, axes, self.name, who)
        where = f"{self.name} files"
        what = f"{self._preset.files[0].where} names no file"
        raise RefusedInput((Problem(where, what, "name one that is there, or write [grid]"),))
