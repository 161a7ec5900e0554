"""Values of a soil entered one by one: what is taken, and what is said of what is not."""

from __future__ import annotations

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.soils import cleared_soil, entered_soil


def test_values_are_read_by_name_in_any_spelling() -> None:
    given = entered_soil(["clay_pct=28", " Texture = Silt-Loam ", "profile-depth-m=1.2"])

    assert given == {"clay_pct": 28.0, "texture": "silt loam", "profile_depth_m": 1.2}


def test_nothing_given_is_nothing() -> None:
    assert entered_soil([]) == {}
    assert cleared_soil([]) == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("clay_pct=94", "--set clay_pct: 94 is above what it can be; clay is 0 to 60 %"),
        (
            "clay_pct=-3",
            "--set clay_pct: -3 is negative; clay is 0 to 60 %, never negative",
        ),
        (
            "clay_pct=2,5",
            '--set clay_pct: "2,5" has a decimal comma; write 2.5 with a point',
        ),
        ("clay_pct=loam", '--set clay_pct: "loam" is not a number; clay is 0 to 60 %'),
        (
            "field_capacity=31",
            (
                "--set field_capacity: 31 is above what it can be; "
                "water content is 0.02 to 0.6 (share of the soil's volume)"
            ),
        ),
        ("clay=28", "--set clay: is not a known name; did you mean clay_pct?"),
        ("clay_pct", '--set: "clay_pct" sets nothing; write name=value, for example clay_pct=28'),
        ("clay_pct=", '--set: "clay_pct=" sets nothing; write name=value'),
    ],
)
def test_what_is_wrong_is_said_with_what_would_be_right(text: str, said: str) -> None:
    with pytest.raises(RefusedInput) as refused:
        entered_soil([text])

    (problem,) = refused.value.problems
    assert str(problem).startswith(said)


def test_every_problem_is_named_at_once() -> None:
    with pytest.raises(RefusedInput) as refused:
        entered_soil(["sandy", "clay_pct=1", "clay_pct=2", "organic_matter_pct=80"])

    assert [one.where for one in refused.value.problems] == [
        "--set",
        "--set clay_pct",
        "--set organic_matter_pct",
    ]


def test_only_names_of_ours_are_cleared() -> None:
    assert cleared_soil(["Clay-Pct", "clay_pct", "texture"]) == ("clay_pct", "texture")
    with pytest.raises(RefusedInput, match="--clear claypct: is not a known name; did you mean"):
        cleared_soil(["claypct"])
