"""A digest on paper: one at a time, and never in the way of the pages."""

from __future__ import annotations

import pytest

from rootbound_service.notes import pdf


@pytest.fixture
def paper(scene):
    return scene.path("d", "digest", scene.digest) + ".pdf"


def test_while_one_is_set_another_waits_outside_and_pages_are_still_shown(
    scene, paper, monkeypatch
):
    meanwhile = []

    def slow(_html):
        meanwhile.extend((scene.web.get(paper), scene.web.get(paper.removesuffix(".pdf"))))
        return b"%PDF-"

    monkeypatch.setattr(pdf, "pdf_of", slow)

    assert scene.web.get(paper).status_code == 200
    busy, page = meanwhile
    assert (busy.status_code, busy.headers["retry-after"]) == (503, "30")
    assert page.status_code == 200


@pytest.mark.parametrize("trouble", [pdf.NoPdf("not installed"), None])
def test_the_next_one_is_set_however_the_last_one_ended(scene, paper, monkeypatch, trouble):
    def made(_html):
        if trouble is not None:
            raise trouble
        return b"%PDF-"

    monkeypatch.setattr(pdf, "pdf_of", made)
    wanted = 200 if trouble is None else 501

    assert [scene.web.get(paper).status_code for _ in range(2)] == [wanted, wanted]
