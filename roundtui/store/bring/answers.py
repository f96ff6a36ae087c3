"""Days as people write them, and the order of day, month and year that a whole file proves.

What a person said of her tables, kept in ``mappings``; what is still to be asked; and what is wrong, by its kind.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui.domain.entries import NoReading
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.domain.toml_table import TableReader, toml_text
from roundtui.errors import Problem, ProblemsError, StoreError
from roundtui.store.bring.table import (
    BLANK,
    FOR_ALL,
    LEFT_OUT,
    Kind,
    Table,
    head_key,
    target_of,
    targets,
    word_lists,
    year_in,
)
from roundtui.store.files import write_whole
from roundtui.store.office import read_toml

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
_MONTHS = tuple(word_lists("months").values())


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


FOLDER = "mappings"
"""Folder inside the scouting folder with one file for each kind of table."""
MARKS = (BLANK, *(reason.value for reason in NoReading if reason is not NoReading.OTHER))
"""What a mark can stand for, beside a number."""
_FACTS = ("dates", "unit", "station", "route", "year", *FOR_ALL)
_TO_ASK = "?"
"""A fact that is still to be asked, since no column has it."""
_SHOWN = 40
_NAMED = 3


class Question(Frozen):
    """Something that nobody can know but the person whose table it is."""

    about: str
    """What the answer is kept as: column, mark, dates, unit, station, route or year."""
    of: str
    """Which column or mark; empty for what holds for the whole file."""
    words: str
    """The question."""
    choices: tuple[tuple[str, str], ...] = ()
    """Answers that can be given, each with its words; none: any text."""


@dataclass(slots=True)
class Answers:
    """Everything that was said of the tables of a kind."""

    kind: Kind
    """Which kind."""
    columns: dict[str, str] = field(default_factory=dict)
    """Headings as they are compared, each with the column it is; ``LEFT_OUT``: not taken."""
    marks: dict[str, str] = field(default_factory=dict)
    """Marks in the place of counts, each with what it stands for: one of ``MARKS``, or a number."""
    files: dict[str, dict[str, str]] = field(default_factory=dict)
    """Files by name, each with what holds for it: order of dates, unit, station, route, year."""

    def fact(self, file: str, about: str) -> str:
        """What was said of a file; empty where nothing was."""
        return self.files.get(file, {}).get(about, "")

    def take(self, file: str, question: Question, answer: str) -> None:
        """Take an answer.

        Args:
            file: Name of the file.
            question: What was asked.
            answer: One of its choices, or any text where it has none.
        """
        if question.about == "column":
            if not answer:
                self.files.setdefault(file, {})[question.of] = _TO_ASK
            else:
                self.columns = {head: to for head, to in self.columns.items() if to != question.of}
                self.columns[head_key(answer)] = question.of
        elif question.about == "mark":
            self.marks[question.of] = answer
        else:
            self.files.setdefault(file, {})[question.about] = answer


def read_answers(folder: Path, kind: Kind, file: str, given: Path | None, dates: str | None) -> Answers:
    """What was kept of earlier tables, and above it what is given now.

    Args:
        folder: The scouting folder.
        kind: What the table holds.
        file: Name of the table's file.
        given: A file in the form of a kept one; None: none is given.
        dates: Order of day, month and year; None: not stated.

    Raises:
        ProblemsError: A file cannot be used.
        StoreError: The given file is not there.
    """
    answers = Answers(kind)
    kept = folder / FOLDER / f"{kind}.toml"
    if given is not None and not given.is_file():
        raise StoreError(f"there is no file {sanitize(str(given), 200)}", "check the name after --map")
    for path in (kept, given):
        if path is not None:
            _read(answers, path, file)
    if dates:
        answers.files.setdefault(file, {})["dates"] = dates
    return answers


def _read(answers: Answers, path: Path, file: str) -> None:
    table, problem = read_toml(path, "look at the line it names; docs/set-up.md shows how a mapping is written")
    problems = [problem] if problem is not None else []
    reader = TableReader(table or {}, path.name)
    known = (*targets(answers.kind), LEFT_OUT)
    for heading, target in _texts(reader, "columns"):
        if target not in known:
            reader.problem("columns", f"{sanitize(target, _SHOWN)} is no column", f"one of {', '.join(known[:-1])}")
        answers.columns[head_key(heading)] = target
    for mark, meaning in _texts(reader, "marks"):
        if meaning not in MARKS and not meaning.isdigit():
            hint = f"one of {', '.join(MARKS)}, or a number"
            reader.problem("marks", f"{sanitize(meaning, _SHOWN)} is nothing a mark can stand for", hint)
        answers.marks[mark] = meaning
    said = reader.value("files")
    for name, facts in said.items() if isinstance(said, Mapping) else ():
        inner = TableReader(facts if isinstance(facts, Mapping) else {}, f"{path.name}, {sanitize(str(name), _SHOWN)}")
        answers.files.setdefault(str(name), {}).update(_facts(inner))
        inner.refuse_unknown()
        problems += inner.problems
    answers.files.setdefault(file, {}).update(_facts(reader))
    reader.refuse_unknown()
    problems += reader.problems
    if problems:
        raise ProblemsError(
            f"{sanitize(path.name, 80)} cannot be used; nothing was changed", tuple(problems), "mend it"
        )


def _facts(reader: TableReader) -> dict[str, str]:
    found = {}
    for about in _FACTS:
        value = reader.value(about)
        if value is None:
            continue
        text = str(value)
        choices = {"dates": tuple(Order), "unit": ("F", "C")}.get(about)
        if choices is not None and text not in choices:
            reader.problem(about, f"{sanitize(text, _SHOWN)} is none of {', '.join(choices)}", "write one of them")
        found[about] = text
    return found


def _texts(reader: TableReader, key: str) -> Iterable[tuple[str, str]]:
    said = reader.value(key)
    return [(str(one), str(other)) for one, other in said.items()] if isinstance(said, Mapping) else []


def keep_answers(folder: Path, answers: Answers) -> None:
    """Keep what was said, for the next table of the kind.

    Args:
        folder: The scouting folder.
        answers: What was said.

    Raises:
        StoreError: It cannot be written.
    """
    facts = {name: said for name, said in answers.files.items() if said}
    if not (answers.columns or answers.marks or facts):
        return
    lines = [f"# How tables of {answers.kind} are read; bring keeps what it was told here. See docs/set-up.md.", ""]
    for key, pairs in (("columns", answers.columns), ("marks", answers.marks)):
        if pairs:
            lines += [f"[{key}]", *(f"{toml_text(one)} = {toml_text(other)}" for one, other in pairs.items()), ""]
    for name, said in facts.items():
        lines += [f"[files.{toml_text(name)}]", *(f"{about} = {toml_text(value)}" for about, value in said.items()), ""]
    write_whole(folder / FOLDER / f"{answers.kind}.toml", "\n".join(lines))


@dataclass(slots=True)
class Faults:
    """What is wrong with a file, each kind of it once with how often and where."""

    found: dict[tuple[str, str], list[tuple[str, str]]] = field(default_factory=dict)
    """By what it is and what to do: places and samples, the first few of them."""
    times: dict[tuple[str, str], int] = field(default_factory=dict)
    """How often each was met."""

    def add(self, what: str, sample: str, where: str, hint: str = "") -> None:
        """Note a fault.

        Args:
            what: What it is, as "is no date".
            sample: What stands there; the first is shown.
            where: Table and line.
            hint: What to do.
        """
        key = what, hint
        self.times[key] = self.times.get(key, 0) + 1
        places = self.found.setdefault(key, [])
        if len(places) < _NAMED:
            places.append((where, sample))

    def __len__(self) -> int:
        return sum(self.times.values())

    def listed(self) -> tuple[Problem, ...]:
        """One problem for each kind."""
        problems = []
        for (what, hint), places in self.found.items():
            number = self.times[what, hint]
            samples = ", ".join(dict.fromkeys(f"'{sanitize(sample, _SHOWN)}'" for _, sample in places if sample))
            more = " …" if number > len(places) else ""
            lines = ", ".join(where.rpartition("line ")[2] for where, _ in places) + more
            head = places[0][0].rpartition(", line ")[0]
            times = f"{number} times: " if number > 1 else ""
            problems.append(Problem(f"{head}, line {lines}", f"{times}{f'{samples} ' if samples else ''}{what}", hint))
        return tuple(problems)


def place_columns(kind: Kind, table: Table, answers: Answers) -> tuple[dict[str, int], list[int]]:
    """Which column stands where.

    Args:
        kind: What the table holds.
        table: The table.
        answers: What was said of its headings.

    Returns:
        Places by column, each column once; and places that are none.
    """
    places: dict[str, int] = {}
    others: list[int] = []
    said = {at: answers.columns.get(head_key(head)) for at, head in enumerate(table.head) if head_key(head)}
    for at, target in said.items():
        if target and target not in places:
            places[target] = at
    for at, heading in enumerate(table.head):
        if at in places.values() or said.get(at) == LEFT_OUT:
            continue
        found = target_of(kind, heading) if heading and said.get(at) is None else None
        if found is not None and found not in places:
            places[found] = at
        else:
            others.append(at)
    return places, others


@dataclass(slots=True)
class TableFound:
    """What a table was read as."""

    rows: int = 0
    """Rows of the table."""
    faults: Faults = field(default_factory=Faults)
    """What is wrong."""
    questions: list[Question] = field(default_factory=list)
    """What has to be asked first."""
    remarks: list[str] = field(default_factory=list)
    """What else to say of the table."""
    order: Order | None = None
    """Order of its days, where it matters."""


class RowsReader:
    """Rows of one table, its columns found and its days understood.

    Args:
        kind: What the table holds.
        table: The table.
        answers: What was said of such tables.
        found: Takes what is understood and what is wrong.
        name: Name of the file.
        last: No day can be later; None: any.
    """

    def __init__(
        self, kind: Kind, table: Table, answers: Answers, found: TableFound, *, name: str, last: date | None = None
    ) -> None:
        self.kind, self.table, self.answers = kind, table, answers
        self._found = found
        self.places, self.others = place_columns(kind, table, answers)
        order, year = answers.fact(name, "dates"), answers.fact(name, "year") or year_in((table.name, *table.titles))
        self.days = Days(Order(order) if order else None, int(year) if year else None, last)

    def cell(self, cells: Sequence[str], column: str) -> str:
        """What a row says in a column; empty where the table has none such."""
        at = self.places.get(column)
        return "" if at is None else cells[at]

    def prove(self, texts: Collection[str]) -> None:
        """See what order the days of the table prove, and have it asked where they prove none."""
        if not self.days.prove(texts):
            self._found.questions.append(ask_order(self.table, texts))
        self._found.order = self.days.order

    def leave(self, places: Iterable[int]) -> None:
        """Name columns that are not taken."""
        left = [sanitize(self.table.head[at], 30) for at in places if self.table.head[at]]
        if left:
            self._found.remarks.append(f"columns not taken: {', '.join(left)}")


def ask_order(table: Table, texts: Iterable[str]) -> Question:
    """The question which of day and month stands first in days that prove neither.

    Args:
        table: The table.
        texts: Its days as written.
    """
    sample = next((text for text in sorted(texts) if re.match(r"\d{1,2}[-/.]", text)), "")
    choices = ((Order.DMY.value, "day, month, year"), (Order.MDY.value, "month, day, year"))
    return Question("dates", "", f"{table.name}: is {sanitize(sample, 20)} day or month first?", choices)


def ask_column(kind: Kind, target: str, table: Table, others: Iterable[int], known: str = "") -> Question:
    """The question which column is one that has to be there, or what holds for all rows where none is.

    Args:
        kind: What the table holds.
        target: The column.
        table: The table.
        others: Places it can have.
        known: What was said before: that no column has it.
    """
    heads = tuple((table.head[at], table.head[at]) for at in others if table.head[at])
    if target in FOR_ALL:
        if known == _TO_ASK or not heads:
            return Question(target, "", f"What is the {target} of all {kind} in {table.name}?")
        heads = (*heads, ("", "none of them: it is the same for all rows"))
    return Question("column", target, f"Which column of {table.name} is the {target} of the {kind}?", heads)
