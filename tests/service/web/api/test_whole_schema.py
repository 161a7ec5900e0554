"""The API answers as its own schema says, whatever is sent; `whole_schema.py` runs for longer."""

from __future__ import annotations

import warnings

from service.web.api.whole_schema import Report, try_everything


def test_every_answer_is_one_that_the_schema_foretells(scene):
    report = Report()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of libraries that make calls up
        try_everything(scene, report, examples=6, at=20_260_708)

    assert report.faults == []
    kinds = {name.partition(" ")[0] for name in report.answers}
    assert {"200", "201", "404", "422"} <= kinds
    assert sum(report.answers.values()) > 200
