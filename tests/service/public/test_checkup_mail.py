"""Settings of the mail that do not go together."""

from __future__ import annotations

import pytest

from rootbound_service.public.checkup_mail import check_mail
from rootbound_service.settings import load_settings

RELAY = {
    "SMTP_HOST": "relay.fields.example",
    "SMTP_PORT": "587",
    "SMTP_USER": "hidden-user",
    "SMTP_PASSWORD": "hidden-word",
    "SMTP_STARTTLS": "true",
    "MAIL_FROM": "watch@fields.example",
}


def said_of(**changes):
    given = (RELAY | changes).items()
    found = check_mail(load_settings({f"ROOTBOUND_{key}": value for key, value in given if value}))
    assert all(one.mend and one.why for one in found if not one.well)
    for hidden in ("hidden", "fields.example"):
        assert hidden not in str(found)
    return [one.said for one in found if not one.well]


def test_a_relay_with_encryption_and_log_in_is_well():
    assert said_of() == []


def test_a_relay_on_this_machine_needs_neither():
    bare = {"SMTP_HOST": "", "SMTP_PORT": "", "SMTP_USER": "", "SMTP_PASSWORD": ""}

    assert said_of(**bare, SMTP_STARTTLS="", MAIL_FROM="") == []
    assert said_of(SMTP_HOST="localhost", SMTP_STARTTLS="") == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"SMTP_STARTTLS": ""}, "ROOTBOUND_SMTP_STARTTLS is not"),
        ({"SMTP_PASSWORD": ""}, "without a password"),
        ({"SMTP_PORT": "465"}, "waits for encryption at once"),
        ({"SMTP_PORT": "465", "SMTP_STARTTLS": ""}, "waits for encryption at once"),
        ({"MAIL_FROM": ""}, "sender is at localhost"),
        ({"DKIM_SELECTOR": "hidden"}, "is not set"),
        ({"DKIM_KEY_FILE": "/hidden"}, "is not set"),
    ],
)
def test_what_does_not_go_together_is_told_with_the_settings_names(changes, said):
    (found,) = said_of(**changes)

    assert said in found


def test_several_things_are_told_at_once():
    assert (
        len(said_of(SMTP_PASSWORD="", SMTP_STARTTLS="", MAIL_FROM="", DKIM_SELECTOR="hidden")) == 4
    )
