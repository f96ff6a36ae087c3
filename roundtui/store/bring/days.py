"""Days as people write them, and the order of day, month and year that a whole file proves."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dateutil.parser import parserinfo


class Order(StrEnum):
    """Order in which day, month and year stand."""

    DMY = "dmy"
    MDY = "mdy"
    YMD = "ymd"


_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_COMPACT = re.compile(r"(19\d\d|20\d\d)(\d\d)(\d\d)")
_THREE = re.compile(r"(\d{1,2})([-/.])\s?(\d{1,2})[-/.]\s?(\d{2}|\d{4})(?:,? \d{1,2}:\d\d.*)?")
_TWO = re.compile(r"(\d{1,2})([-/.])\s?(\d{1,2})\.?")
_SERIAL = re.compile(r"[2-6]\d{4}(\.0+)?")
_WEEKDAY = re.compile(r"^[^\W\d]{2,10}\.?,?\s+(?=\d)")
_SPREADSHEET_ZERO = date(1899, 12, 30)
"""Day 0 of the numbers by which spreadsheets count days since 1900."""
_MONTHS = (
    ("jan", "january", "januar", "jänner", "janvier", "janv", "enero", "ene"),
    ("feb", "february", "februar", "février", "fevrier", "févr", "fév", "febrero"),
    ("mar", "march", "märz", "maerz", "mär", "mrz", "mars", "marzo"),
    ("apr", "april", "avril", "avr", "abril", "abr"),
    ("may", "mai", "mayo"),
    ("jun", "june", "juni", "juin", "junio"),
    ("jul", "july", "juli", "juillet", "juil", "julio"),
    ("aug", "august", "août", "aout", "agosto", "ago"),
    ("sep", "sept", "september", "septembre", "septiembre"),
    ("oct", "october", "oktober", "okt", "octobre", "octubre"),
    ("nov", "november", "novembre", "noviembre"),
    ("dec", "december", "dezember", "dez", "décembre", "decembre", "déc", "diciembre", "dic"),
)


_MONTH_NAMES = frozenset(name for names in _MONTHS for name in names)


def _bare(text: str) -> str:
    """A day without the name of its weekday before it."""
    match = _WEEKDAY.match(text.strip())
    return (
        text.strip()
        if match is None or match.group().strip(" .,").casefold() in _MONTH_NAMES
        else text.strip()[match.end() :]
    )


class Days:
    """Understands the days of one file.

    Args:
        order: Order that was stated; None: what the file proves.
        year: Year of days that have none; None: there is none to take.
        last: No day can be later; None: any. A day after it disproves an order.
    """

    def __init__(self, order: Order | None = None, year: int | None = None, last: date | None = None) -> None:
        self.order = order
        self.year = year
        self.last = last
        self.stated = order is not None
        self._known: dict[str, date | None] = {}
        self.lacks_year = False
        """Whether days without a year were met, and no year to take."""

    def prove(self, texts: Iterable[str]) -> bool:
        """See what order the days of a file prove.

        Args:
            texts: Different days as written.

        Returns:
            Whether it is settled, or does not matter.
        """
        pairs: list[tuple[int, int, str]] = []
        dotted = False
        for text in texts:
            bare = _bare(text)
            three, two = _THREE.fullmatch(bare), _TWO.fullmatch(bare)
            match = three or two
            if match is None:
                continue
            if two is not None and three is None and self.year is None:
                self.lacks_year = True
            dotted = dotted or match.group(2) == "."
            pairs.append((int(match.group(1)), int(match.group(3)), bare))
        if self.stated or not pairs:
            return True
        possible = [order for order in (Order.DMY, Order.MDY) if self._fits(order, pairs)]
        if len(possible) == 1:
            self.order = possible[0]
        elif dotted:
            # Points stand between day, month and year in this order wherever they are written (common practice).
            self.order = Order.DMY
        elif not possible:
            # Some rows prove one order and some the other: more of them are right than wrong.
            first = sum(one > 12 for one, _, _ in pairs)
            self.order = Order.DMY if first * 2 >= sum(one > 12 or two > 12 for one, two, _ in pairs) else Order.MDY
        return self.order is not None

    def _fits(self, order: Order, pairs: list[tuple[int, int, str]]) -> bool:
        if any((two if order is Order.DMY else one) > 12 for one, two, _ in pairs):
            return False
        if self.last is None:
            return True
        trial = Days(order, self.year)
        return all((day := trial.day(text)) is None or day <= self.last for _, _, text in pairs)

    def day(self, text: str) -> date | None:
        """A day; None where it is none.

        Args:
            text: As written.
        """
        if text not in self._known:
            self._known[text] = self._read(_bare(text))
        return self._known[text]

    def _read(self, text: str) -> date | None:  # noqa: PLR0911
        if match := _ISO.fullmatch(text) or _COMPACT.fullmatch(text):
            return _date(*match.groups())
        if match := _THREE.fullmatch(text):
            first, _, second, last = match.groups()
            if self.order is Order.YMD and len(last) == 2:
                return _date(_century(first), second, last)
            day, month = (second, first) if self.order is Order.MDY else (first, second)
            return _date(_century(last), month, day) if self.order is not None else None
        if match := _TWO.fullmatch(text):
            if self.year is None or self.order is None:
                return None
            first, _, second = match.groups()
            day, month = (second, first) if self.order is Order.MDY else (first, second)
            return _date(str(self.year), month, day)
        if _SERIAL.fullmatch(text):
            return _SPREADSHEET_ZERO + timedelta(days=int(text.partition(".")[0]))
        return self._in_words(text) if re.search(r"[^\W\d]{3}", text) and re.search(r"\d", text) else None

    def _in_words(self, text: str) -> date | None:
        """A day with the name of its month."""
        if len(text) > 40 or (not re.search(r"\d{4}|\d\D+\d", text) and self.year is None):
            return None
        from dateutil import parser

        default = datetime(self.year or 1, 1, 1)  # noqa: DTZ001 - only the day is taken
        try:
            found = parser.parse(text, parserinfo=_names(self.order is not Order.MDY), default=default)
        except (ValueError, OverflowError, TypeError, AttributeError):
            return None
        return found.date() if 1900 <= found.year <= 2199 else None


@cache
def _names(day_first: bool) -> parserinfo:
    """Names of months in four languages, as the reader of dates wants them."""
    from dateutil.parser import parserinfo

    class Names(parserinfo):
        MONTHS: Any = list(_MONTHS)  # noqa: RUF012
        JUMP: Any = [*parserinfo.JUMP, "de", "del", "le", "den", "am"]  # noqa: RUF012

    return Names(dayfirst=day_first)


def _century(year: str) -> str:
    if len(year) != 2:
        return year
    return f"20{year}" if int(year) < 80 else f"19{year}"


def _date(year: str, month: str, day: str) -> date | None:
    try:
        found = date(int(year), int(month), int(day))
    except ValueError:
        return None
    return found if 1900 <= found.year <= 2199 else None
