"""Text from people made harmless to show: names, notes and labels can hold anything.

Days as people type them in a hurry: the 24th, last Tuesday, two days ago.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from functools import lru_cache

MARK = "\N{REPLACEMENT CHARACTER}"
"""Stands where a character would have acted on the terminal instead of being seen."""
ELLIPSIS = "…"
"""Stands where text was cut short."""
SHOWN = 40
"""Cells that a label or a name takes at most where a message names it. [cells]"""
MOST_SHOWN = 10_000
"""Longest text that is looked at. [characters]"""
_MOST_ACCENTS = 2
_UNSEEN = frozenset("\u200c\u200d\ufe0e\ufe0f\u00ad")
"""Joiners, variation selectors and the soft hyphen: they show nothing of their own and are left out."""
WARNS = "! "
"""Stands before every warning, so that it is one without colour too."""
_PLAIN = frozenset(map(chr, (*range(0x20, 0x7F), *range(0xA1, 0xAD), *range(0xAE, 0x180)))) | frozenset(
    "–—‘’“”…←↑→↓─│┌┐└┘├┤┬┴┼▁▂▃▄▅▆▇█▌▏░▒▲▽◆○●"
)
"""Characters of one cell that are shown as they are: what nearly every text is made of, so no table is asked."""
_BREAKS = frozenset("\t\n\v\f\r\x1c\x1d\x1e\x1f\x85\u2028\u2029")


def several(amount: int, one: str, many: str = "") -> str:
    """Write an amount with its noun.

    Args:
        amount: How many.
        one: The noun for one.
        many: The noun for several; ``one`` with an s where empty.

    Returns:
        As ``1 day`` or ``3 days``.
    """
    return f"{amount} {one if amount == 1 else many or one + 's'}"


def several_of(table: str, number: int = 2) -> str:
    """What the rows of a table are called, as many as there are: set-up changes, 1 set-up change.

    Args:
        table: Its name.
        number: How many.
    """
    many = table.replace("set_up", "set-up").replace("_", " ")
    if number != 1 or many == "species":
        return many
    return re.sub("(?<=x)es$|s$", "", re.sub("ies$", "y", many))


def sanitize(text: str, width: int | None = None) -> str:
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
    if (text.isascii() and text.isprintable()) or (len(text) <= MOST_SHOWN and _PLAIN.issuperset(text)):
        return text if width is None or len(text) <= width else _cut(text, width)
    shown = _shown(text[:MOST_SHOWN]) + (ELLIPSIS if len(text) > MOST_SHOWN else "")
    return shown if width is None or cells(shown) <= width else _cut(shown, width)


def ruled(table: str) -> Iterator[list[str]]:
    """The cells of a table of the trade that is written with ``|`` between them, row by row.

    A row that ends in a backslash goes on in the next line; one that begins with ``#`` says what the cells are.
    """
    rows = table.replace("\\\n", "").splitlines()
    return ([" ".join(cell.split()) for cell in row.split("|")] for row in rows if row.strip() and row[0] != "#")


def listed(words: Iterable[str], most: int | None = None) -> str:
    """Join words as a sentence does.

    Args:
        words: What to list.
        most: How many are named; None: all. Of the others it says how many there are.

    Returns:
        As ``A2``, ``A2 and A3`` or ``A2, A3 and A10``.
    """
    items = list(words)
    if most is not None and len(items) > most:
        items[most:] = [f"{len(items) - most} more"]
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


def cells(text: str) -> int:
    """Cells a text takes on a terminal, once it is plain.

    Args:
        text: Plain text.

    Returns:
        Its width. [cells]
    """
    return len(text) if text.isascii() or _PLAIN.issuperset(text) else sum(_width(char) for char in text)


def padded(text: str, width: int) -> str:
    """A text made plain, cut or filled with blanks to an exact width.

    Args:
        text: Text as a person wrote it.
        width: Cells it shall take. [cells]

    Returns:
        Text of that width.
    """
    shown = sanitize(text, width)
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
    if char in _PLAIN:
        return 1
    if unicodedata.combining(char) or unicodedata.category(char) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(char) in {"W", "F"} else 1


HINT = "as 2031-06-03, 06-03, 3 (the last 3rd), tue (the last Tuesday) or -2 (two days ago)"
"""How a day can be written."""
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
"""Weekdays by their names, Monday first."""
_MOST_BACK = 366
_LONGEST_MONTH = 31


YEARS = (1900, 2199)
"""Years a date can lie in; anything else is a slip of the keys."""


def parse_day(text: str) -> date | None:
    """A day written in ISO 8601, as 2026-05-01.

    Args:
        text: What was written.

    Returns:
        None for anything else, days that do not exist and years beyond ``YEARS`` included.
    """
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day if YEARS[0] <= day.year <= YEARS[1] else None


@lru_cache(maxsize=4096)
def spoken_day(day: date, today: date) -> str:
    """A day as people say it: ``Tue 15 Jul``, with its year where that is not this one.

    Args:
        day: The day.
        today: The day it is said on.
    """
    return f"{day:%a} {day.day} {day:%b}" + ("" if day.year == today.year else f" {day.year}")


def full_day(day: date) -> str:
    """A day as people say it, with its year: ``Tue 15 Jul 2025``."""
    return spoken_day(day, date.min)


# A pattern that begins with digits is found in half the time, so it looks back over the day.
_BEFORE = r"(?<![\w/.-].{10})(?<!--[a-z]{2} .{10})(?<!--day .{10})(?<!--from .{10})"
_ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d(?![\w/-])" + _BEFORE, re.ASCII)


def spoken_days(words: str, today: date | None = None) -> str:
    """Words with their days as people say them: 2025-06-10 as Tue 10 Jun 2025. Names of files and options stay.

    Args:
        words: In which a day stands in ISO 8601.
        today: The day it is said on, whose year goes without saying.
    """
    return _ISO_DAY.sub(lambda found: _spoken(found[0], today or date.min), words)


def _spoken(text: str, today: date) -> str:
    return text if (day := _day(*map(int, text.split("-")))) is None else spoken_day(day, today)


def parse_short_day(text: str, today: date) -> date | None:
    """The day a short text stands for, never one that is still to come unless it is written out.

    Args:
        text: An ISO day, month-day (its dash may be left out), a day of the month, the first letters of a weekday, or
            so many days ago; blank: today.
        today: The day from which it is meant.

    Returns:
        None where it is no day.
    """
    said = text.strip().casefold()
    if not said or not said.isascii():
        return None if said else today
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", said):
        return _day(*map(int, said.split("-")))
    if found := re.fullmatch(r"(\d{1,2})-(\d{1,2})|(\d{1,2})(\d{2})", said):
        month, day = (int(one) for one in found.groups() if one)
        return next((one for back in range(9) if (one := _day(today.year - back, month, day)) and one <= today), None)
    if re.fullmatch(r"\d{1,2}", said):
        back = (today - timedelta(days=days) for days in range(2 * _LONGEST_MONTH + 1))
        return next((one for one in back if one.day == int(said)), None)
    if re.fullmatch(r"-\d{1,3}", said):
        return today - timedelta(days=int(said[1:])) if int(said[1:]) <= _MOST_BACK else None
    return _weekday(said, today)


def _weekday(said: str, today: date) -> date | None:
    meant = [at for at, name in enumerate(WEEKDAYS) if len(said) > 1 and name.startswith(said)]
    return today - timedelta(days=(today.weekday() - meant[0]) % 7) if len(meant) == 1 else None


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
