"""The page for agronomists lists every choice of ours as the tables have it today."""

from __future__ import annotations

from house.choices import PAGE, with_table


def test_the_page_lists_every_choice_with_its_range():
    page = PAGE.read_text(encoding="utf-8")

    assert with_table(page) == page
