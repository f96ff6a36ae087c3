"""Templates of letters and updates: those that ship, and the office's own in ``templates/`` of its folder.

An office's template may do no more than lay out what it is given: it runs in a sandbox, sees no file but its
neighbours, and whatever it prints is escaped, even where it says otherwise. What people typed never becomes a template.
"""

from __future__ import annotations

import re
import traceback
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

from roundtui.domain.text import plain
from roundtui.errors import RoundtuiError
from roundtui.store.set_up.columns import file_of
from roundtui.store.set_up.office import office_content

if TYPE_CHECKING:
    from jinja2 import Environment

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
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._own = folder / TEMPLATES if folder is not None else None
        self._html = _environment(self._own, html=True)
        self._text = _environment(self._own, html=False)

    def html(self, name: str, values: Mapping[str, Any]) -> str:
        """A page.

        Args:
            name: Name of the template, as ``letter.html``.
            values: What it may use.

        Raises:
            TemplateError: The template is faulty; the line is named.
        """
        return self._render(self._html, name, values)

    def text(self, name: str, values: Mapping[str, Any]) -> str:
        """A text, its lines ended by line feeds.

        Args:
            name: Name of the template, as ``letter.txt``.
            values: What it may use.

        Raises:
            TemplateError: The template is faulty; the line is named.
        """
        return self._render(self._text, name, values).strip("\n") + "\n"

    def _render(self, environment: Environment, name: str, values: Mapping[str, Any]) -> str:
        from jinja2 import TemplateNotFound, TemplateSyntaxError

        try:
            return environment.get_template(name).render(values)
        except TemplateSyntaxError as error:
            raise self._fault(error.name or name, error.lineno, error.message or "cannot be read") from error
        except TemplateNotFound as error:
            message = f"asks for {plain(str(error.name), 60)}, which is not there"
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
        return TemplateError(f"{plain(where, 120)}: {plain(message, 200)}", hint)


def _own_text(own: Path, name: str) -> str | None:
    """A template of the office; None where it has none of that name."""
    known = f"{TEMPLATES}/{name}"
    if file_of(known) is None:
        return None
    path = own / name
    content = office_content(own.parent, known, path if path.is_file() else None)
    return None if content is None else content.decode("utf-8")


def _environment(own: Path | None, *, html: bool) -> Environment:
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
    environment.filters["hanging"] = _hanging
    return environment


def _hanging(words: object, mark: str = "") -> str:
    """Words wrapped below each other behind a mark."""
    return fill(str(words), WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark), break_on_hyphens=False)


def _line_of(error: BaseException) -> int | None:
    """Line of the template in which it went wrong, the innermost one."""
    found = None
    for frame in traceback.extract_tb(error.__traceback__):
        if not frame.filename.endswith(".py"):
            found = frame.lineno
    return found
