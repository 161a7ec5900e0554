"""Records that travel light come back as they were."""

from __future__ import annotations

import copyreg
import pickle
from dataclasses import dataclass, field

import pytest

from rootbound_service.records import RiskRecord
from rootbound_service.sweep.light import travel_light


@dataclass(frozen=True, slots=True)
class Card:
    """A record of our own, so that no other test sees what is registered."""

    name: str
    depth: float
    parts: tuple[str, ...] = ()
    more: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class ByName:
    """What its values in order do not make."""

    one: int
    other: int = field(kw_only=True)


@dataclass(frozen=True)
class Alone:
    """Of one field."""

    one: int


@pytest.fixture
def light():
    travel_light(Card)
    yield
    del copyreg.dispatch_table[Card]


@pytest.mark.usefixtures("light")
def test_a_record_comes_back_with_every_value():
    card = Card("Long Acre", 0.1 + 0.2, ("a", "b"), {"x": 1})

    again = pickle.loads(pickle.dumps([card, card], protocol=5))  # noqa: S301  our own

    assert again == [card, card]
    assert again[0] is again[1]


@pytest.mark.usefixtures("light")
def test_names_of_fields_do_not_travel():
    assert b"depth" not in pickle.dumps(Card("Long Acre", 0.1), protocol=5)


@pytest.mark.parametrize("kind", [ByName, Alone])
def test_what_its_values_in_order_do_not_make_is_refused(kind):
    with pytest.raises(TypeError, match=kind.__name__):
        travel_light(kind)


def test_the_records_of_a_nights_chunks_travel_light():
    import rootbound_service.nights.many.job  # noqa: F401  registers them

    assert RiskRecord in copyreg.dispatch_table
