"""Every agronomic number has a source that is described, or says that it is ours."""

from __future__ import annotations

import tomllib
from typing import Any

from house.rows import keys_in_code, keys_in_tables, source_problems, table_problems
from house.tree import ROOT, python_files

DATA = ROOT / "rules" / "rootbound_rules" / "data"
BOOK = {"fao56": {"title": "Crop evapotranspiration"}}


def documents() -> dict[str, dict[str, Any]]:
    """The tables of the rules by name, without the list of sources."""
    return {
        path.stem: tomllib.loads(path.read_text("utf-8"))
        for path in sorted(DATA.glob("*.toml"))
        if path.stem != "sources"
    }


def sources() -> dict[str, Any]:
    return tomllib.loads((DATA / "sources.toml").read_text("utf-8"))


def keys_in_rules() -> set[str]:
    texts = ((ROOT / path).read_text("utf-8") for path in python_files("rules"))
    return set().union(*(keys_in_code(text) for text in texts))


def problems(text: str) -> list[str]:
    return table_problems({"maize": tomllib.loads(text)}, BOOK)


def test_every_row_of_the_rules_is_cited_or_says_that_it_is_ours() -> None:
    assert documents()
    assert table_problems(documents(), sources()) == []


def test_every_source_is_described_well_enough_to_be_found() -> None:
    assert source_problems(sources()) == []


def test_every_source_is_used() -> None:
    assert sorted(set(sources()) - keys_in_tables(documents()) - keys_in_rules()) == []


def test_every_source_that_an_equation_names_is_known() -> None:
    assert sorted(keys_in_rules() - set(sources())) == []


def test_a_row_without_a_source_is_found() -> None:
    assert problems("[kcb_mid]\nvalue = 1.15\n") == [
        "maize.kcb_mid: no `source`, and no tag that says it is our choice or from memory"
    ]


def test_a_row_deep_in_a_table_or_in_a_list_is_found() -> None:
    assert len(problems("[stage.V6]\nvalues = [1, 2]\n")) == 1
    assert len(problems("[[step]]\ndepth_m = 0.3\n")) == 1


def test_a_verified_row_without_a_source_is_found() -> None:
    assert len(problems('[kcb_mid]\nvalue = 1.15\ntag = "verified"\n')) == 1


def test_a_source_nobody_described_is_found() -> None:
    assert problems('[kcb_mid]\nvalue = 1.15\nsource = ["fao56", "hearsay"]\n') == [
        "maize.kcb_mid: unknown source 'hearsay'"
    ]


def test_a_choice_or_memory_says_why() -> None:
    assert problems('[a]\nvalue = 1\ntag = "choice"\n') == ["maize.a: tag 'choice' needs a `why`"]
    assert problems('[a]\nvalue = 1\ntag = "memory"\nwhy = " "\n') != []
    assert problems('[a]\nvalue = 1\ntag = "choice"\nwhy = "half way between"\n') == []


def test_a_misspelt_tag_is_found() -> None:
    assert len(problems('[a]\nvalue = 1\nsource = "fao56"\ntag = "verifed"\n')) == 1


def test_a_value_outside_its_range_is_found() -> None:
    row = '[a]\nvalue = 3\nsource = "fao56"\nrange = '

    assert problems(row + "[1, 2]\n") == ["maize.a: value 3 is outside its range 1 to 2"]
    assert problems(row + "[4, 2]\n") == ["maize.a: range runs from 4 down to 2"]
    assert problems(row + "[1, 4]\n") == []


def test_words_and_switches_need_no_source() -> None:
    assert problems('[words]\nname = "maize"\non = true\n') == []


def test_a_source_without_a_place_in_it_is_found() -> None:
    assert "sources.fao56: no 'where'" in source_problems(BOOK)


def test_keys_are_read_from_the_references_of_a_docstring_only() -> None:
    module = (
        'def f():\n    """See ``not_a_source``.\n\n    References\n    ----------\n'
        '    ``fao_56``: Eq. 6.\n\n    Notes\n    -----\n    ``not_this_one``.\n    """\n'
    )

    assert keys_in_code(module) == {"fao_56"}
