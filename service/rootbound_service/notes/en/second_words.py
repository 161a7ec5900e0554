"""What the second contact of a field reads before the note itself."""

from __future__ import annotations

from html import escape


def second_line(grower: str) -> str:
    """Return why somebody who does not look after the field hears of it."""
    return (
        f"You are the second contact of this field of {grower}. It has been failing for two days "
        "and nobody has answered the note. A call may be quicker than a letter."
    )


def second_words(subject: str, text: str, grower: str) -> tuple[str, str]:
    """Return subject and text of a note that goes to the second contact."""
    return f"Not answered for two days: {subject}", f"{second_line(grower)}\n\n{text}"


def second_page(html: str, grower: str) -> str:
    """Return the page of a note that goes to the second contact."""
    lead = f'<h1 style="margin: 0 0 8px 0; font-size: 17px">{escape(second_line(grower))}</h1>'
    return html.replace("<h1", f"{lead}<h1", 1)
