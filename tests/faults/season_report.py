"""Prints what came of a season of faults, and holds its notes against the same without."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from faults.season_of_faults import Season


def total(counters) -> Counter:
    """Add counters up."""
    found: Counter = Counter()
    for one in counters:
        found.update(one)
    return Counter({key: count for key, count in found.items() if count})


def notes_of(season: Season) -> list[tuple[str, str, object]]:
    """Notes as (field, change of rung and its reason, night)."""
    return [
        (season.names[n.season_id], f"{n.from_rung}->{n.to_rung} {n.reason}", n.night)
        for n in season.notes
    ]


def compared(season: Season, plain: Season) -> list[str]:
    """Pair the notes of two seasons by field and change of rung; a sentence for each."""
    left, sentences = notes_of(plain), []
    for name, what, night in notes_of(season):
        same = [one for one in left if one[:2] == (name, what)]
        if not same:
            sentences.append(f"{name}: {what} on {night}: only with faults")
            continue
        near = min(same, key=lambda one: abs((one[2] - night).days))
        left.remove(near)
        sentences.append(f"{name}: {what} on {night}: {(night - near[2]).days:+d} nights")
    return sentences + [f"{name}: {what} on {night}: only without" for name, what, night in left]


def print_season(title: str, season: Season, plain: Season | None = None) -> None:
    """Print the numbers."""
    runs, nights = season.runs, len(season.finished)
    per_day, per_run = season.requests, season.nightly_requests
    print(f"\n== {title} ==")
    print(f"nights {nights}, finished {len(set(season.finished))}; runs {len(runs)}")
    print(f"seconds {season.seconds:.0f}, memory MB after 10 nights and last {season.memory_mb}")
    print(f"requests {sum(per_day)}; a day at most {max(per_day)}, a run at most {max(per_run)}")
    print(f"  by service {dict(season.by_service)}")
    print(f"  by fault {dict(season.faults.most_common())}")
    print(f"answers in hidden wrong units {dict(season.hidden)}")
    print(f"  such values used {dict(total(run.wrong for run in runs))}")
    wrong = [f"{run.night}: {dict(run.wrong)}" for run in runs if run.wrong]
    print(f"  in {len({run.night for run in runs if run.wrong})} nights: {wrong[:8]}")
    strange = [one for run in runs for one in run.strange]
    print(f"values nobody told {len(strange)}: {strange[:5]}")
    print(f"values used (all runs) {dict(total(run.how for run in runs))}")
    print(f"  by an ordered revision {sum(run.revised for run in runs)}")
    print(f"  levelled temperature off the truth at most {max(r.off_c for r in runs):.2f} degC")
    moved = [str(run.night) for run in runs if run.elsewhere]
    print(f"runs with a place moved to the stand-in's cell {len(moved)}: {moved[:5]} {moved[-1:]}")
    unknown = {str(night): count for night, count in season.unknown.items() if count}
    print(f"nights with a field unknown {len(unknown)}: {unknown}")
    print(f"past: days without values by cell {season.holes}")
    print(f"  in hidden wrong units, unflagged {dict(+season.past_wrong)}")
    print(f"{dict(season.flags)}; letters {season.letters}")
    untold = [str(d) for d in season.revisions if not told_of(season, d)]
    print(f"nights with revisions {len(season.revisions)}, of them not told {untold}")
    soil = season.soils["No Soil"]
    print(
        f"soil fetched: {soil.texture}, field capacity {soil.field_capacity}, "
        f"wilting point {soil.wilting_point}, water table {soil.water_table_m}"
    )
    if plain:
        print(f"  the same as without faults: {soil == plain.soils['No Soil']}")
    print(f"notes {len(season.notes)}")
    for line in compared(season, plain) if plain else []:
        print(f"  {line}")


def told_of(season: Season, day: object) -> bool:
    """Whether a night told of revised values."""
    return any("revised" in words for run in season.runs if run.night == day for words in run.told)
