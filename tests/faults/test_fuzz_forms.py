"""Hostile values in every form, for seconds; the command of `fuzz_forms.py` runs for longer."""

from __future__ import annotations

import time

from browser.app_scene import an_app
from faults.fuzz_forms import Fuzzer

SECONDS = 5


def test_no_value_makes_a_page_fail(tmp_path):
    with an_app(tmp_path) as scene:
        fuzzer = Fuzzer(scene, seed=20_260_708)
        fuzzer.every_form_once(time.monotonic() + SECONDS)

    assert fuzzer.report.faults == []
    assert len(fuzzer.report.forms) > 8  # else nothing was tried
    assert sum(fuzzer.report.answers.values()) > 50
