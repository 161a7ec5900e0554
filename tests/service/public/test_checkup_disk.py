"""The place for the data: kind of disk, room and rights, each right and wrong."""

from __future__ import annotations

import pytest

from rootbound_service.public.checkup_disk import (
    GB,
    Folder,
    check_kind,
    check_room,
    check_writable,
    kind_of,
)

MOUNTS = r"""/dev/sda1 / ext4 rw,relatime 0 0
proc /proc proc rw 0 0
barn:/export /srv nfs4 rw,vers=4.2 0 0
/dev/sdb1 /srv/own xfs rw 0 0
//barn/share /mnt/two\040words cifs rw 0 0
tmpfs /run tmpfs rw 0 0
keeper@barn: /mnt/far fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/var/lib/rootbound", "ext4"),
        ("/srv/rootbound", "nfs4"),
        ("/srv/own/rootbound", "xfs"),
        ("/srvother", "ext4"),
        ("/srv", "nfs4"),
        ("/mnt/two words/here", "cifs"),
        ("/mnt/far/data", "fuse.sshfs"),
        ("/", "ext4"),
    ],
)
def test_the_kind_is_that_of_the_mount_nearest_above_the_path(path, kind):
    assert kind_of(path, MOUNTS) == kind


def test_of_two_mounts_at_one_place_the_later_counts():
    assert kind_of("/srv/x", MOUNTS + "/dev/sdc1 /srv btrfs rw 0 0\n") == "btrfs"


def test_a_machine_that_tells_no_mounts_is_not_called_ill():
    assert kind_of("/srv", "") == ""
    assert check_kind(Folder("/srv"), sqlite=True).well


@pytest.mark.parametrize(
    "kind",
    ["nfs", "nfs4", "cifs", "smb3", "fuse.sshfs", "9p", "ceph", "glusterfs", "fuse.glusterfs"],
)
def test_sqlite_on_a_disk_of_the_network_is_bad_and_postgresql_is_named(kind):
    found = check_kind(Folder("/srv", kind), sqlite=True)

    assert not found.well
    assert kind in found.said
    assert "one machine only" in found.why
    assert "PostgreSQL" in found.mend + found.run


def test_weather_alone_may_lie_on_a_disk_of_the_network():
    assert check_kind(Folder("/srv", "nfs4"), sqlite=False).well


@pytest.mark.parametrize("kind", ["ext4", "xfs", "btrfs", "zfs"])
def test_a_disk_of_this_machine_is_well(kind):
    assert check_kind(Folder("/srv", kind), sqlite=True).well


@pytest.mark.parametrize("sqlite", [True, False])
@pytest.mark.parametrize(
    ("kind", "said"), [("tmpfs", "in memory"), ("overlay", "in a container's own layer")]
)
def test_a_folder_that_goes_with_the_next_start_is_bad_whatever_lies_there(kind, said, sqlite):
    found = check_kind(Folder("/run/rootbound", kind), sqlite=sqlite)

    assert not found.well
    assert said in found.said
    assert "volume" in found.mend + found.run


@pytest.mark.parametrize(
    ("free", "database", "well"),
    [
        (GB, 0, True),
        (GB - 1, 0, False),
        (GB, GB // 2, True),
        (4 * GB, 2 * GB, True),
        (4 * GB - 1, 2 * GB, False),
    ],
)
def test_there_must_be_a_gigabyte_and_twice_the_database(free, database, well):
    assert check_room(Folder("/srv", free=free), database).well is well


def test_too_little_room_is_told_in_figures_with_how_much_is_wanted():
    found = check_room(Folder("/srv", free=3 * GB), 2 * GB)

    assert found.said == "3.0 GB free in /srv"
    assert "the database has 2.0 GB" in found.why
    assert "until 4.0 GB are free" in found.mend + found.run
    assert check_room(Folder("/srv", free=GB // 50), 0).said.startswith("20 MB free")


def test_a_folder_that_cannot_be_written_to_is_bad():
    assert check_writable(Folder("/srv")).well
    found = check_writable(Folder("/srv", writable=False))

    assert not found.well
    assert "chown -R NAME '/srv'" in found.mend + found.run
