"""Whether files that hold secrets or people's addresses are for the service's eyes alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.public.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence

OTHERS_READ, OTHERS_WRITE, OTHERS_PASS = 0o004, 0o002, 0o001
ROOT = 0
WHAT = "private files"


@dataclass(frozen=True, slots=True)
class Kept:
    """What the machine says of a file that is not for everybody."""

    path: str
    holds: str
    """What stands in it, in few words."""
    mode: int
    """Its rights, as chmod takes them."""
    owner: int
    """Number of the user who owns it."""
    above: tuple[int, ...] = ()
    """Rights of the folders that it lies in, in any order."""

    @property
    def within_reach(self) -> bool:
        """Whether other users of the machine can come to it at all."""
        return all(mode & OTHERS_PASS for mode in self.above)


def check_secret_files(files: Sequence[Kept], me: int) -> list[Finding]:
    """Look at each file that holds a secret or addresses.

    Parameters
    ----------
    files
        Those that are there.
    me
        Number of the user who asks.

    Returns
    -------
    list of Finding
        One for each that is not well; one in all where every one is.
    """
    bad = [one for file in files for one in _looked_at(file, me)]
    if bad or not files:
        return bad
    said = f"{len(files)} looked at; no other user of this machine can read them"
    return [Finding(WHAT, well=True, said=said)]


def check_owner(owner: int, me: int, path: str) -> list[Finding]:
    """Look whether we are root in a folder of somebody else.

    Parameters
    ----------
    owner
        Number of the user who owns the folder.
    me
        Number of the user who asks.
    path
        The folder.
    """
    if me != ROOT or owner == ROOT:
        return []
    return [
        Finding(
            "user",
            well=False,
            said=f"you are root, and {path} belongs to another user",
            why="what root writes there the service can no longer write to",
            mend="run commands as its owner",
            run=f"sudo -u '#{owner}' rootbound doctor",
        )
    ]


def _looked_at(file: Kept, me: int) -> list[Finding]:
    """What is wrong with one file."""
    why = f"it holds {file.holds}"
    found: list[Finding] = []
    if file.within_reach and file.mode & (OTHERS_READ | OTHERS_WRITE):
        said = f"{file.path} is open to every user of this machine"
        run, mend = f"chmod o-rwx '{file.path}'", "close it to others"
        found.append(Finding(WHAT, well=False, said=said, mend=mend, why=why, run=run))
    if me != ROOT and file.owner not in {me, ROOT}:
        said = f"{file.path} belongs to another user, who can change it"
        run, mend = f"sudo chown {me} '{file.path}'", "take it over"
        found.append(Finding(WHAT, well=False, said=said, mend=mend, why=why, run=run))
    return found
