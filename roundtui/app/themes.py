"""How the app looks: dark, light, high contrast for the sun, and in the 16 colours that a console has of its own."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from rich.console import Console, ConsoleOptions, RenderResult
from rich.segment import Segment
from rich.style import Style
from rich.terminal_theme import TerminalTheme
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter
from textual.scrollbar import ScrollBar, ScrollBarRender
from textual.theme import Theme

from roundtui.domain.text import ruled

_DOTS = "".join(map(chr, range(0x2801, 0x2900)))
"""Braille, as the curves are drawn in."""
PLAIN = str.maketrans(
    f"▁▂▃▅▆▇█▓▄▌░▒●»·▲◆▽○•…↑↓←→¦│┤├┼┬┃─╌┌┐━┏┓┗┛–—−×‘’“”°\u2800\u00a0{_DOTS}⠂⠒⠢",
    "012345##::.@@}x}&{x`.^v<>;||||||------------x''\"\"   " + "'" * len(_DOTS) + '"%$',
)
"""What stands for each character where there are only those of ASCII: one for one, so that columns hold, and each for
one thing, also beside the marks that are ASCII themselves: ``! ? = * + / ~ | _``. None is a capital, as labels are
written in. What people wrote stays as it is."""
_CUT = re.compile(".…")
_DEGREES = re.compile("(?<= )°.*?(?= {2}| ?[─-▟]|$)")
"""A unit that would leave two blanks, and what follows up to the next column."""
MANY_COLOURS = ("-256color", "-direct", "-truecolor", "kitty")
"""How the names of terminals end that have more than 16 colours."""
PLAIN_TERMS = frozenset({"linux", "vt100", "vt102", "vt220", "ansi", "cons25"})
"""Consoles by the name in TERM whose fonts lack them."""
_COLOURS = tuple(ruled(Path(__file__).with_name("themes.txt").read_text(encoding="utf-8")))
"""Of each part of a screen its colours: dark, light, high contrast, and the 16 of a console."""
_OF_THEME = frozenset(one.name for one in fields(Theme))
"""Parts that the toolkit knows; the rest are variables of the styles."""


def _theme(name: str, column: int, *, dark: bool, ansi: bool = False) -> Theme:
    said = {part: colours[column] for part, *colours in _COLOURS if colours[column]}
    known: dict[str, Any] = {part: colour for part, colour in said.items() if part in _OF_THEME}
    rest = {part: colour for part, colour in said.items() if part not in _OF_THEME}
    return Theme(name=name, dark=dark, ansi=ansi, variables=rest, **known)


DARK = _theme("dark", 0, dark=True)
LIGHT = _theme("light", 1, dark=False)
CONTRAST = _theme("high contrast", 2, dark=False)
SIXTEEN = _theme("16 colours", 3, dark=True, ansi=True)
_PALE = [
    (228, 230, 224),
    (240, 128, 112),
    (128, 192, 128),
    (224, 176, 64),
    (140, 180, 240),
    (220, 150, 220),
    (120, 200, 210),
]
_DEEP = [(21, 25, 27), (150, 20, 10), (25, 90, 35), (110, 70, 0), (10, 60, 130), (110, 20, 110), (0, 80, 90)]
DARK_INKS = TerminalTheme((20, 24, 26), (228, 230, 224), [*_PALE, (228, 230, 224)])
"""Colours of the tables on a dark ground; pale enough to be read where NO_COLOR makes greys of them."""
LIGHT_INKS = TerminalTheme((251, 250, 245), (21, 25, 27), [*_DEEP, (21, 25, 27)])
"""Colours of the tables on a light ground."""
SAMPLES = (DARK, LIGHT, CONTRAST, SIXTEEN)
"""In the order in which the key goes through them."""


def colourless(theme: Theme) -> Theme:
    """A theme without colours for words: as a grey, the most urgent would be the palest."""
    ink = str(theme.foreground)
    words = {f"text-{name}": ink for name in ("warning", "error", "success", "accent")}
    return replace(theme, warning=ink, error=ink, success=ink, accent=ink, variables=theme.variables | words)


def plain(text: str) -> str:
    """A text in the characters that any console has, as many; one that is cut loses one letter more for ``..``."""
    return text if text.isascii() else _DEGREES.sub(_moved_up, _CUT.sub("..", text)).translate(PLAIN)


def _moved_up(found: re.Match[str]) -> str:
    return found[0].replace(" °", " ")[1:].ljust(len(found[0]))


class PlainGlyphs(LineFilter):
    """Characters that any console has, in place of those of the pictures."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """A line of the screen, character for character."""
        return [Segment(plain(text), style, control) for text, style, control in segments]


def rail(size: int, lines: int, window: int, position: float) -> str:
    """A scroll bar from the top down: ``█`` for the lines shown, ``│`` for those above and below.

    Args:
        size: Cells it has.
        lines: Lines there are.
        window: How many of them are shown; 0: all.
        position: Lines above those shown.
    """
    if not window:
        return " " * size
    length, hidden = max(1, min(size - 1, round(size * window / lines))), lines - window
    room = size - length
    above = max(1, min(room - 1, round(room * position / hidden)))
    # It reaches an end only where there is no line beyond.
    above = 0 if position <= 0 else room if position >= hidden else above
    return f"{'│' * above}{'█' * length}{'│' * (room - above)}"


class Rail(ScrollBarRender):
    """A scroll bar in whole characters, which is seen in every theme and on any console."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Its characters, one a line, each with what the mouse does there."""
        size = options.height or console.height
        drawn = rail(size, int(self.virtual_size), self.window_size, self.position)
        color = console.get_style(self.style).color
        for at, char in enumerate(drawn):
            act = "grab" if char == "█" else "scroll_down" if "█" in drawn[:at] else "scroll_up"
            yield Segment(char * self.thickness, Style(color=color, meta={"@mouse.down": act}))
            yield Segment.line()


def next_theme(name: str, offered: Sequence[str]) -> str:
    """Name of the theme after another.

    Args:
        name: The one that is shown.
        offered: Those there are here.
    """
    names = [sample.name for sample in SAMPLES if sample.name in offered]
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]


def dress(app: App[Any], kept: str = "") -> None:
    """Give an app its themes.

    Args:
        app: The app.
        kept: The one that was chosen before; empty: none was.
    """
    ScrollBar.renderer = Rail
    app.ansi_theme_dark, app.ansi_theme_light = DARK_INKS, LIGHT_INKS
    offered = {one.name: one for one in SAMPLES}
    if "NO_COLOR" in os.environ:
        offered = {one.name: colourless(one) for one in SAMPLES if not one.ansi}
    for theme in offered.values():
        app.register_theme(theme)
    for name in app.available_themes.keys() - offered:
        app.unregister_theme(name)
    app.theme = kept if kept in offered else DARK.name


def fit(app: App[Any], terminal: Mapping[str, str], kept: str = "") -> None:
    """Take the colours and characters that the terminal has.

    Args:
        app: The app, dressed.
        terminal: What it says of itself, as in the environment.
        kept: As for ``dress``; where there is none a terminal that says that its ground is light is believed.
    """
    name = terminal.get("TERM", "")
    many = terminal.get("COLORTERM", "") in ("truecolor", "24bit") or name.endswith(MANY_COLOURS)
    if name and not many and SIXTEEN.name in app.available_themes:
        app.theme = SIXTEEN.name
    elif not kept and terminal.get("COLORFGBG", "").rpartition(";")[2] in ("7", "15"):
        app.theme = LIGHT.name
    if name in PLAIN_TERMS:
        app._filters.append(PlainGlyphs())
