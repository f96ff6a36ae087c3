"""A letter as a page, as a text and as mail. Nothing is sent: each is the content of a file.

Templates of letters and updates: those that ship, and the office's own in ``templates/`` of its folder.
"""

from __future__ import annotations

import re
import traceback
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.charts import png
from roundtui.report.letters.letter import Letter, Picture
from roundtui.report.letters.mail import Mail, svg
from roundtui.report.letters.material import HOW_SURE, MEANINGS, STATUSES
from roundtui.store.office import office_content
from roundtui.store.set_up.columns import file_of

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

YEARS_NOTE = "Past seasons by today's rules; a catch is spread over the days it took."
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
    return templates.page("letter.html", _values(letter, inline))


def letter_text(letter: Letter, templates: Templates) -> str:
    """A letter as plain text.

    Args:
        letter: The letter.
        templates: Templates of the folder.
    """
    return templates.page("letter.txt", _values(letter, inline))


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
        images[name] = png(svg(picture))
        return Markup('<img src="cid:{}@letter" alt="{}">').format(name, picture.alt)

    return Mail(
        to_name=letter.grower or letter.name,
        to_address=letter.email,
        from_name=letter.sender[0] if letter.sender else "",
        from_address=letter.sender_email,
        subject=f"{letter.name}: what your traps show, seven days to {letter.on}",
        text=letter_text(letter, templates),
        html=templates.page("letter.html", _values(letter, attached)),
        images=images,
    )


def _values(letter: Letter, picture: Show) -> Mapping[str, Any]:
    there = {row.status.value for row in letter.blocks}
    return {
        "letter": letter,
        "picture": picture,
        "curves": [row.curve for row in letter.blocks if row.curve is not None],
        "meanings": [
            *((STATUSES[status], words) for status, words in MEANINGS.items() if status.value in there),
            *([HOW_SURE] if any("How sure: " in str(words) for row in letter.blocks for words in row.details) else []),
        ],
        "years_note": YEARS_NOTE,
        "lists": [
            ("Not read", letter.not_read),
            ("Lures, liners and kill strips", letter.upkeep),
            ("What the scout saw", letter.notes),
            ("Fruit stage", letter.stages),
            ("Start of the flights (biofix)", letter.biofixes),
            ("What is to be expected", letter.events),
        ],
    }


TEMPLATES = "templates"
"""Folder of the office's templates inside the scouting folder."""
WIDTH = 78
"""Longest line of a text. [columns]"""
_UNSAFE = ("safe", "xmlattr", "tojson", "urlize", "forceescape", "pprint")
"""Filters that could print what is not escaped, or show what is not meant to be seen."""


class TemplateError(RoundtuiError):
    """A template of the office cannot be used."""


class Templates:
    """Renders the letters and updates of one scouting folder; templates are read once.

    Args:
        folder: The scouting folder; None: only the templates that ship.
        width: Longest line of a text. [columns]
    """

    def __init__(self, folder: Path | None = None, width: int = WIDTH) -> None:
        self._own = folder / TEMPLATES if folder is not None else None
        self._made = {html: _environment(self._own, width, html=html) for html in (True, False)}

    def page(self, name: str, values: Mapping[str, Any]) -> str:
        """A page, or a text whose lines are ended by line feeds.

        Args:
            name: Name of the template, as ``letter.html`` or ``letter.txt``.
            values: What it may use.

        Raises:
            TemplateError: The template is faulty; the line is named.
        """
        from jinja2 import TemplateNotFound, TemplateSyntaxError

        html = name.endswith(".html")
        try:
            found = self._made[html].get_template(name).render(values)
            return found if html else found.strip("\n") + "\n"
        except TemplateSyntaxError as error:
            raise self._fault(error.name or name, error.lineno, error.message or "cannot be read") from error
        except TemplateNotFound as error:
            message = f"asks for {sanitize(str(error.name), 60)}, which is not there"
            raise self._fault(name, _line_of(error), message) from error
        except UnicodeDecodeError as error:
            raise self._fault(name, None, "is not UTF-8 text") from error
        except OSError as error:
            raise self._fault(name, None, f"cannot be read: {error.strerror}") from error
        except Exception as error:  # an office's template can go wrong in any way
            # "'roundtui.report.Letter object' has no attribute 'x'" says less to who wrote the template.
            message = re.sub(r"^'[\w.]*?(\w+) object' has no attribute", r"\1 has no", str(error))
            raise self._fault(name, _line_of(error), message or type(error).__name__) from error

    def _fault(self, name: str, line: int | None, message: str) -> TemplateError:
        own = self._own is not None and (self._own / name).exists()
        where = f"{TEMPLATES}/{name}" if own else f"template {name}"
        where += f", line {line}" if line else ""
        hint = f"correct it, or move it out of {TEMPLATES}/ to use the one that ships" if own else "look in templates/"
        return TemplateError(f"{sanitize(where, 120)}: {sanitize(message, 200)}", hint)


def _own_text(own: Path, name: str) -> str | None:
    """A template of the office; None where it has none of that name."""
    known = f"{TEMPLATES}/{name}"
    if file_of(known) is None:
        return None
    path = own / name
    content = office_content(own.parent, known, path if path.is_file() else None)
    return None if content is None else content.decode("utf-8")


def _environment(own: Path | None, width: int, *, html: bool) -> Environment:
    # Loaded on first use: only letters and updates need it.
    from jinja2 import ChoiceLoader, FileSystemLoader, FunctionLoader, StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment
    from markupsafe import Markup, escape

    shipped = FileSystemLoader(Path(__file__).parent / "templates")
    environment = ImmutableSandboxedEnvironment(
        loader=ChoiceLoader([FunctionLoader(partial(_own_text, own)), shipped]) if own is not None else shipped,
        autoescape=html,
        undefined=StrictUndefined,
        trim_blocks=not html,
        lstrip_blocks=not html,
        keep_trailing_newline=True,
        # Escaped a second time here, which changes nothing, unless a template had turned escaping off.
        finalize=(lambda value: value if isinstance(value, Markup) else escape(value)) if html else None,
    )
    for name in _UNSAFE:
        environment.filters.pop(name, None)

    def hanging(words: object, mark: str = "") -> str:
        """Words wrapped below each other behind a mark."""
        return fill(str(words), width, initial_indent=mark, subsequent_indent=" " * len(mark), break_on_hyphens=False)

    environment.filters["hanging"] = hanging
    return environment


def _line_of(error: BaseException) -> int | None:
    """Line of the template in which it went wrong, the innermost one."""
    found = None
    for frame in traceback.extract_tb(error.__traceback__):
        if not frame.filename.endswith(".py"):
            found = frame.lineno
    return found
