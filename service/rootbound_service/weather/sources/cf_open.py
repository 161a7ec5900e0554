"""Opens netCDF and Zarr lazily; what cannot be opened is told in one sentence."""

from __future__ import annotations

import warnings
from collections.abc import Generator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.public.http import Unavailable

if TYPE_CHECKING:
    import xarray as xr

ZARR_MARKS = ("zarr.json", ".zgroup", ".zmetadata")
CLASSIC_MARKS = (b"CDF\x01", b"CDF\x02")
NETCDF_MARKS = (b"\x89HDF\r\n\x1a\n", *CLASSIC_MARKS, b"CDF\x05")


class Damaged(Unavailable):
    """A file that its library cannot read; one that was fetched is fetched anew."""


def is_zarr(path: Path) -> bool:
    """Tell whether a folder is a Zarr group.

    Parameters
    ----------
    path
        The folder.
    """
    return any((path / mark).is_file() for mark in ZARR_MARKS)


def is_netcdf(path: Path) -> bool:
    """Tell by its first bytes whether a file is netCDF, whatever its name.

    Parameters
    ----------
    path
        The file.
    """
    with path.open("rb") as file:
        return file.read(8).startswith(NETCDF_MARKS)


@contextmanager
def open_dataset(path: Path, who: str) -> Generator[xr.Dataset]:
    """Open a file or a Zarr group; nothing but the axes is read yet.

    Parameters
    ----------
    path
        Of the file or folder.
    who
        The source and the file, for the error's sentence.

    Yields
    ------
    xarray.Dataset
        Packing and fill are undone as values are read; times are left as numbers.

    Raises
    ------
    Damaged
        If it is neither netCDF nor Zarr, or cannot be read.
    RefusedInput
        If a library is missing.
    """
    _need_libraries()
    try:
        zarr = _is_zarr_else_netcdf(path, who)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a file's odd attributes are no news
            dataset = _open(path, zarr=zarr)
    except ServiceError:
        raise
    except Exception as error:  # a damaged file makes the libraries stumble in any way
        raise Damaged(who, _damaged(error), retry_later=False) from error
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield dataset
    except ServiceError:
        raise
    except Exception as error:  # the same, as values are read
        raise Damaged(who, _damaged(error), retry_later=False) from error
    finally:
        dataset.close()


def _is_zarr_else_netcdf(path: Path, who: str) -> bool:
    """Tell the two forms apart, and refuse what is neither."""
    zarr = path.is_dir() and is_zarr(path)
    if not zarr and not is_netcdf(path):
        raise Damaged(who, "is neither netCDF nor Zarr", retry_later=False)
    return zarr


def _open(path: Path, *, zarr: bool) -> xr.Dataset:
    """Open with the engine named: what is installed besides never decides."""
    import xarray as xr

    if zarr:
        return xr.open_dataset(
            path, engine="zarr", decode_times=False, cache=False, chunks=None, consolidated=False
        )
    # The C library can crash on a damaged file of the classic form; scipy's reader refuses it.
    engine: Literal["scipy", "netcdf4"] = "scipy" if _is_classic(path) else "netcdf4"
    return xr.open_dataset(path, engine=engine, decode_times=False, cache=False)


def _is_classic(path: Path) -> bool:
    """Tell whether a file is netCDF 3, with offsets of 32 or 64 bits."""
    with path.open("rb") as file:
        return file.read(4) in CLASSIC_MARKS


def _need_libraries() -> None:
    """Refuse in words where the optional libraries are not installed."""
    for name in ("xarray", "netCDF4"):
        if find_spec(name) is None:
            what = f"{name} is not installed"
            wanted = "install the extra 'grids': pip install 'rootbound[grids]'"
            raise RefusedInput((Problem("grids in netCDF or Zarr", what, wanted),))


def _damaged(error: Exception) -> str:
    """Say what the library said, in one line."""
    said = str(error).splitlines()
    return f"cannot be read ({type(error).__name__}{': ' + said[0] if said else ''})"
