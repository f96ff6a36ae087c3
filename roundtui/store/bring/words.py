"""What people call columns, marks and answers in tables of their own, in English, German, French and Spanish.

The words are from memory, as such tables are headed; a column that is not among them is asked for once and kept.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path


class Kind(StrEnum):
    """What a table holds."""

    FARMS = "farms"
    BLOCKS = "blocks"
    TRAPS = "traps"
    LOTS = "lots"
    ROUTES = "routes"
    COUNTS = "counts"
    WEATHER = "weather"


LEFT_OUT = ""
"""What a column is that is not taken."""
FOR_ALL = ("crop", "species", "block", "farm")
"""Columns that a table may lack, where one answer holds for all its rows."""
BLANK = "blank"
"""What a mark is that stands for nothing written: never a zero."""


def word_lists(table: str) -> dict[str, tuple[str, ...]]:
    """Words by what they stand for.

    Args:
        table: Table of ``words.toml``.
    """
    said = tomllib.loads(Path(__file__).with_name("words.toml").read_text("utf-8"))[table]
    return {name: tuple(words.split(", ")) for name, words in said.items()}


def targets(kind: Kind) -> tuple[str, ...]:
    """Columns that a table of a kind can have.

    Args:
        kind: What the table holds.
    """
    return tuple(word_lists("kinds")[kind][0].split())


def head_key(text: str) -> str:
    """A heading as it is compared: letters and digits alone, without accents and case, and without what is in brackets.

    Args:
        text: The cell.
    """
    text = text.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue").replace("ß", "ss")
    text = "".join(one for one in unicodedata.normalize("NFKD", text) if not unicodedata.combining(one))
    text = re.sub(r"[(\[].*?[)\]]|°\s*[cf]\b|\bdeg\w*\b", " ", text)
    return " ".join(re.findall(r"[a-z0-9]+", text))


@cache
def _known(kind: Kind) -> dict[str, str]:
    columns = word_lists("columns")
    return {head_key(word): target for target in reversed(targets(kind)) for word in (target, *columns[target])}


def target_of(kind: Kind, heading: str) -> str | None:
    """The column that a heading stands for.

    Args:
        kind: What the table holds.
        heading: The heading as written.

    Returns:
        None where nobody knows it.
    """
    return _known(kind).get(head_key(heading))


_MARKS = {mark: meaning for meaning, marks in word_lists("marks").items() for mark in marks}
TOTALS, _YES, _NO = (frozenset(word_lists("answers")[name]) for name in ("totals", "yes", "no"))
"""First words of rows that sum others up, and are no readings; what says yes, and what says no."""


def mark_meaning(text: str) -> str | None:
    """What a word in the place of a count stands for: a reason, ``BLANK``, or None where nobody can know.

    Args:
        text: The cell.
    """
    return _MARKS.get(head_key(text))


def yes_no(text: str) -> str | None:
    """A yes or no of whatever language as the files have it.

    Args:
        text: The cell.

    Returns:
        yes, no, an empty text for a blank one; None where it is neither.
    """
    key = head_key(text)
    if key in _YES or text.strip() in ("✓", "✔", "☑"):
        return "yes"
    return (
        "no"
        if key in _NO or text.strip() in ("-", "–")
        else ""
        if not text.strip() or mark_meaning(text) == BLANK
        else None
    )


@dataclass(frozen=True, slots=True)
class Number:
    """A number as people write it."""

    value: Decimal
    """What it is."""
    odd: bool
    """Whether it was written otherwise than in plain digits with a point, as 3,0."""


_PLAIN = re.compile(r"[+-]?\d{1,12}(\.\d{1,9})?")
_COMMA = re.compile(r"[+-]?\d{1,12},\d{1,9}")
_GROUPED = re.compile(
    r"[+-]?\d{1,3}([.' \u00a0\u202f]\d{3})+(,\d{1,9})?|[+-]?\d{1,3}([,' \u00a0\u202f]\d{3})+(\.\d{1,9})?"
)


def number_of(text: str) -> Number | None:
    """A number with a point or a comma before its decimals.

    Args:
        text: The cell.

    Returns:
        None for anything else; 1.234 is one and a bit, 1.234,5 and 1 234 are thousands.
    """
    text = text.strip().replace("\u2212", "-")
    if not text.isascii() and not any(one in text for one in "\u00a0\u202f"):
        return None
    if _PLAIN.fullmatch(text):
        return Number(Decimal(text), "." in text)
    if _COMMA.fullmatch(text):
        return Number(Decimal(text.replace(",", ".")), True)
    if _GROUPED.fullmatch(text):
        digits = re.sub(r"[' \u00a0\u202f]", "", text)
        comma = digits.rfind(",") > digits.rfind(".")
        digits = digits.replace(".", "").replace(",", ".") if comma and "." in digits else digits.replace(",", "")
        return Number(Decimal(digits), True) if _PLAIN.fullmatch(digits) else None
    return None
