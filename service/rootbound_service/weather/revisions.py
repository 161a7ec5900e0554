"""What sources changed after the fact: a log beside the store that is only ever added to."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.errors import ServiceError
from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES
from rootbound_service.weather.drawer import FolderDrawer
from rootbound_service.weather.grid_layout import EPOCH

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.drawer import Drawer

FILE = re.compile(r"[0-9]{8}-[0-9]{8}\.npz")
ROW = np.dtype(
    [
        ("cell", "u4"),  # place in the file's own list of keys
        ("quantity", "u1"),
        ("day", "i4"),  # days since 1981-01-01, as the other days
        ("old_value", "f4"),
        ("old_issued", "i4"),
        ("old_status", "u1"),
        ("old_flag", "u2"),
        ("new_value", "f4"),
        ("new_issued", "i4"),
        ("seen_on", "i4"),
    ]
)
WORDS = {
    "tmax_c": ("highest temperature", "degC"),
    "tmin_c": ("lowest temperature", "degC"),
    "rain_mm": ("rain", "mm"),
    "solar_mj": ("solar radiation", "MJ per m2"),
    "dewpoint_c": ("dew point", "degC"),
    "wind_m_s": ("wind", "m per s"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Revisions:
    """Values that were replaced, one a row, in the order in which it happened."""

    keys: tuple[str, ...] = ()
    """Keys of the cells that occur."""
    rows: NDArray[Any] = field(default_factory=lambda: np.empty(0, ROW))
    """Columns as in :data:`ROW`; ``cell`` counts in ``keys``."""

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def cell(self) -> NDArray[np.str_]:
        """Key of the cell of every row."""
        return np.asarray(np.array(self.keys, dtype=np.str_)[self.rows["cell"]])

    @property
    def change(self) -> NDArray[np.float64]:
        """New minus old value of every row, in the quantity's unit."""
        found = self.rows["new_value"].astype(np.float64) - self.rows["old_value"]
        return np.asarray(np.round(found, 4))

    def where(self, mask: NDArray[Any]) -> Revisions:
        """Give some of the rows, by a mask or by their places."""
        return Revisions(self.keys, self.rows[mask])

    def largest(self, quantity: str) -> float:
        """Give the largest change of one quantity, up or down, in its unit; 0 where none.

        Parameters
        ----------
        quantity
            Our name.
        """
        own = self.rows["quantity"] == QUANTITY_NAMES.index(quantity)
        return float(np.abs(self.change[own]).max(initial=0.0))

    def sentences(self, most: int = 5) -> list[str]:
        """Say the revisions that matter most, in plain words.

        Parameters
        ----------
        most
            So many at the most. Each is weighed against its quantity's own rounding.
        """
        rounding = np.array([quantity.rounding for quantity in QUANTITIES])
        weight = np.abs(self.change) / rounding[self.rows["quantity"]]
        return [self._sentence(int(row)) for row in np.argsort(-weight, kind="stable")[:most]]

    def _sentence(self, row: int) -> str:
        """Say one revision."""
        one = self.rows[row]
        words, unit = WORDS[QUANTITY_NAMES[one["quantity"]]]
        day = EPOCH + timedelta(days=int(one["day"]))
        old, new = (_digits(float(one[name])) for name in ("old_value", "new_value"))
        place = self.keys[int(one["cell"])]
        return f"{words} of {day.day} {day:%B %Y} at {place} from {old} to {new} {unit}"


class RevisionLog:
    """Revisions, one file a write that changed something.

    Parameters
    ----------
    place
        The folder, made when first needed, or the drawer.
    """

    def __init__(self, place: Path | Drawer) -> None:
        self._drawer = FolderDrawer(place) if isinstance(place, Path) else place

    def append(self, revisions: Revisions, seen_on: date) -> str | None:
        """Add revisions in one file; whoever writes holds the lock of the store.

        Parameters
        ----------
        revisions
            What changed.
        seen_on
            The day on which we learned of it.

        Returns
        -------
        str or None
            Name of the new file, or None if nothing changed.
        """
        if not len(revisions):
            return None
        number = max((int(name[:8]) for name in self.files()), default=0) + 1
        name = f"{number:08d}-{seen_on:%Y%m%d}.npz"
        content = io.BytesIO()
        np.savez_compressed(content, keys=np.array(revisions.keys, np.str_), rows=revisions.rows)
        self._drawer.put(name, content.getvalue())
        return name

    def of(self, cells: Iterable[Cell | str] | None = None, since: date | None = None) -> Revisions:
        """Read revisions, the oldest first.

        Parameters
        ----------
        cells
            Cells or their keys; None: all.
        since
            Only what was seen on this day or later; None: all.

        Raises
        ------
        ServiceError
            If a file of the log cannot be read.
        """
        wanted = None if cells is None else {c if isinstance(c, str) else c.key for c in cells}
        parts: list[Revisions] = []
        for name in self.files():
            if since is not None and name[9:17] < f"{since:%Y%m%d}":
                continue
            part = _read(name, self._drawer.read(name))
            if wanted is not None:
                ours = np.array([key in wanted for key in part.keys], dtype=np.bool_)
                part = part.where(ours[part.rows["cell"]])
            parts.append(part)
        return joined(parts)

    def spoiled(self, names: Iterable[str]) -> list[str]:
        """Name the files that cannot be read.

        Parameters
        ----------
        names
            Of files of the log.
        """
        found: list[str] = []
        for name in names:
            try:
                _read(name, self._drawer.read(name))
            except ServiceError:
                found.append(name)
        return found

    def files(self) -> list[str]:
        """List the files in the order in which they came."""
        return [name for name in self._drawer.names("") if FILE.fullmatch(name)]


def joined(parts: Sequence[Revisions]) -> Revisions:
    """Put revisions one after the other.

    Parameters
    ----------
    parts
        Each with its own list of keys.
    """
    parts = [part for part in parts if len(part)]
    places = {
        key: place for place, key in enumerate(dict.fromkeys(k for p in parts for k in p.keys))
    }
    all_rows = [np.empty(0, ROW)]
    for part in parts:
        rows = part.rows.copy()
        rows["cell"] = np.array([places[key] for key in part.keys], np.uint32)[rows["cell"]]
        all_rows.append(rows)
    return Revisions(tuple(places), np.concatenate(all_rows))


def _read(name: str, content: bytes | None) -> Revisions:
    """Read one file of the log."""
    try:
        with np.load(io.BytesIO(content or b""), allow_pickle=False) as file:
            rows = np.asarray(file["rows"])
            keys = tuple(str(key) for key in file["keys"])
    except Exception as error:
        what = f"the log of revisions cannot be read ({type(error).__name__})"
        raise ServiceError(f"{name}: {what}; restore it from a copy or remove it") from error
    return Revisions(keys, rows)


def _digits(value: float) -> str:
    """Write a value with one digit, or two where it is small or has them."""
    return f"{value:.1f}" if round(value, 2) == round(value, 1) else f"{value:.2f}"
