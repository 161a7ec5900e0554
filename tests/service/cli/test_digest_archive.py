"""``rootbound digest --list`` and ``--show``: the letters that were written, as they were."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.store.digests import keep_page, reserve_digest

PAGE = "<!DOCTYPE html><html><body><h1>Week 29</h1></body></html>"


@pytest.fixture
def kept(store, clock, enrolled):
    """Two letters of the grower and one of the adviser."""
    from rootbound_service.store.people import find_person

    with store.begin() as conn:
        for name, week in (("Ada Quill", 28), ("Ada Quill", 29), ("Ben Marsh", 29)):
            person = find_person(conn, name)
            number = reserve_digest(
                conn, person.id, f"2026-W{week}", date(2026, 7, 13), clock.now()
            )
            keep_page(conn, number, PAGE.replace("29", str(week)))


def test_the_archive_is_listed_and_nothing_is_written(run, fake, kept):
    result = run("digest", "--list")

    assert [line.split() for line in result.stdout.splitlines()[2:]] == [
        ["#2", "2026-W29", "2026-07-13", "Ada", "Quill"],
        ["#3", "2026-W29", "2026-07-13", "Ben", "Marsh"],
        ["#1", "2026-W28", "2026-07-13", "Ada", "Quill"],
    ]
    assert fake.asked == []
    assert "Ada" not in run("digest", "--list", "--person", "ben@marsh.example").stdout
    assert len(run("digest", "--list", "--week", "2026-W28").stdout.splitlines()) == 3


def test_an_empty_archive_says_so(run):
    assert run("digest", "--list").stdout == "No digest is kept yet.\n"


def test_the_latest_letter_of_a_reader_is_saved_as_it_was(run, fake, kept, tmp_path):
    path = tmp_path / "week.html"
    result = run("digest", "--show", path, "--person", "Ada Quill")

    assert path.read_text(encoding="utf-8") == PAGE
    assert result.stdout == f"Digest #2, 2026-W29, night of 2026-07-13, is in {path}.\n"
    assert fake.asked == []

    run("digest", "--show", path, "--person", "Ada Quill", "--week", "2026-W28")
    assert "Week 28" in path.read_text(encoding="utf-8")


def test_a_letter_is_saved_for_paper(run, kept, tmp_path):
    pytest.importorskip("weasyprint")
    path = tmp_path / "week.pdf"

    assert run("digest", "--show", path, "--person", "Ben Marsh").exit_code == 0
    assert path.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--show", "{}/week.txt"], "--show: week.txt is no page; give a name that ends in .html"),
        (["--show", "{}/week.html"], "--person: 2 people have digests; say whose: --person NAME"),
        (["--show", "{}/a.html", "--person", "Ada", "--week", "2026-W28"], "nobody is called Ada"),
        (
            ["--show", "{}/a.html", "--person", "Ben Marsh", "--week", "2026-W28"],
            "digest: no such digest is kept; write it first with rootbound digest",
        ),
        (
            ["--show", "{}/none/a.html", "--person", "Ben Marsh"],
            "cannot be written (No such file or directory); name a file in a folder that takes it",
        ),
        (["--person", "Ben Marsh"], "--person: one letter alone for Ben Marsh; leave it out"),
    ],
)
def test_what_cannot_be_shown_is_refused_and_nothing_is_left(
    run, fake, kept, tmp_path, words, told
):
    result = run("digest", *(word.format(tmp_path) for word in words))

    assert result.exit_code == 1
    assert told in " ".join(result.stderr.split())
    assert fake.asked == []
    assert not list(tmp_path.glob("*.html"))
