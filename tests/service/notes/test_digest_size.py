"""However many fields and however long their names, a mail stays under what programs show whole."""

from __future__ import annotations

from functools import cache

import pytest

from rootbound_service.channels.email import Letterhead, to_email
from rootbound_service.links import Links
from rootbound_service.notes.digest import CUTS, compose_digest
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.order import by_urgency
from service.notes.cast import INES, NOW, alder_county
from service.notes.fullest import GROWER_NAME, fullest
from service.notes.many import a_week, four_hundred

OCCASION = Occasion(NOW, members=30, linked=True)
LINKS = Links("k" * 32, "https://rootbound.example")
PAGE = "https://rootbound.example/d/1-1.abcdefghijklmnop"
MOST_BYTES = 90_000


@cache
def written(which):
    fields = {
        "four hundred": four_hundred,
        "twelve": alder_county,
        "long names": lambda: tuple(
            fullest(field_id=n, rung=n % 5, grower_name=f"{GROWER_NAME} {n % 7}") for n in range(90)
        ),
    }[which]()
    return fields, compose_digest(INES, fields, OCCASION, a_week(fields, PAGE))


@pytest.mark.parametrize("which", ["twelve", "four hundred", "long names"])
def test_the_whole_mail_stays_under_ninety_kilobytes(which):
    _, message = written(which)
    raw = to_email(message, Letterhead("watch@rootbound.example"), None, LINKS).as_bytes()

    assert 20_000 < len(raw) < MOST_BYTES


def test_of_four_hundred_fields_the_most_urgent_are_told_and_the_rest_is_a_link():
    fields, message = written("four hundred")
    shown = message.text.count("\n[")

    assert CUTS[-1].rows < shown <= CUTS[0].rows
    names = [facts.field_name for facts in by_urgency(fields)]
    assert all(f"] {name}, " in message.text for name in names[:shown])
    assert f"and {400 - shown} more." in message.text
    assert f"{400 - shown} more fields on the page: {PAGE}" in message.text
    assert f'href="{PAGE}"' in message.html


def test_a_small_digest_loses_nothing():
    fields, message = written("twelve")

    assert message.text.count("\n[") == len(fields)
    assert " more." not in message.text
    assert f"All of it as a page, to print: {PAGE}" in message.text


def test_however_much_is_left_out_the_cautions_and_the_way_out_stay():
    for which in ("four hundred", "long names"):
        _, message = written(which)
        assert "promise no yield" in " ".join(message.text.split())
        assert "Stop these letters" in message.html
        assert "Weather behind this" in message.text
