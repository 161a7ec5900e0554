"""Another language is a folder: words, templates and pictures follow whoever reads."""

from __future__ import annotations

import re
import shutil
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import rootbound_service.notes as room
from rootbound_service.notes.charts import note_chart
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.speech import languages, say, speaking, spoken
from service.notes.cast import MAREN, NIGHT, NOW, field

MADE_UP = """
from rootbound_service.notes.en import *
from rootbound_service.notes.en import CHART as _CHART
CHART = _CHART | {"rain": "pluvo"}
def note_subject(fields, units): return f"Seka: {fields[0].field_name}"
def short_day(when, units): return f"la {when.day}a"
"""


@pytest.fixture
def made_up(tmp_path, monkeypatch):
    """A second language beside English, of a few words and one line of a template."""
    folder = tmp_path / "xx"
    english = Path(room.__file__).parent / "en" / "templates"
    shutil.copytree(english, folder / "templates")
    (folder / "__init__.py").write_text(MADE_UP)
    layout = folder / "templates" / "letter.html.j2"
    layout.write_text(layout.read_text().replace('lang="en"', 'lang="xx"'))
    monkeypatch.setattr(room, "__path__", [*room.__path__, str(tmp_path)])
    yield "xx"
    for name in [name for name in sys.modules if name.startswith("rootbound_service.notes.xx")]:
        del sys.modules[name]


def letter(language):
    person = replace(MAREN, language=language)
    return compose_note(person, [FieldNote(field(), "note-a", 5)], Occasion(NOW, 30))


def test_whoever_reads_another_language_is_written_to_in_it(made_up):
    told = letter(made_up)

    assert told.subject == "Seka: Long Acre"
    assert '<html lang="xx">' in told.html
    assert made_up in languages()


def test_the_picture_is_labelled_in_the_readers_language(made_up):
    english = note_chart(field().series, "us")
    with speaking(made_up):
        assert note_chart(field().series, "us") != english
    assert note_chart(field().series, "us") == english


def test_the_language_ends_with_the_letter(made_up):
    letter(made_up)

    assert spoken() == "en"
    assert say.short_day(NIGHT, "us") == "Jul 16"


def test_a_language_that_is_not_there_is_spoken_as_english():
    assert letter("zz").html == letter("en").html
    assert letter("../en").html == letter("en").html


def test_an_error_in_a_letter_does_not_leave_its_language_behind(made_up):
    person = replace(MAREN, language=made_up)

    with pytest.raises(ValueError, match="at least one field"):
        compose_note(person, [], Occasion(NOW))
    with pytest.raises(ZeroDivisionError), speaking(made_up):
        1 / len(say.short_day(NIGHT, "us").removeprefix("la 16a"))
    assert spoken() == "en"


def test_outside_the_folder_no_word_is_asked_for_that_english_lacks():
    asked = {
        word
        for path in Path(room.__file__).parents[1].rglob("*.py")
        if path.parent.name != "en" and "import say" in (text := path.read_text(encoding="utf-8"))
        for word in re.findall(r"\bsay\.([A-Za-z_]\w*)", text)
    }

    assert len(asked) > 50  # it does look
    assert {word for word in asked if not hasattr(say, word)} == set()
