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
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from roundtui.domain.entries import NoReading
from roundtui.domain.records import Frozen
from roundtui.domain.text import SHOWN, padded, sanitize, several, spoken_days
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
    bare = text.strip()
    match = _WEEKDAY.match(bare)
    of_month = match is None or match.group().strip(" .,").casefold() in _MONTH_NAMES
    return bare if match is None or of_month else bare[match.end() :]


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
    """Everything that was said of the tables of a kind, and the file that is read now."""

    folder: Path
    """The scouting folder."""
    kind: Kind
    """Which kind."""
    path: Path
    """The file."""
    columns: dict[str, str] = field(default_factory=dict)
    """Headings as they are compared, each with the column it is; ``LEFT_OUT``: not taken."""
    marks: dict[str, str] = field(default_factory=dict)
    """Marks in the place of counts, each with what it stands for: one of ``MARKS``, or a number."""
    files: dict[str, dict[str, str]] = field(default_factory=dict)
    """Files by name, each with what holds for it: order of dates, unit, station, route, year."""

    @property
    def own(self) -> dict[str, str]:
        """What holds for the file."""
        return self.files.setdefault(self.path.name, {})

    def fact(self, about: str) -> str:
        """What was said of the file; empty where nothing was."""
        return self.own.get(about, "")

    def take(self, question: Question, answer: str) -> None:
        """Take an answer.

        Args:
            question: What was asked.
            answer: One of its choices, or any text where it has none.
        """
        if question.about == "column":
            if not answer:
                self.own[question.of] = _TO_ASK
            else:
                self.columns = {head: to for head, to in self.columns.items() if to != question.of}
                self.columns[head_key(answer)] = question.of
        elif question.about == "mark":
            self.marks[question.of] = answer
        else:
            self.own[question.about] = answer


def read_answers(folder: Path, kind: Kind, path: Path, given: Path | None = None, dates: str | None = None) -> Answers:
    """What was kept of earlier tables, and above it what is given now.

    Args:
        folder: The scouting folder.
        kind: What the table holds.
        path: The table's file.
        given: A file in the form of a kept one; None: none is given.
        dates: Order of day, month and year; None: not stated.

    Raises:
        ProblemsError: A file cannot be used.
        StoreError: The given file is not there.
    """
    answers = Answers(folder, kind, path)
    if given is not None and not given.is_file():
        raise StoreError(f"there is no file {sanitize(str(given), 200)}", "check the name after --map")
    for said in (_kept(answers), given):
        if said is not None:
            _read(answers, said)
    if dates:
        answers.own["dates"] = dates
    return answers


def _kept(answers: Answers) -> Path:
    return answers.folder / FOLDER / f"{answers.kind}.toml"


def _read(answers: Answers, path: Path) -> None:
    table, problem = read_toml(path, "look at the line it names; docs/set-up.md shows how a mapping is written")
    reader = TableReader(table or {}, path.name)
    if problem is not None:
        reader.problems.append(problem)
    known = (*targets(answers.kind), LEFT_OUT)
    for heading, target in _table(reader, "columns").items():
        if target not in known:
            shown = sanitize(str(target), SHOWN)
            reader.problem("columns", f"{shown} is no column", f"one of {', '.join(known[:-1])}")
        answers.columns[head_key(heading)] = str(target)
    for mark, meaning in _table(reader, "marks").items():
        if meaning not in MARKS and not str(meaning).isdigit():
            hint = f"one of {', '.join(MARKS)}, or a number"
            reader.problem("marks", f"{sanitize(str(meaning), SHOWN)} is nothing a mark can stand for", hint)
        answers.marks[mark] = str(meaning)
    for name, facts in _table(reader, "files").items():
        inner = TableReader(facts if isinstance(facts, Mapping) else {}, f"{path.name}, {sanitize(name, SHOWN)}")
        answers.files.setdefault(name, {}).update(_facts(inner))
        inner.refuse_unknown()
        reader.problems += inner.problems
    answers.own.update(_facts(reader))
    reader.refuse_unknown()
    if reader.problems:
        words = f"{sanitize(path.name, 80)} cannot be used; nothing was changed"
        raise ProblemsError(words, tuple(reader.problems), "mend it")


def _facts(reader: TableReader) -> dict[str, str]:
    found = {}
    for about in _FACTS:
        value = reader.value(about)
        if value is None:
            continue
        text = str(value)
        choices = {"dates": tuple(Order), "unit": ("F", "C")}.get(about)
        if choices is not None and text not in choices:
            reader.problem(about, f"{sanitize(text, SHOWN)} is none of {', '.join(choices)}", "write one of them")
        found[about] = text
    return found


def _table(reader: TableReader, key: str) -> Mapping[str, object]:
    said = reader.value(key)
    return said if isinstance(said, Mapping) else {}


def keep_answers(answers: Answers) -> None:
    """Keep what was said, for the next table of the kind.

    Args:
        answers: What was said.

    Raises:
        StoreError: It cannot be written.
    """
    named = ((f"files.{toml_text(name)}", said) for name, said in answers.files.items())
    tables = [(key, said) for key, said in (("columns", answers.columns), ("marks", answers.marks), *named) if said]
    if not tables:
        return
    lines = [f"# How tables of {answers.kind} are read; bring keeps what it was told here. See docs/set-up.md.", ""]
    for key, said in tables:
        bare = key.startswith("files.")
        lines += [f"[{key}]", *(f"{one if bare else toml_text(one)} = {toml_text(to)}" for one, to in said.items()), ""]
    write_whole(_kept(answers), "\n".join(lines))


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
            samples = ", ".join(dict.fromkeys(f"'{sanitize(sample, SHOWN)}'" for _, sample in places if sample))
            more = " …" if number > len(places) else ""
            lines = ", ".join(where.rpartition("line ")[2] for where, _ in places) + more
            head = places[0][0].rpartition(", line ")[0]
            times = f"{number} times: " if number > 1 else ""
            problems.append(Problem(f"{head}, line {lines}", f"{times}{f'{samples} ' if samples else ''}{what}", hint))
        return tuple(problems)


def place_columns(table: Table, answers: Answers) -> tuple[dict[str, int], list[int]]:
    """Which column stands where.

    Args:
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
        found = target_of(answers.kind, heading) if heading and said.get(at) is None else None
        if found is not None and found not in places:
            places[found] = at
        else:
            others.append(at)
    return places, others


_ORDERS = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}
_MOST_SHOWN = (12, 200)
"""Rows that are shown before anything is written, at a command line and on a screen, where one can read on."""


@dataclass(slots=True)
class TableFound:
    """What a file was read as."""

    answers: Answers
    """What was said of it."""
    rows: int = 0
    """Rows of its tables."""
    faults: Faults = field(default_factory=Faults)
    """What is wrong."""
    questions: list[Question] = field(default_factory=list)
    """What has to be asked first."""
    remarks: list[str] = field(default_factory=list)
    """What else to say of the table."""
    order: Order | None = None
    """Order of its days, where it matters."""
    words: list[str] = field(default_factory=list)
    """What to show before anything is written, a line each."""

    @property
    def brings(self) -> int:
        """How many rows it would bring at most."""
        raise NotImplementedError

    def says(self) -> list[str]:
        """What was read, in words."""
        raise NotImplementedError

    @property
    def so_many(self) -> str:
        """How many rows its tables have, in words."""
        return several(self.rows, "row")

    def sample(self, most: int) -> list[tuple[str, ...]]:
        """Headings, and the first rows as they were understood."""
        raise NotImplementedError

    def tell(self, read_as: Iterable[str]) -> None:
        """Put into words what was read.

        Args:
            read_as: How the tables of the file were read.
        """
        order = [f"days read as {_ORDERS[self.order]}"] if self.order is not None else []
        self.words = [*read_as, *order, *dict.fromkeys(self.remarks), *self.says()]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is wrong, each kind of it once."""
        return self.faults.listed()

    def table(self, most: int = _MOST_SHOWN[0], widest: int = 24) -> list[str]:
        """The first rows as they were understood, in columns, below their headings.

        Args:
            most: How many rows.
            widest: Cells of the widest column. [cells]
        """
        head, *rows = self.sample(most)
        widths = [min(widest, max(len(line[at]) for line in (head, *rows))) for at in range(len(head))]
        return [
            "  ".join(padded(sanitize(cell, width), width) for cell, width in zip(line, widths, strict=True)).rstrip()
            for line in ((head, *rows) if rows else ())
        ]

    def lines(self, width: int, today: date) -> list[str]:
        """Everything to show before anything is written, cut to lines: what is asked and what is wrong first."""
        asked, faults = [one.words for one in self.questions], [str(problem) for problem in self.problems]
        lines = [spoken_days(one, today) for one in self.words]
        for title, said in (("To be known first:", asked), ("Left out:", faults)):
            folded = (part for one in said for part in wrap(sanitize(one, 600), width - 2, subsequent_indent="    "))
            lines += ["", title, *(f"  {part}" for part in folded)] if said else []
        lines += ["", *(f"  {line}" for line in self.table(_MOST_SHOWN[1], max(24, width // 3)))]
        return [sanitize(line, width) for line in lines]


class RowsReader:
    """Rows of one table, its columns found and its days understood.

    Args:
        table: The table.
        found: Takes what is understood and what is wrong.
        last: No day can be later; None: any.
    """

    def __init__(self, table: Table, found: TableFound, last: date | None = None) -> None:
        self.table, self.answers, self._found = table, found.answers, found
        self.places, self.others = place_columns(table, self.answers)
        order, year = self.answers.fact("dates"), self.answers.fact("year") or year_in((table.name, *table.titles))
        self.days = Days(Order(order) if order else None, int(year) if year else None, last)

    def cell(self, cells: Sequence[str], column: str) -> str:
        """What a row says in a column; empty where the table has none such."""
        at = self.places.get(column)
        return "" if at is None else cells[at]

    def ask(self, about: str, words: str, choices: tuple[tuple[str, str], ...] = (), of: str = "") -> None:
        """Have something asked; see ``Question``."""
        self._found.questions.append(Question(about, of, words, choices))

    def prove(self, texts: Collection[str]) -> None:
        """See what order the days of the table prove, and have it asked where they prove none."""
        if not self.days.prove(texts):
            self.ask_order(texts)
        self._found.order = self.days.order

    def ask_order(self, texts: Iterable[str]) -> None:
        """Have asked which of day and month stands first, in days that prove neither."""
        sample = next((text for text in sorted(texts) if re.match(r"\d{1,2}[-/.]", text)), "")
        choices = ((Order.DMY.value, "day, month, year"), (Order.MDY.value, "month, day, year"))
        self.ask("dates", f"{self.table.name}: is {sanitize(sample, 20)} day or month first?", choices)

    def ask_column(self, target: str, others: Iterable[int]) -> None:
        """Have asked which column is one that has to be there, or what holds for all rows where none is.

        Args:
            target: The column.
            others: Places it can have.
        """
        kind, name = self.answers.kind, self.table.name
        heads = tuple((self.table.head[at], self.table.head[at]) for at in others if self.table.head[at])
        if target in FOR_ALL:
            if self.answers.fact(target) == _TO_ASK or not heads:
                self.ask(target, f"What is the {target} of all {kind} in {name}?")
                return
            heads = (*heads, ("", "none of them: it is the same for all rows"))
        self.ask("column", f"Which column of {name} is the {target} of the {kind}?", heads, target)

    def leave(self, places: Iterable[int]) -> None:
        """Name columns that are not taken."""
        left = [sanitize(self.table.head[at], 30) for at in places if self.table.head[at]]
        if left:
            self._found.remarks.append(f"columns not taken: {', '.join(left)}")
