"""How the app looks: dark, light, high contrast for the sun, and in the 16 colours that a console has of its own."""

from __future__ import annotations

from collections.abc import Sequence

from rich.segment import Segment
from rich.terminal_theme import TerminalTheme
from textual.color import Color
from textual.filter import LineFilter
from textual.theme import Theme

_DOTS = "".join(map(chr, range(0x2801, 0x2900)))
"""Braille, as the curves are drawn in."""
PLAIN = str.maketrans(
    f"▁▂▃▄▅▆▇█┌┐░▒▌»│┤├─╌┼┬·▲◆▽○↑↓←→…–“”▄▀²\u2800{_DOTS}",
    '1234567#++.:|>|||--++.^*vo^v<>~-""##2 ' + "*" * len(_DOTS),
)
"""What stands for each character where there are only those of ASCII: one for one, so that columns hold."""
PLAIN_TERMS = frozenset({"linux", "vt100", "vt102", "vt220", "ansi", "cons25"})
"""Consoles by the name in TERM whose fonts lack them."""
DARK = Theme(
    name="dark",
    primary="#2f5d50",
    secondary="#8fb8a8",
    warning="#e0b040",
    error="#f07060",
    success="#80c080",
    accent="#8cc8e8",
    foreground="#e4e6e0",
    background="#14181a",
    surface="#14181a",
    panel="#2a3134",
    dark=True,
    variables={"bar-text": "#ffffff"},
)
LIGHT = Theme(
    name="light",
    primary="#b9d8c8",
    secondary="#2f5d50",
    warning="#8a5a00",
    error="#a81c10",
    success="#1f6b2c",
    accent="#0b4f7a",
    foreground="#15191b",
    background="#fbfaf5",
    surface="#fbfaf5",
    panel="#dfe3da",
    dark=False,
    variables={"text-muted": "#4a5254", "bar-text": "#15191b"},
)
CONTRAST = Theme(
    name="high contrast",
    primary="#000000",
    secondary="#000000",
    warning="#000000",
    error="#000000",
    success="#000000",
    accent="#000000",
    foreground="#000000",
    background="#ffffff",
    surface="#ffffff",
    panel="#dddddd",
    dark=False,
    variables={
        "bar-text": "#ffffff",
        "text-muted": "#000000",
        "text-warning": "#000000",
        "text-error": "#000000",
        "text-accent": "#000000",
        "input-cursor-background": "#000000",
        "input-cursor-foreground": "#ffffff",
    },
)
SIXTEEN = Theme(
    name="16 colours",
    ansi=True,
    primary="ansi_default",
    secondary="ansi_default",
    warning="ansi_yellow",
    error="ansi_red",
    success="ansi_green",
    accent="ansi_cyan",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    boost="ansi_default",
    dark=True,
    variables={
        "bar-text": "ansi_default",
        "text-muted": "ansi_default",
        "text-warning": "ansi_yellow",
        "text-error": "ansi_red",
        "text-accent": "ansi_cyan",
        "input-cursor-background": "ansi_default",
        "input-cursor-foreground": "ansi_default",
        "input-cursor-text-style": "reverse",
        "ansi-background": "ansi_default",
        "ansi-foreground": "ansi_default",
        "border-blurred": "ansi_default",
        "block-cursor-foreground": "ansi_default",
        "block-cursor-background": "ansi_default",
        "input-selection-background": "ansi_cyan",
        "input-selection-foreground": "ansi_black",
        "screen-selection-background": "ansi_cyan",
        "screen-selection-foreground": "ansi_black",
    },
)
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


class PlainGlyphs(LineFilter):
    """Characters that any console has, in place of those of the pictures."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """A line of the screen, character for character."""
        return [Segment(text.translate(PLAIN), style, control) for text, style, control in segments]


def next_sample(name: str, offered: Sequence[str]) -> str:
    """Name of the sample after another.

    Args:
        name: The one that is shown.
        offered: Those there are here.
    """
    names = [sample.name for sample in SAMPLES if sample.name in offered]
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]
