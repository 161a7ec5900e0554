"""What the doctor says of the ways out: the text gateway's file and the mail's DNS."""

from __future__ import annotations

from pathlib import Path

import pytest

from rootbound_service.cli.checking_ways import check_texts, mail_lines
from rootbound_service.settings import load_settings

EXAMPLES = Path(__file__).parents[3] / "deploy" / "text"
SECRETS = {"ROOTBOUND_TEXT_TOKEN": "a-token", "ROOTBOUND_TEXT_HOOK_SECRET": "a-secret"}


def settings(tmp_path, **more):
    return load_settings({"ROOTBOUND_DATA_DIR": str(tmp_path), **more})


def test_without_a_gateway_nothing_is_said_of_texts(tmp_path):
    assert check_texts(settings(tmp_path)) == []


@pytest.mark.parametrize("name", sorted(one.name for one in EXAMPLES.glob("*.toml")))
def test_the_example_files_are_well_once_their_secrets_are_set(tmp_path, name):
    env = {"ROOTBOUND_TEXT_GATEWAY_FILE": str(EXAMPLES / name)}

    (bare,) = check_texts(settings(tmp_path, **env))
    (whole,) = check_texts(settings(tmp_path, **env, **SECRETS))

    assert (bare.well, whole.well) == (False, True)
    for key in SECRETS:
        assert key in bare.mend
    assert not any(secret in f"{bare}{whole}" for secret in SECRETS.values())


@pytest.mark.parametrize(
    ("words", "said"),
    [("[send", "Expected"), ("[send]\nurl = 5\n", "send.url is wrong"), ("", "neither [send] and")],
)
def test_a_file_that_cannot_be_used_is_told_with_what_would_be_right(tmp_path, words, said):
    path = tmp_path / "gateway.toml"
    path.write_text(words, encoding="utf-8")
    (found,) = check_texts(settings(tmp_path, ROOTBOUND_TEXT_GATEWAY_FILE=str(path), **SECRETS))

    assert not found.well
    assert said in found.said
    assert found.mend


def test_a_sender_on_this_machine_needs_no_dns(tmp_path):
    assert mail_lines(settings(tmp_path)) == []


def test_the_lines_of_dns_are_told_with_what_they_are_for(tmp_path):
    told = "\n".join(mail_lines(settings(tmp_path, ROOTBOUND_MAIL_FROM="watch@fields.example")))

    assert 'fields.example. TXT "v=spf1 ' in told
    assert '_dmarc.fields.example. TXT "v=DMARC1; p=none' in told
    assert "another domain" not in told


def test_a_return_path_in_another_domain_is_told(tmp_path):
    env = {
        "ROOTBOUND_MAIL_FROM": "watch@fields.example",
        "ROOTBOUND_BOUNCE_ADDRESS": "bounces@post.example",
    }
    assert "of another domain" in mail_lines(settings(tmp_path, **env))[-1]


def test_a_key_that_cannot_be_read_is_told_and_stops_nothing(tmp_path):
    env = {
        "ROOTBOUND_MAIL_FROM": "watch@fields.example",
        "ROOTBOUND_DKIM_SELECTOR": "one",
        "ROOTBOUND_DKIM_KEY_FILE": str(tmp_path / "none.pem"),
    }
    (line,) = mail_lines(settings(tmp_path, **env))

    assert line.startswith("DNS for the mail: ")
    assert "none.pem" in line
