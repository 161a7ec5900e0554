"""Hostile values in every form of every page: refused in words or stored, never a fault.

    PYTHONPATH=fixtures:tests .venv/bin/python tests/faults/fuzz_forms.py --minutes 10

Pages and forms are found by following links as adviser, grower, viewer and operator, so that a new
page is tried without being named here.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import httpx2

from browser.app_scene import AppScene, an_app, proof_in
from browser.app_walk import FormSeen, RouteSeen, routes_of, walk

HOSTILE = (
    "", " ", "\t\r\n", "\x00", "a\x00b", "\ud83d\ude00" * 3, "A" * 300, "A" * 70_000,
    "\u202eevil\u202c", "\u0645\u0631\u062d\u0628\u0627", "e\u0301" * 40, "\ufeff\u200b",
    "\uff11\uff12", "\u0663", "\u00b2", "1e400", "-1e400", "NaN", "inf", "-0", "0x10", "1_000",
    "9" * 40, "-" + "9" * 25, str(2**31), str(2**63), "1" * 5000, "3.3.3", "1,5", "1;2",
    "0000-00-00", "0001-01-01", "9999-12-31", "2026-02-30", "10000-01-01", "2026-7-8", "26-07-08",
    "2026-07-08T99:99", "' OR 1=1 --", "'; DROP TABLE field; --", "%00", "%s%n", "${7*7}",
    "{{ 7*7 }}", "{% raw %}", "{{ config }}", "<script>alert(1)</script>",
    '"><img src=x onerror=1>', "javascript:alert(1)", "//evil.example", "\\\\evil.example",
    "../../etc/passwd",
    "=1+1", "@SUM(1)",
    "a@b", "a@b@c", "a@example.org\r\nBcc: x@example.org", "\U0010ffff", "null", "true", "[]", "{}",
    "+15155550121", "+" + "1" * 40, "Mars/Olympus", "../UTC", "America/Chicago\x00", "yes", "all",
)  # fmt: skip
FILES = (
    b"", b"\x00" * 64, b"name,lat\n\xff\xfe,\x00", b"{" * 4000, b"[" * 90_000,
    b"PK\x03\x04" + b"\x00" * 40,
    b"\xff\xd8\xff\xe0" + b"\x00" * 40, b"GIF89a" + b"\xff" * 30,
    b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>",
    b"=cmd|'/c calc'!A1,1\n", "name;lat;lon\nä;1;2\n".encode("latin-1"),
)  # fmt: skip
NAMES = ("", "a.csv", "a.zip", "../../x.kml", "a\x00.jpg", "\u202egpj.exe", "a" * 400)
PATH_BITS = (
    "0", "-1", "1", "99999999999999999999", "2147483648", "9223372036854775808", "abc",
    "%00", "1e3",
    "%F0%9F%98%80", "%2e%2e", "..%2f", "\u0663", "1" * 2000, "%ff", " ", "null", "1.0", "+1",
)  # fmt: skip
SIGNED_IN = ("adviser", "grower", "viewer", "operator")
LEAVES = ("/sign-out", "/me/sessions")
"""Forms that end the session they are sent in."""


@dataclass
class Report:
    """What came of it."""

    answers: Counter[int] = field(default_factory=Counter)
    forms: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)

    def line(self) -> str:
        """In one line."""
        by = ", ".join(f"{status}: {many}" for status, many in sorted(self.answers.items()))
        sent = sum(self.answers.values())
        return (
            f"{sent} requests to {len(self.forms)} kinds of form ({by}), {len(self.faults)} faults"
        )


class Fuzzer:
    """Sends what nobody should to every form.

    Parameters
    ----------
    scene
        The application.
    seed
        Of what is sent.
    """

    def __init__(self, scene: AppScene, seed: int) -> None:
        self.scene, self.chance, self.report = scene, random.Random(seed), Report()
        self.forms = list[tuple[str, FormSeen]]()
        for word in SIGNED_IN:
            found = walk(scene.client(scene.who[word]), "/today", "/operate", "/me")
            self.forms += [(word, one) for one in found.kinds_of_form()]
        found = walk(scene.client(), "/sign-in")
        self.forms += [("stranger", one) for one in found.kinds_of_form()]
        self.routes = routes_of(scene.app)

    def every_form_once(self, until: float) -> None:
        """Send each form as it stands but for one field, round by round."""
        while time.monotonic() < until:
            order = list(self.forms)
            self.chance.shuffle(order)
            for word, form in order:
                if time.monotonic() > until:
                    return
                self.send_form(word, form)
                self.ask_path(self.chance.choice(self.routes))

    def send_form(self, word: str, form: FormSeen) -> None:
        """Send one form with one or more fields made hostile."""
        client = self.scene.client(None if word == "stranger" else self.scene.sign_in(word))
        proof = ""
        if word != "stranger" and form.method == "post":
            text = client.get(form.page).text
            if "form_token" not in text:
                return
            proof = proof_in(text)
        pairs = [(name, value) for name, value in form.values() if name != "form_token"]
        pairs = self.spoiled(pairs, [one.name for one in form.inputs if one.kind == "file"])
        files = self.files(form)
        what = f"{word} {form.method} {form.action} {_short(pairs)} {_short(files)}"
        self.report.forms.add(f"{word} {form.method} {'/'.join(form.shape)}")
        if form.method == "get":
            answer = client.get(
                form.action, params=[(_sendable(a), _sendable(b)[:4000]) for a, b in pairs]
            )
        else:
            values = dict[str, list[str]]()
            for name, value in [("form_token", proof), *pairs]:
                values.setdefault(_sendable(name), []).append(_sendable(value))
            headers = {"accept-language": "en"}
            answer = client.post(form.action, data=values, files=files or None, headers=headers)
        self.note(answer, what)

    def spoiled(self, pairs: list[tuple[str, str]], files: list[str]) -> list[tuple[str, str]]:
        """Change, repeat, drop or add fields."""
        found = list(pairs)
        for _ in range(self.chance.choice((1, 1, 1, 2, 5))):
            way = self.chance.randrange(8)
            if found and way < 5:
                at = self.chance.randrange(len(found))
                found[at] = (found[at][0], self.chance.choice(HOSTILE))
            elif found and way == 5:
                found.append((self.chance.choice(found)[0], self.chance.choice(HOSTILE)))
            elif found and way == 6:
                found.pop(self.chance.randrange(len(found)))
            elif files:
                found.append((files[0], self.chance.choice(HOSTILE)))  # text where a file is wanted
            else:
                found.append((self.chance.choice(HOSTILE)[:50] or "x", "1"))
        return found

    def files(self, form: FormSeen) -> list[tuple[str, tuple[str, bytes, str]]]:
        """Files where files are wanted, and at times where text is."""
        wanted = [one.name for one in form.inputs if one.kind == "file"]
        if not wanted and self.chance.random() < 0.9:
            return []
        names = wanted or [one.name for one in form.inputs][:1]
        return [
            (
                _sendable(name),
                (
                    _sendable(self.chance.choice(NAMES)) or "x",
                    self.chance.choice(FILES),
                    self.chance.choice(("image/jpeg", "text/csv", "application/json", "text/html")),
                ),
            )
            for name in names
        ]

    def ask_path(self, route: RouteSeen) -> None:
        """Ask for an address with something strange where a number or a token stands."""
        word = self.chance.choice(SIGNED_IN)
        client = self.scene.client(self.scene.who[word])
        bits = {name: self.chance.choice(PATH_BITS) for name in route.parameters}
        path = route.filled(**bits)
        if route.path.startswith(LEAVES):
            return
        body = {"data": {"a": "1"}} if route.method in {"POST", "PUT", "PATCH"} else {}
        asked = f"?{self.chance.choice(('x=1', 'start=-1', 'said=%00', 'after=9e9', 'year=-1'))}"
        answer = client.request(route.method, f"{path}{asked}", **body)
        self.note(answer, f"{word} {route.method} {path}{asked}"[:400])

    def note(self, answer: httpx2.Response, what: str) -> None:
        """Count an answer and look for what it must not be."""
        status, text = answer.status_code, answer.text
        kind = answer.headers.get("content-type", "")
        html = kind.startswith("text/html")
        self.report.answers[status] += 1
        known = status == 501 or (status == 503 and "/metrics" not in what)
        if status >= 500 and not known:
            self.report.faults.append(f"{status} {what}")
        if html and ("<script>alert(1)" in text or "<img src=x" in text):
            self.report.faults.append(f"not escaped: {what}")
        if status >= 400 and "json" in kind and "/api/" not in what:
            self.report.faults.append(f"answers a person as if it were a program: {what}")
        if "Traceback" in text or "sqlalchemy" in text:
            self.report.faults.append(f"tells its inside: {what}")


def _sendable(text: str) -> str:
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _short(values: object) -> str:
    return ascii(values)[:600]


def main() -> int:
    """Run for some minutes and print what came of it."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--minutes", type=float, default=1.0)
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args()
    with tempfile.TemporaryDirectory() as folder, an_app(Path(folder)) as scene:
        fuzzer = Fuzzer(scene, given.seed)
        fuzzer.every_form_once(time.monotonic() + 60 * given.minutes)
    for fault in fuzzer.report.faults:
        print(fault)
    print(fuzzer.report.line())
    return 1 if fuzzer.report.faults else 0


if __name__ == "__main__":
    sys.exit(main())
