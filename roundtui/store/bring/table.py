"""A table as somebody's program wrote it: text of any encoding and separator, or a spreadsheet; its head found.

What people call columns, marks and answers in such tables, in English, German, French and Spanish. The words are from
memory; a column that is not among them is asked for once and kept.
"""

from __future__ import annotations

import csv
import re
import tomllib
import unicodedata
import warnings
import zipfile
from codecs import getincrementaldecoder
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.files import regular


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
    if key in _NO or text.strip() in ("-", "–"):
        return "no"
    return "" if not text.strip() or mark_meaning(text) == BLANK else None


class Number(Frozen):
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


Row = tuple[int, list[str]]
"""Line, from 1, and the cells as text."""
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
_LOOKED_AT = 40
"""Rows among which the head is looked for."""
_MOST_UNPACKED = 800_000_000
"""Longest spreadsheet, unpacked. [bytes]"""
_PIECE = 1 << 16
Score = Callable[[Sequence[str]], int]
"""How much a row looks like a head."""


@dataclass(frozen=True)
class Table:
    """One table of a file."""

    name: str
    """File, and sheet where there are several."""
    read_as: str
    """How it was read, in words."""
    titles: tuple[str, ...]
    """What stands above the head."""
    head: tuple[str, ...]
    """Headings in order; empty where a column has none."""
    above: tuple[str, ...]
    """The row above the head, each heading going on to the right until the next, as merged cells do."""
    head_line: int
    """Line of the head."""
    source: Callable[[], Iterator[Row]]
    """Gives all rows anew."""

    def rows(self) -> Iterator[Row]:
        """Rows below the head that are not blank throughout."""
        width = len(self.head)
        for line, cells in self.source():
            if line > self.head_line and any(cells):
                yield line, cells if len(cells) == width else [*cells[:width], *[""] * (width - len(cells))]


def read_tables(path: Path, score: Score) -> tuple[tuple[Table, ...], tuple[str, ...]]:
    """The tables of a file.

    Args:
        path: The file.
        score: Says how much a row looks like a head; 0: not at all.

    Returns:
        The tables, and the names of sheets that hold none.

    Raises:
        StoreError: It cannot be read, or is no table.
    """
    name = sanitize(path.name, 80)
    try:
        with regular(path).open("rb") as file:
            start = file.read(8)
    except OSError as error:
        what = "is a folder" if path.is_dir() else error.strerror or str(error)
        raise StoreError(f"{sanitize(str(path), 200)}: {what}", "check the name of the file") from error
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        raise StoreError(f"{name} is a spreadsheet of the old form", "save it as .xlsx or CSV")
    if start.startswith(b"PK"):
        return _sheets(path, name, score)
    if start.startswith((b"%PDF", b"\x1f\x8b", b"\x89PNG")):
        raise StoreError(f"{name} is no table", "save the table as .xlsx or CSV")
    encoding = _encoding(path)
    separator = _separator(path, encoding)

    def source() -> Iterator[Row]:
        return _text_rows(path, encoding, separator, name)

    spoken = {
        "utf-8-sig": "UTF-8",
        "utf-16": "UTF-16",
        "utf-16-le": "UTF-16",
        "utf-16-be": "UTF-16",
        "cp1252": "Latin-1",
    }
    words = f"{spoken.get(encoding, encoding)}, {_SEPARATORS[separator]}"
    found = _table(name, words, source, score)
    if found is None:
        raise StoreError(f"{name} holds no table", "it needs a row of headings, and rows below it")
    return (found,), ()


def _encoding(path: Path) -> str:
    with path.open("rb") as file:
        start = file.read(4096)
        if start.startswith((b"\xff\xfe", b"\xfe\xff")):
            return "utf-16"
        if start and start.count(b"\x00") > len(start) // 4:
            return "utf-16-le" if start[1::2].count(0) >= start[::2].count(0) else "utf-16-be"
        decoder = getincrementaldecoder("utf-8-sig")()
        piece = start
        try:
            while piece:
                decoder.decode(piece)
                piece = file.read(_PIECE)
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            return "cp1252"
    return "utf-8-sig"


def _separator(path: Path, encoding: str) -> str:
    """The separator that gives most rows one and the same number of columns, and more than one."""
    with path.open(encoding=encoding, errors="replace", newline="") as file:
        lines = list(islice((line[:100_000] for line in file), _LOOKED_AT * 2))
    best, chosen = (0, 0), ","
    for separator in _SEPARATORS:
        try:
            widths = Counter(len(row) for row in csv.reader(lines, delimiter=separator) if any(row))
        except csv.Error:
            continue
        rated = max(((times, width) for width, times in widths.items() if width > 1), default=(0, 0))
        if rated > best:
            best, chosen = rated, separator
    return chosen


def _text_rows(path: Path, encoding: str, separator: str, name: str) -> Iterator[Row]:
    try:
        with path.open(encoding=encoding, errors="replace", newline="") as file:
            reader = csv.reader(file, delimiter=separator)
            line = 1
            for cells in reader:
                yield line, [cell.strip() for cell in cells]
                line = reader.line_num + 1
    except csv.Error as error:
        raise StoreError(
            f"{name}, line {line}: cannot be read as a table: {error}", "look at the quotes there"
        ) from error
    except OSError as error:
        raise StoreError(f"{name} cannot be read: {error.strerror or error}", "check who may read it") from error


def _sheets(path: Path, name: str, score: Score) -> tuple[tuple[Table, ...], tuple[str, ...]]:
    try:
        with zipfile.ZipFile(path) as packed:
            if sum(one.file_size for one in packed.infolist()) > _MOST_UNPACKED:
                raise StoreError(f"{name} is too large", "bring it in parts")
            if "mimetype" in packed.namelist():
                raise StoreError(f"{name} is a spreadsheet of another form", "save it as .xlsx or CSV")
        with _workbook(path) as book:
            titles = [sheet.title for sheet in book.worksheets if sheet.sheet_state == "visible"]
    except StoreError:
        raise
    except Exception as error:
        raise _unreadable(name, error) from error
    found: list[Table] = []
    empty: list[str] = []
    for title in titles:

        def source(title: str = title) -> Iterator[Row]:
            return _sheet_rows(path, title, name)

        shown = f"{name}, sheet {sanitize(title, 40)}" if len(titles) > 1 else name
        table = _table(shown, "spreadsheet", source, score, title)
        if table is None:
            empty.append(sanitize(title, 40))
        else:
            found.append(table)
    if not found:
        raise StoreError(f"{name} holds no table", "it needs a row of headings, and rows below it")
    rated = [score(table.head) for table in found]
    # A sheet of remarks beside sheets of readings is named and not taken for a table.
    good = [table for table, points in zip(found, rated, strict=True) if points * 2 >= max(rated)]
    return tuple(good), (*empty, *(table.name for table in found if table not in good))


@contextmanager
def _workbook(path: Path) -> Iterator[Any]:
    """A spreadsheet open for reading; what its library remarks on is no matter here."""
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with closing(load_workbook(path, read_only=True, data_only=True)) as book:
            yield book


def _sheet_rows(path: Path, title: str, name: str) -> Iterator[Row]:
    try:
        with _workbook(path) as book:
            sheet = book[title]
            sheet.reset_dimensions()
            for line, cells in enumerate(sheet.iter_rows(values_only=True), 1):
                yield line, [_cell(value) for value in cells]
    except Exception as error:
        raise _unreadable(name, error) from error


def _unreadable(name: str, error: Exception) -> StoreError:
    words = sanitize(str(error), 80) or type(error).__name__
    return StoreError(f"{name} cannot be read as a spreadsheet: {words}", "open it, and save it anew as .xlsx or CSV")


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(timespec="minutes")
    if isinstance(value, (date, time)):
        return value.isoformat()[:10] if isinstance(value, date) else value.isoformat(timespec="minutes")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value).strip()


def _table(name: str, read_as: str, source: Callable[[], Iterator[Row]], score: Score, title: str = "") -> Table | None:
    top = list(islice(source(), _LOOKED_AT))
    filled = [(line, cells) for line, cells in top if any(cells)]
    if len(filled) < 2:
        return None
    rated = [(score(cells), -at) for at, (_, cells) in enumerate(filled[:-1])]
    points, place = max(rated)
    if not points:
        wide = max(sum(map(bool, cells)) for _, cells in filled)
        place = -next(at for at, (_, cells) in enumerate(filled) if sum(map(bool, cells)) == wide)
    if _goes_on_below(filled[-place:]):
        place -= 1
    line, head = filled[-place]
    before = [cells for at, cells in filled if at < line]
    above = _to_the_right(before[-1] if before and sum(map(bool, before[-1])) > 1 else [], len(head))
    # A heading that is merged over both rows stands in the upper one.
    named = tuple(cell or (above[at] if at == 0 or above[at] != above[at - 1] else "") for at, cell in enumerate(head))
    while named and not named[-1]:
        named = named[:-1]
    titles = tuple(cell for cells in before for cell in cells if cell)
    return Table(name, read_as, (*titles, title) if title else titles, named, tuple(above[: len(named)]), line, source)


def _goes_on_below(rows: Sequence[Row]) -> bool:
    """Whether a head has a second row: merged cells over it, and nothing yet in the first column."""
    if len(rows) < 3:
        return False
    upper, lower, after = (cells for _, cells in rows[:3])
    first = next((at for at, cell in enumerate(upper) if cell), 0)
    gaps = any(cell and not (upper[at] if at < len(upper) else "") for at, cell in enumerate(lower))
    filled = sum(map(bool, lower)) > 1 and first < len(after) and bool(after[first])
    return gaps and filled and (first >= len(lower) or not lower[first])


def _to_the_right(cells: Sequence[str], width: int) -> list[str]:
    found, last = [], ""
    for at in range(width):
        last = (cells[at] if at < len(cells) else "") or last
        found.append(last)
    return found


def year_in(texts: Sequence[str]) -> int | None:
    """The one year that stands in some texts; None where there is none, or several.

    Args:
        texts: Titles, the name of a sheet or of the file.
    """
    years = {int(year) for text in texts for year in re.findall(r"(?<!\d)(19\d\d|20\d\d)(?!\d)", text)}
    return years.pop() if len(years) == 1 else None
