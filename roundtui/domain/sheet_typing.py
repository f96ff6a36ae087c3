"""One row of a tally sheet as it is typed: keys go in, the text of the row and the next step come out.

The row takes the notation of paper sheets whole, so its letters are text. A letter that is no mark acts while the row
is blank, where no mark can be meant. Nothing here knows a screen.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from roundtui.domain.keying_count import NUMLOCK_KEYS, NUMLOCK_OFF
from roundtui.domain.tally import MARKS_HINT, REASONS

MOST_TYPED = 20_000
"""Longest text of a row; as long as a note can be. [characters]"""
MARKS = frozenset("lrkbcexown0123456789 ")
"""Characters that a row can begin with."""
PAD = {"+": "l", "*": "r", "/": "x", ".": "c", ",": "c"}
"""Keys of the number pad, and the marks they stand for."""
_LABEL = re.compile(r'\s*(?:"(?:[^"]|"")*"|[^\s"]\S*)')
_COLON = re.compile(r"\s*:")


class Line(StrEnum):
    """What the next key is text of."""

    ROW = "row"
    GO_TO = "go-to"
    DAY = "day"
    STAGE = "stage"
    """Fruit stage of the row's block."""
    PLACE = "place"
    """Which trap stands on this row of the paper."""


class Ask(StrEnum):
    """What a row asks of the screen around it."""

    NOTHING = ""
    ENTER = "enter"
    UP = "up"
    DOWN = "down"
    OLD_TEXT = "old-text"
    LINE = "line"
    """The line that stands open was ended."""
    PAST = "past"
    LAST = "last"
    SUMMARY = "summary"
    SECOND = "second"
    DIFFERENCES = "differences"
    RIGHT_SHEET = "right-sheet"
    TAKE_BACK = "take-back"
    BACK = "back"
    HELP = "help"


@dataclass(frozen=True, slots=True, kw_only=True)
class Typing:
    """A row under way."""

    line: Line = Line.ROW
    text: str = ""
    """What is typed on the row."""
    words: str = ""
    """What is typed on the line that stands open."""
    keys: int = 0
    """Keys pressed since the row was begun."""
    looked: bool = False
    """Whether the key before was a bare Up or Down."""
    leaving: bool = False
    """Whether Escape was pressed while something was typed."""
    ask: Ask = Ask.NOTHING
    said: str = ""
    """A word to the person at the keys."""


_COMMANDS: Mapping[str, Ask | Line] = {
    "g": Line.GO_TO,
    "d": Line.DAY,
    "f": Line.STAGE,
    "i": Line.PLACE,
    "p": Ask.PAST,
    "z": Ask.LAST,
    "s": Ask.SUMMARY,
    "v": Ask.SECOND,
    "m": Ask.DIFFERENCES,
    "y": Ask.RIGHT_SHEET,
    "u": Ask.TAKE_BACK,
    "?": Ask.HELP,
}
_OPENING = {
    Line.GO_TO: "a trap of this sheet; Enter goes there, Escape calls it off",
    Line.DAY: "day of this row and all that follow, as 2031-06-03, 06-03 or 3; Enter sets it, Escape calls it off",
    Line.STAGE: "fruit stage of this row's block, two digits; Enter records it, Escape calls it off",
    Line.PLACE: "label of the trap that stands on this row of the paper; the order is kept. Escape calls it off",
}


def press(now: Typing, key: str) -> Typing:
    """What a key does.

    Args:
        now: The row so far.
        key: One character, or the name of a key: enter, escape, backspace, up, down …
    """
    clean = replace(now, ask=Ask.NOTHING, said="", looked=False, leaving=False, keys=now.keys + 1)
    if now.line is not Line.ROW:
        return _on_line(clean, key)
    match key:
        case "enter":
            return replace(clean, ask=Ask.ENTER, looked=now.looked)
        case "up" | "down":
            return replace(clean, ask=Ask.UP if key == "up" else Ask.DOWN)
        case "escape":
            return _escape(clean, now.leaving)
        case "backspace":
            return replace(clean, text=now.text[:-1]) if now.text else replace(clean, ask=Ask.OLD_TEXT)
    return replace(clean, said=NUMLOCK_OFF) if key in NUMLOCK_KEYS else _character(clean, key)


def typed_on(now: Typing, text: str) -> Typing:
    """A row with a piece of text added at its end, as by a paste.

    Args:
        now: The row so far.
        text: One line.
    """
    if now.line is not Line.ROW:
        return replace(now, words=(now.words + text)[:MOST_TYPED], said="", ask=Ask.NOTHING)
    return replace(now, text=(now.text + text)[:MOST_TYPED], said="", ask=Ask.NOTHING, keys=now.keys + len(text))


def in_words(text: str) -> bool:
    """Whether the next character belongs to a note or a label, where every character is itself.

    Args:
        text: A row as typed so far.
    """
    at = 0
    while at < len(text):
        letter = text[at].lower()
        if letter == "n":
            return True
        colon = _COLON.match(text, at + 1) if letter in "rbw" else None
        if colon is not None:
            label = _LABEL.match(text, colon.end())
            if label is None or (label.end() == len(text) and not text.endswith('"')):
                return True
            at = label.end()
        else:
            at += 1
    return False


def _escape(now: Typing, again: bool) -> Typing:
    if not now.text:
        return replace(now, ask=Ask.BACK)
    if again:
        return replace(now, text="", said=f"{now.text[:20]} dropped, not recorded")
    return replace(now, leaving=True, said=f"{now.text[:20]} is not recorded yet: Enter records, Escape again drops it")


def _character(now: Typing, key: str) -> Typing:
    if len(key) != 1:
        return now
    if not now.text:
        return _first(now, key.lower())
    if len(now.text) >= MOST_TYPED:
        return replace(now, said=f"A row holds {MOST_TYPED} characters")
    if not in_words(now.text):
        if key == "-":
            return replace(now, said=f"{now.text[-20:]} is typed: - stays here, Up records it and goes up")
        key = _reason(now.text, PAD.get(key, key))
    return replace(now, text=now.text + key)


def _first(now: Typing, key: str) -> Typing:
    """The first key of a row: a mark begins it, any other letter acts."""
    if key == "-":
        return replace(now, ask=Ask.UP)
    mark = PAD.get(key, key)
    if mark in MARKS:
        return replace(now, text=mark.strip())
    does = _COMMANDS.get(key)
    if isinstance(does, Line):
        return replace(now, line=does, words="", said=_OPENING[does])
    if isinstance(does, Ask):
        return replace(now, ask=does)
    return replace(now, said=f"{key} is no mark: {MARKS_HINT}")


def _reason(text: str, key: str) -> str:
    """After ``x`` a digit of the number pad stands for a letter."""
    letters = tuple(REASONS)
    after_x = text.rstrip()[-1:].lower() == "x"
    return letters[int(key) - 1] if after_x and key in "123456" else key


def _on_line(now: Typing, key: str) -> Typing:
    match key:
        case "enter":
            return replace(now, ask=Ask.LINE) if now.words.strip() else replace(now, line=Line.ROW)
        case "escape":
            return replace(now, line=Line.ROW, words="")
        case "backspace":
            return replace(now, words=now.words[:-1])
    return replace(now, words=now.words + key) if len(key) == 1 and len(now.words) < 200 else now
