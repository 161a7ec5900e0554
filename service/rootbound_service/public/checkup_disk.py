"""Whether a folder is a good place for what the service keeps: room, rights, kind of disk."""

from __future__ import annotations

from dataclasses import dataclass

from rootbound_service.public.finding import Finding

NETWORK = frozenset(
    {
        *("9p", "afs", "beegfs", "ceph", "cifs", "davfs", "gfs2", "glusterfs", "lustre", "ncpfs"),
        *("nfs", "nfs4", "ocfs2", "smb2", "smb3", "smbfs", "virtiofs"),
        *("fuse.ceph", "fuse.davfs2", "fuse.gcsfuse", "fuse.glusterfs", "fuse.rclone"),
        *("fuse.s3fs", "fuse.sshfs"),
    }
)
"""Names by which Linux mounts what other machines may write to as well."""
PASSING = {"tmpfs": "memory", "ramfs": "memory", "overlay": "a container's own layer"}
"""What is gone when the machine, or its container, starts anew."""
GB = 1_000_000_000
LEAST_FREE = GB
"""Less than this is used up by one pull of past years. Our choice. [bytes]"""
ESCAPES = (("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\"))
"""How /proc/mounts writes what would end a word, by fstab(5)."""


@dataclass(frozen=True, slots=True)
class Folder:
    """What the machine says of a folder."""

    path: str
    kind: str = ""
    """Of its file system, as Linux calls it; empty where the machine does not tell."""
    free: int = 0
    """Room that is left for us. [bytes]"""
    writable: bool = True


def kind_of(path: str, mounts: str) -> str:
    """Tell which kind of file system a path lies on.

    Parameters
    ----------
    path
        Absolute, without links.
    mounts
        What /proc/mounts holds.

    Returns
    -------
    str
        Its type; empty where no line fits.
    """
    best, kind = "", ""
    for line in mounts.splitlines():
        words = line.split(" ")
        if len(words) < 3:  # noqa: PLR2004 - device, place, type
            continue
        place = words[1]
        for written, meant in ESCAPES:
            place = place.replace(written, meant)
        inside = path == place or path.startswith(place.rstrip("/") + "/")
        if inside and len(place) >= len(best):  # of two at one place the later lies on top
            best, kind = place, words[2]
    return kind


def check_kind(folder: Folder, *, sqlite: bool) -> Finding:
    """Look whether the disk is one that locks hold on.

    Parameters
    ----------
    folder
        Where the database lies, or the data where that is elsewhere.
    sqlite
        Whether an SQLite database lies there.
    """
    what = "kind of disk"
    if folder.kind in NETWORK and sqlite:
        return Finding(
            what,
            well=False,
            said=f"{folder.path} lies on a disk of the network ({folder.kind})",
            why="SQLite's locks and its log hold on one machine only; there it can lose notes",
            mend="give ROOTBOUND_DATA_DIR a disk of this machine, or use PostgreSQL",
        )
    if folder.kind in PASSING:
        return Finding(
            what,
            well=False,
            said=f"{folder.path} lies in {PASSING[folder.kind]} ({folder.kind})",
            why="when that starts anew, fields, digs and notes are gone",
            mend="give ROOTBOUND_DATA_DIR a disk, or a container's volume, that keeps them",
        )
    return Finding(what, well=True, said=folder.kind or "not told by this machine")


def check_room(folder: Folder, database: int) -> Finding:
    """Look whether there is room to go on.

    Parameters
    ----------
    folder
        Where the data or the database lies.
    database
        Size of the database that lies there; 0: none does. [bytes]
    """
    need = max(LEAST_FREE, 2 * database)
    said = f"{_size(folder.free)} free in {folder.path}"
    if folder.free >= need:
        return Finding("room", well=True, said=said)
    why = "a full disk stops nights and notes"
    if need > LEAST_FREE:
        why += f"; the database has {_size(database)}, and a copy or a migration needs as much"
    mend = f"make room until {_size(need)} are free, or move the folder to a larger disk"
    return Finding("room", well=False, said=said, mend=mend, why=why)


def check_writable(folder: Folder) -> Finding:
    """Look whether we may write where we must.

    Parameters
    ----------
    folder
        The data folder, or the database's.
    """
    if folder.writable:
        return Finding("rights", well=True, said=f"{folder.path} can be written to")
    return Finding(
        "rights",
        well=False,
        said=f"{folder.path} cannot be written to by this user",
        why="neither weather nor notes can be kept",
        mend="give it to the user the service runs under, here called NAME",
        run=f"sudo chown -R NAME '{folder.path}'",
    )


def _size(size: int) -> str:
    """Say a size in the unit that disks are sold by."""
    if size < GB // 10:
        return f"{size / 1_000_000:.0f} MB"
    return f"{size / GB:.1f} GB"
