"""Private files: who may read them, and whose they are."""

from __future__ import annotations

import pytest

from rootbound_service.public.checkup_secrets import Kept, check_owner, check_secret_files

ME, OTHER, ROOT = 1000, 1001, 0
OPEN = (0o755, 0o755)


def a_file(mode=0o600, owner=ME, above=OPEN):
    return Kept("/srv/secret.key", "the secret", mode, owner, above)


@pytest.mark.parametrize("mode", [0o600, 0o400, 0o640, 0o660])
def test_files_that_others_cannot_read_are_told_in_one_line(mode):
    (found,) = check_secret_files([a_file(mode), a_file(mode)], ME)

    assert found.well
    assert found.said.startswith("2 looked at")


@pytest.mark.parametrize("mode", [0o644, 0o604, 0o602, 0o666])
def test_a_file_open_to_others_is_bad_and_one_command_closes_it(mode):
    (found,) = check_secret_files([a_file(), a_file(mode)], ME)

    assert not found.well
    assert found.run == "chmod o-rwx '/srv/secret.key'"
    assert found.why == "it holds the secret"


def test_a_closed_folder_above_keeps_an_open_file():
    (found,) = check_secret_files([a_file(0o644, above=(0o755, 0o700, 0o755))], ME)

    assert found.well


def test_a_file_of_another_user_is_bad_but_one_of_root_is_not():
    (found,) = check_secret_files([a_file(owner=OTHER)], ME)

    assert not found.well
    assert "another user" in found.said
    assert check_secret_files([a_file(owner=ROOT)], ME)[0].well
    assert check_secret_files([a_file(owner=OTHER)], ROOT)[0].well


def test_without_files_nothing_is_said():
    assert check_secret_files([], ME) == []


@pytest.mark.parametrize(
    ("owner", "me", "bad"), [(ME, ROOT, 1), (ROOT, ROOT, 0), (ME, ME, 0), (OTHER, ME, 0)]
)
def test_root_in_the_folder_of_another_user_is_told_to_go_by_their_name(owner, me, bad):
    found = check_owner(owner, me, "/srv")

    assert len(found) == bad
    assert all(f"sudo -u '#{owner}'" in one.run and not one.well for one in found)
