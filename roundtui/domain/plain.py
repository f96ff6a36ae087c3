"""Text from people made harmless to show: names, notes and labels can hold anything."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

MARK = "\N{REPLACEMENT CHARACTER}"
"""Stands where a character would have acted on the terminal instead of being seen."""
ELLIPSIS = "…"
"""Stands where text was cut short."""
MOST_SHOWN = 10_000
"""Longest text that is looked at. [characters]"""
_MOST_ACCENTS = 2
_UNSEEN = frozenset("\u200c\u200d\ufe0e\ufe0f\u00ad")
"""Joiners, variation selectors and the soft hyphen: they show nothing of their own and are left out."""
_BREAKS = frozenset("\t\n\v\f\r\x1c\x1d\x1e\x1f\x85\u2028\u2029")


def plain(text: str, width: int | None = None) -> str:
    """One line that a terminal can only show, never obey.

    Breaks and tabs become blanks; other control characters, marks that turn the direction of writing, lone surrogates
    and characters nobody has assigned become one visible mark each; piled-up accents are thinned out. Brackets and
    everything else stay as they are: whoever shows the text must not read it as markup.

    Args:
        text: Text as a person wrote it.
        width: Most cells it may take; longer text ends in ``…``. None: not cut. [cells]

    Returns:
        The text to show; never wider than ``width``.
    """
    if text.isascii() and text.isprintable():
        return text if width is None or len(text) <= width else _cut(text, width)
    shown = _shown(text[:MOST_SHOWN]) + (ELLIPSIS if len(text) > MOST_SHOWN else "")
    return shown if width is None or cells(shown) <= width else _cut(shown, width)


def cells(text: str) -> int:
    """Cells a text takes on a terminal, once it is plain.

    Args:
        text: Plain text.

    Returns:
        Its width. [cells]
    """
    return len(text) if text.isascii() else sum(_width(char) for char in text)


def padded(text: str, width: int) -> str:
    """A text made plain, cut or filled with blanks to an exact width.

    Args:
        text: Text as a person wrote it.
        width: Cells it shall take. [cells]

    Returns:
        Text of that width.
    """
    shown = plain(text, width)
    return shown + " " * (width - cells(shown))


def _cut(text: str, width: int) -> str:
    if width <= 0:
        return ""
    left, kept = width - 1, []
    for char in text:
        left -= _width(char)
        if left < 0:
            break
        kept.append(char)
    return "".join(kept).rstrip() + ELLIPSIS


def _shown(text: str) -> str:
    kept: list[str] = []
    accents = 0
    for char in text:
        if char in _BREAKS:
            shown = " "
        elif char in _UNSEEN:
            continue
        else:
            category = unicodedata.category(char)
            accents = accents + 1 if category in {"Mn", "Me"} else 0
            if accents > _MOST_ACCENTS:
                continue
            shown = MARK if category in {"Cc", "Cf", "Cs", "Cn", "Co"} else char
        kept.append(shown)
    return "".join(kept)


@lru_cache(maxsize=4096)
def _width(char: str) -> int:
    if unicodedata.combining(char) or unicodedata.category(char) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(char) in {"W", "F"} else 1
