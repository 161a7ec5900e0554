"""Two seconds of spoilt uploads; ``fuzz_uploads.py`` goes on for as long as it is asked."""

from __future__ import annotations

from random import Random

import pytest

from faults.fuzz_uploads import Tally, as_photo, as_shapes, call, fuzz, spoil
from rootbound_service.errors import RefusedInput


def test_spoilt_uploads_are_refused_in_words_and_never_break_anything() -> None:
    tally = fuzz(7, 2.0, heavy=False)
    assert tally.faults == []
    assert tally.ends["read"] > 14
    assert tally.ends["refused"] > 50


def test_the_same_seed_spoils_in_the_same_way() -> None:
    one, other = (spoil(Random(3), b"abcdef" * 50, b"xyz" * 40) for _ in range(2))
    assert one == other != b"abcdef" * 50


def test_an_error_that_is_no_refusal_is_a_fault() -> None:
    def breaks(_data: bytes) -> None:
        raise KeyError("oops")

    assert "KeyError" in call(Tally(), "x", b"", breaks)


@pytest.mark.parametrize("run", [as_photo, as_shapes])
def test_nothing_at_all_is_refused(run) -> None:
    with pytest.raises(RefusedInput):
        run(b"")
