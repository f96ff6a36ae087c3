"""A letter as a page, as a text and as mail. Nothing is sent: each is the content of a file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from roundtui.report.letters.letter import Letter, Picture
from roundtui.report.letters.mail import Mail, png_of, svg
from roundtui.report.letters.words import MEANINGS, STATUSES

if TYPE_CHECKING:
    from markupsafe import Markup

    from roundtui.report.letters.template import Templates

YEARS_NOTE = "Past seasons are judged by today's rules."
"""What stands beside year against year."""
Show = Callable[[Picture], "Markup"]
"""How a page shows a picture."""


def inline(picture: Picture) -> Markup:
    """A picture drawn into the page."""
    from markupsafe import Markup

    return Markup(svg(picture))  # noqa: S704 - drawn here; all text in it is escaped by the drawing


def letter_html(letter: Letter, templates: Templates) -> str:
    """A letter as one page that needs nothing beside it.

    Args:
        letter: The letter.
        templates: Templates of the folder.
    """
    return templates.html("letter.html", _values(letter, inline))


def letter_text(letter: Letter, templates: Templates) -> str:
    """A letter as plain text.

    Args:
        letter: The letter.
        templates: Templates of the folder.
    """
    return templates.text("letter.txt", _values(letter, inline))


def letter_mail(letter: Letter, templates: Templates) -> Mail:
    """A letter as mail, with text, page and pictures in it.

    Args:
        letter: The letter.
        templates: Templates of the folder.
    """
    images: dict[str, bytes] = {}

    def attached(picture: Picture) -> Markup:
        from markupsafe import Markup

        name = f"picture-{len(images) + 1}"
        images[name] = png_of(picture)
        return Markup('<img src="cid:{}@letter" alt="{}">').format(name, picture.alt)

    return Mail(
        to_name=letter.grower or letter.name,
        to_address=letter.email,
        from_name=letter.sender[0] if letter.sender else "",
        from_address=letter.sender_email,
        subject=f"{letter.name}: what your traps show, seven days to {letter.on}",
        text=letter_text(letter, templates),
        html=templates.html("letter.html", _values(letter, attached)),
        images=images,
    )


def _values(letter: Letter, picture: Show) -> Mapping[str, Any]:
    there = {row.status.value for row in letter.blocks}
    return {
        "letter": letter,
        "picture": picture,
        "curves": [row.curve for row in letter.blocks if row.curve is not None],
        "meanings": [(STATUSES[status], words) for status, words in MEANINGS.items() if status.value in there],
        "years_note": YEARS_NOTE,
        "lists": [
            ("Not read", letter.not_read),
            ("Lures, liners and kill strips", letter.upkeep),
            ("What the scout saw", letter.notes),
            ("Fruit stage", letter.stages),
            ("Biofix", letter.biofixes),
            ("What is to be expected", letter.events),
        ],
    }
