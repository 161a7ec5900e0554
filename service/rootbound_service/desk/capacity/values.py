"""What the model says as plain values, for JSON: seconds, GB and counts, nothing rounded."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from rootbound_service.desk.capacity.limits import resources

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.desk.capacity.night import Sized
    from rootbound_service.desk.capacity.played import Played
    from rootbound_service.desk.capacity.steps import Step


def as_values(one: Sized, found: Sequence[Step], last: Sized) -> dict[str, Any]:
    """Give a size and its steps.

    Parameters
    ----------
    one
        What the model says of the question.
    found
        What breaks first, and what then serves.
    last
        What the model says after the steps.
    """
    return {
        "asked": asdict(one.asked),
        "cells": one.lying.cells,
        "pulls": {
            name: [asdict(pull) for pull in pulls]
            for name, pulls in (
                ("usual", one.pulls.usual), ("first_of_month", one.pulls.first),
                ("past_years", one.pulls.past),
            )
        },
        "compute_core_s": one.compute_core_s,
        "chunks": one.chunks,
        "rows": one.rows,
        "rows_s": one.rows_s,
        "partitions_a_season": one.partitions,
        "core_hours_a_season": one.core_hours_a_season,
        "told": {"usual": asdict(one.usual), "bad_spell": asdict(one.drought)},
        "stored_gb": asdict(one.stored),
        "web_per_s": one.web_per_s,
        "resources": [{**asdict(item), "used": item.used} for item in resources(one)],
        "steps": [
            {
                "name": step.name,
                "used": step.used,
                "serves": step.mend.words,
                "helps": step.mend.asked is not None,
                "built": step.mend.built,
            }
            for step in found
        ],
        "machines_then": asdict(last.asked.machines),
    }  # fmt: skip


def night_values(one: Played) -> dict[str, Any]:
    """Give a simulated night, lines in things.

    Parameters
    ----------
    one
        The night.
    """
    return {
        "night": one.night,
        "pulled_s": one.pulled_s,
        "stored_s": one.stored_s,
        "written_s": one.written_s,
        "out_s": one.out_s,
        "letters": one.letters,
        "texts": one.texts,
        "longest_part": one.narrowest,
        "stations": {
            name: {
                "arrived": seen.arrived,
                "lost": seen.lost,
                "busy_s": seen.busy_s,
                "longest_line": one.longest(name),
                "line": [
                    (moment, round(many * one.each.get(name, 1.0))) for moment, many in seen.line
                ],
            }
            for name, seen in one.stations.items()
        },
    }
