"""The parts of the report, from its numbers to markup."""

from __future__ import annotations

from html import escape
from typing import Any

from calibration.figures import NAMES, cover_picture, place_picture
from calibration.markup import cover, covers, of, percent, picture, pm, table
from rootbound_rules.risk.ladder import RUNG_NAMES


def tiles(numbers: dict[str, Any]) -> str:
    """The four figures to remember."""
    ahead = numbers["days_ahead"]["all"]["one_night_ties_shared"]
    tight = numbers["chances"]["rung2_or_worse"]
    water = numbers["water"]["water14_held"]["all_nights_ties_shared"]
    off = max(abs(one["said"] - one["seen"]) for one in numbers["chances"].values())
    tiles = (
        (percent(ahead["share"]), f"of 80 % ranges of days ahead held the truth (± {pm(ahead)})"),
        (percent(water["share"]), f"of 80 % ranges of water in reach did (± {pm(water)})"),
        (
            percent(tight["skill"]["climatology"]["skill"]),
            "of the climate's error saved in the chance of tight or worse within two weeks",
        ),
        (
            f"{100 * off:.1f} points",
            "largest gap between mean chance said and share that came true",
        ),
    )
    body = "".join(f"<div class=tile><b>{b}</b><span>{escape(s)}</span></div>" for b, s in tiles)
    return f"<div class=tiles>{body}</div>"


def world(numbers: dict[str, Any]) -> str:
    """What the invented climates are like."""
    rows = [
        (name, one["seasons"], percent(one["held_short"]), percent(one["free_short"]))
        for name, one in numbers["world"].items()
    ]
    return table(("Invented climate", "Seasons", "Held roots ran short", "Free roots did"), rows)


def chances(numbers: dict[str, Any]) -> str:
    """Scores of the chances."""
    rows = []
    for name, label in NAMES.items():
        one = numbers["chances"][name]
        parts = one["parts"]
        rows.append(
            (
                label, one["nights"], percent(one["said"], 1), percent(one["seen"], 1),
                f"{one['brier']:.4f}", f"{parts['reliability']:.4f}",
                f"{parts['resolution']:.4f}", f"{parts['uncertainty']:.4f}",
            )
        )  # fmt: skip
    head = (
        "Chance", "Nights", "Said, mean", "Came true", "Brier score", "= unreliable part",
        "− resolved part", "+ uncertain in the climate",
    )  # fmt: skip
    return table(head, rows)


def skills(numbers: dict[str, Any]) -> str:
    """Error saved against four simpler forecasts."""
    others = ("climatology", "climatology_by_wall", "rung_persists_as_chance", "rung_persists")
    rows = [
        (label, *(of(numbers["chances"][name]["skill"][other]) for other in others))
        for name, label in NAMES.items()
    ]
    head = (
        "Error saved against", "the climate’s usual", "the usual of climate and wall class",
        "last night’s rung, what follows", "last night’s rung stays",
    )  # fmt: skip
    return table(head, rows)


def rungs(numbers: dict[str, Any]) -> str:
    """Chances of the five rungs as one score."""
    one = numbers["rungs"]
    rows = [
        ("chance said", *(percent(x, 1) for x in one["said"])),
        ("came true", *(percent(x, 1) for x in one["seen"])),
    ]
    skill = one["skill"]
    told = (
        f"<p class=quiet>Worst rung of the coming two weeks, all five chances in one ranked "
        f"probability score: {one['ranked_score']:.3f}; saved against the climate "
        f"{percent(skill['climatology'])}, against last night's rung with what usually follows "
        f"{percent(skill['rung_persists_as_chance'])}, against last night's rung as it is "
        f"{percent(skill['rung_persists'])}.</p>"
    )
    return table(("Worst rung of two weeks", *RUNG_NAMES), rows) + told


def ahead(numbers: dict[str, Any]) -> str:
    """Days ahead: pictures, then the table."""
    ahead = numbers["days_ahead"]
    groups = {
        "all fields": ahead["all"],
        "wall classes 1 to 3": ahead["classes_1_to_3"],
        **{f"wall class {k}": one for k, one in ahead["by_wall"].items()},
        "roots were counted": ahead["by_dig"]["counted"],
        "only the wall was felt": ahead["by_dig"]["wall only"],
        "range with an end": ahead["range_with_an_end"],
    }
    cover = [
        (label, one["one_night_ties_shared"]["share"], one["one_night_ties_shared"]["error"])
        for label, one in groups.items()
        if one["one_night_ties_shared"]["share"] is not None
    ]
    shown = {label: one for label, one in groups.items() if "range" not in label}
    chosen = ("all fields", "wall class 1", "wall class 2", "wall class 3")
    places = place_picture(
        {label: shown[label]["places"] for label in chosen},
        {label: shown[label]["all_nights"]["seasons"] for label in chosen},
    )
    told = (
        f"<p class=quiet>“Free roots would not” was given {percent(ahead['free_would_not_said'])}"
        f" on average where a range was stated, and came true in"
        f" {percent(ahead['free_would_not_seen'])}. In"
        f" {percent(ahead['silent_though_short'])} of nights of seasons whose held roots ran short"
        f" nothing was stated, as under half of the members ran short.</p>"
    )
    return (
        picture(cover_picture(cover), "Share of ranges that held the truth")
        + covers(groups)
        + picture(places, "Place of the truth among the members")
        + told
    )


def water(numbers: dict[str, Any]) -> str:
    """Water in reach: table and pictures."""
    groups = {
        f"{twin} roots, {days} days ahead": numbers["water"][f"water{days}_{twin}"]
        for twin in ("held", "free")
        for days in (7, 14, 28)
    }
    chosen = [label for label in groups if "14" in label or "28" in label]
    places = place_picture(
        {label: groups[label]["places"] for label in chosen},
        {label: groups[label]["all_nights"]["seasons"] for label in chosen},
    )
    return covers(groups) + picture(places, "Place of the true water among the members")


def controls(numbers: dict[str, Any]) -> str:
    """The same scores where the world lies."""
    rows = []
    for label, one in numbers["controls"].items():
        stress, ahead = one["chances"]["stress14_held"], one["days_ahead"]["all"]
        rows.append(
            (
                label, one["seasons"], percent(stress["said"], 1), percent(stress["seen"], 1),
                f"{stress['parts']['reliability']:.4f}",
                of(stress["skill"]["climatology"]),
                cover(one["water"]["water14_held"]["all_nights_ties_shared"]),
                cover(ahead["all_nights_ties_shared"]),
            )
        )  # fmt: skip
    head = (
        "World", "Seasons", "Stress in 14 days: said", "Seen", "Unreliable part",
        "Skill: climate", "Water in 14 days, 80 % range held", "Days ahead, 80 % range held",
    )  # fmt: skip
    return table(head, rows)


def reliability_table(numbers: dict[str, Any]) -> str:
    """The numbers behind the first picture, for three chances."""
    parts = []
    for name in ("stress14_held", "onset28_held", "rung3_or_worse"):
        rows = [
            (
                f"{percent(row['low'])} to {percent(row['high'])}", row["cases"], row["seasons"],
                percent(row["said"], 1), percent(row["seen"], 1),
                f"{percent(row['bar_low'])} to {percent(row['bar_high'])}",
            )
            for row in numbers["chances"][name]["reliability"]
        ]  # fmt: skip
        head = (NAMES[name], "Nights", "Seasons", "Said", "Seen", "Chance alone, 9 of 10")
        parts.append(table(head, rows))
    return "".join(parts)
