"""Enrolling one field and recording a dig, by flags and by file."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.store.fields import find_field, list_fields

FLAGS = {
    "--name": "North Forty",
    "--lat": "42.03",
    "--lon": "-93.62",
    "--planted": "2026-05-04",
    "--texture": "silt loam",
    "--grower": "Ada Quill <ada@quill.example>",
}


def words(**changes: str) -> list[str]:
    flags = FLAGS | {f"--{name.replace('_', '-')}": value for name, value in changes.items()}
    return [word for pair in flags.items() for word in pair]


def stored(store):
    with store.connect() as conn:
        return list_fields(conn)


def test_a_field_is_enrolled_by_flags(run, store) -> None:
    result = run("enroll", *words(row_spacing_in="30"), "--irrigated")

    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        "Enrolled North Forty as field 1, maize planted 2026-05-04, America/Chicago: "
        "unrated until its roots are dug.\n"
    )
    (field,) = stored(store)
    assert (field.lon, field.row_spacing_cm, field.irrigated) == (-93.62, 76.2, True)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"lat": "30", "lon": "-40"}, "--lon: lat 30, lon -40 is in the ocean; "),
        (
            {"lat": "-93.62", "lon": "42.03"},
            "--lon: latitude and longitude look swapped: did you mean lat 42.03, lon -93.62?; ",
        ),
        ({"planted": "2027-05-04"}, "--planted: 2027-05-04 is in the future"),
        ({"planted": "2024-05-04"}, "--planted: 2024-05-04 is 801 days back, the season it "),
        ({"row_spacing_cm": "-3"}, "--row-spacing-cm: -3 is negative; row spacing is 18 to 150"),
        ({"texture": "lome"}, '--texture: "lome" is not a known soil texture; did you mean loam?'),
    ],
)
def test_a_wrong_flag_is_refused_by_its_name_and_nothing_is_stored(
    run, store, changes, told
) -> None:
    result = run("enroll", *words(**changes))

    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith(f"rootbound: {told}")
    assert len(result.stderr.splitlines()) == 1
    assert stored(store) == []


def test_a_field_of_the_same_name_is_refused_and_the_first_stays(run, store) -> None:
    run("enroll", *words())

    result = run("enroll", *words(lat="43"))

    assert result.exit_code == 1
    assert result.stderr == (
        "rootbound: field North Forty: Ada Quill has a field of this name, planted 2026-05-04; "
        "give another name, or a planting date in another year\n"
    )
    assert [field.lat for field in stored(store)] == [42.03]


def test_a_field_is_enrolled_from_a_file_with_its_digs(run, store, tmp_path) -> None:
    path = tmp_path / "field.toml"
    path.write_text(
        '[field]\nname = "West"\nlat = 42.03\nlon = -93.62\n[season]\nplanted = 2026-05-04\n'
        '[soil]\ntexture = "loam"\n[people]\ngrower = "Ada Quill <ada@quill.example>"\n'
        "[[dig]]\ndate = 2026-06-10\nwall_class = 1\n"
    )

    result = run("enroll", "--file", path)

    assert result.exit_code == 0
    assert result.stdout.endswith("with 1 dig.\n")
    assert [dig.wall_class for dig in stored(store)[0].digs] == [1]


def test_a_file_and_flags_together_are_a_usage_error(run, store) -> None:
    result = run("enroll", "--file", "field.toml", "--name", "West")

    assert result.exit_code == 2
    assert "--file stands alone: write --name into the file" in result.stderr


def test_a_dig_is_recorded_once_after_the_word_of_care(run, store, enrolled) -> None:
    dig = ["dig", "north forty", "--date", "2026-07-01", "--wall-class", "3", "--plants", "4"]
    more = ["--crossing", "2", "--held", "18", "--pan-class", "1", "--pan-depth-cm", "25"]

    results = [run(*dig, *more, "--moisture", "dry", "--note", "hard") for _ in range(2)]

    for result in results:
        care, told = result.stdout.splitlines()
        assert result.exit_code == 0
        assert "have buried lines located first (in the US call 811)" in care
        assert told == (
            "Recorded the dig of 2026-07-01 in North Forty: wall class 3, 4 plants, "
            "2 roots crossing and 18 held, pan class 1 at 25 cm."
        )
    with store.connect() as conn:
        digs = find_field(conn, "1").digs
    assert [dig.dug_on for dig in digs] == [date(2026, 6, 10), date(2026, 7, 1)]


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (
            ["1", "--date", "2026-05-01", "--wall-class", "2"],
            "--date: 2026-05-01 is before planting (2026-05-04); dig after planting",
        ),
        (
            ["1", "--date", "2026-06-01", "--wall-class", "2", "--moisture", "wett"],
            (
                '--moisture: "wett" is not a known soil moisture; did you mean wet? '
                "known: dry, moist, wet"
            ),
        ),
        (
            ["Noth Forty", "--date", "2026-06-01", "--wall-class", "2"],
            "field: no field is called Noth Forty; did you mean North Forty?",
        ),
    ],
)
def test_a_wrong_dig_is_refused_and_not_stored(run, store, enrolled, args, told) -> None:
    result = run("dig", *args)

    assert (result.exit_code, result.stderr) == (1, f"rootbound: {told}\n")
    assert len(stored(store)[0].digs) == 1


def test_today_is_the_day_at_the_field(run, store, clock, enrolled) -> None:
    clock.set(clock.now().replace(hour=3))  # 22:00 of the day before at the field

    result = run("dig", "1", "--date", "2026-07-14", "--wall-class", "2")

    assert result.stderr.startswith(
        "rootbound: --date: 2026-07-14 is in the future (today is 2026-07-13)"
    )
