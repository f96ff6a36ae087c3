"""One table brought in: looked at as often as there is something to ask, shown, and written in one transaction."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.bring import Kind
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.text import plain
from roundtui.errors import Problem, ProblemsError
from roundtui.store.bring.answers import Answers, Question, keep_answers
from roundtui.store.bring.counts import (
    CountsFound,
    Labels,
    by_season,
    hanging_fields,
    head_score,
    look_at_counts,
)
from roundtui.store.bring.set_up import BY_NAME, SetUpFound, load_rows, look_at_set_up, put_file
from roundtui.store.bring.table import Table, read_tables
from roundtui.store.bring.weather import WeatherFound, look_at_weather, take_in_weather
from roundtui.store.connect import transaction
from roundtui.store.journal import Author
from roundtui.store.office import read_office
from roundtui.store.read import programme
from roundtui.store.round.enter import EnterReport, enter_rows
from roundtui.store.round.tally_file import StageRow, TallyRow

_ORDERS = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}
_SHOWN = 12


@dataclass(slots=True)
class Found:
    """What a file was read as."""

    kind: Kind
    """What it holds."""
    name: str
    """Name of the file."""
    what: CountsFound | SetUpFound | WeatherFound
    """What was understood of it."""
    words: list[str] = field(default_factory=list)
    """What to show before anything is written, a line each."""
    columns: tuple[str, ...] = ()
    """Headings of a few rows to show."""
    sample: tuple[tuple[str, ...], ...] = ()
    """The rows."""

    @property
    def questions(self) -> Sequence[Question]:
        """What has to be asked first."""
        return self.what.questions

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is wrong, each kind of it once."""
        return self.what.faults.listed()

    @property
    def brings(self) -> int:
        """How many rows it would bring at most."""
        if isinstance(self.what, CountsFound):
            return len(self.what.visits) + len(self.what.stages)
        if isinstance(self.what, SetUpFound):
            return len(self.what.new) + len(self.what.changed)
        return self.what.days + sum(map(len, self.what.forecast.values()))


@dataclass(slots=True)
class Brought:
    """What became of a file."""

    words: str
    """What was written."""
    problems: list[Problem] = field(default_factory=list)
    """Rows that were not, since the record says otherwise."""
    remarks: list[Problem] = field(default_factory=list)
    """What is worth a second look."""


def look(conn: sqlite3.Connection, folder: Path, path: Path, answers: Answers, *, scout: str, now: datetime) -> Found:
    """Read a file; nothing is written.

    Args:
        conn: The store.
        folder: The scouting folder.
        path: The file.
        answers: What was said of such tables.
        scout: Who read, for counts of which no row says it.
        now: Instant; no reading can be later.

    Raises:
        StoreError: The file cannot be read, or holds no table.
        ProblemsError: A file of the folder is faulty.
    """
    kind, today = answers.kind, now.astimezone().date()
    known = programme(conn)
    labels = Labels(known) if kind is Kind.COUNTS else None
    tables, left = read_tables(path, head_score(kind, labels))
    if kind is Kind.COUNTS:
        season = _season(folder)
        what: CountsFound | SetUpFound | WeatherFound = look_at_counts(
            tables, known, answers, path.name, scout=scout, today=today, season=season
        )
    elif kind is Kind.WEATHER:
        what = look_at_weather(tables, folder, known, answers, path.name, today=today)
    else:
        what = look_at_set_up(kind, tables, folder, known, answers, name=path.name)
    found = Found(kind, path.name, what)
    found.words = [*_read_as(tables, left, what), *_says(what)]
    found.columns, found.sample = _sample(what)
    return found


def _season(folder: Path) -> tuple[int, int]:
    try:
        return read_office(folder).season_starts_on
    except ProblemsError:
        return (1, 1)


def _read_as(tables: Sequence[Table], left: Sequence[str], what: CountsFound | SetUpFound | WeatherFound) -> list[str]:
    words = [f"{table.name}: {table.read_as}, headings on line {table.head_line}" for table in tables]
    if left:
        words.append(f"sheets not taken: {', '.join(left)}")
    if what.order is not None:
        words.append(f"days read as {_ORDERS[what.order]}")
    return [*words, *dict.fromkeys(what.remarks)]


def _says(what: CountsFound | SetUpFound | WeatherFound) -> list[str]:
    if isinstance(what, SetUpFound):
        if what.questions:
            return []
        return [f"{what.rows} rows: {len(what.new)} new, {len(what.changed)} changed, {what.same} as they are"]
    if isinstance(what, WeatherFound):
        return what.says()
    if what.questions and not what.rows:
        return []
    days, rows = what.days, what.visits
    counts = sum(row.counted is not None for row in rows)
    words = [
        f"{what.rows} rows: {len({row.trap for row in rows})} traps, {len(days)} days"
        + (f" from {days[0]} to {days[-1]}" if days else ""),
        f"{counts} counts, {what.zeros} of them zero; {len(rows) - counts} without a count; {what.blanks} blank",
    ]
    if what.stages:
        words.append(f"{len(what.stages)} stages of blocks")
    words += [
        f"{plain(mark, 30)} ({number}): {became or 'not known'}"
        for (mark, became), number in sorted(what.marks.items())[:40]
    ]
    if what.hangings:
        seasons = ", ".join(f"{number} in {year}" for year, number in by_season(what.hangings))
        words.append(f"{len(what.hangings)} hangings that the register has not: {seasons};")
        words.append("  each from seven days before the season's first reading to its last")
    return words


def _sample(what: CountsFound | SetUpFound | WeatherFound) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    if isinstance(what, CountsFound):
        visits = [row.visit for row in what.visits[:_SHOWN]]
        rows = tuple(
            (one.trap, str(one.read_on), "" if one.count is None else str(one.count), one.no_reading or "", one.note)
            for one in visits
        )
        return ("trap", "read_on", "count", "no_reading", "note"), rows
    if isinstance(what, SetUpFound):
        columns = tuple(
            column
            for column in (*what.file.required, *what.file.optional)
            if any(row.get(column) for row in (*what.new, *what.changed))
        )
        return columns, tuple(
            tuple(row.get(column, "") for column in columns) for row in [*what.new, *what.changed][:_SHOWN]
        )
    return what.columns, what.sample


def write(
    conn: sqlite3.Connection,
    folder: Path,
    path: Path,
    found: Found,
    answers: Answers,
    *,
    author: Author,
    now: datetime,
    progress: Callable[[int], None] | None = None,
) -> Brought:
    """Write what was found, all of it or nothing, and keep what was said of the table.

    Args:
        conn: The store.
        folder: The scouting folder.
        path: The file.
        found: What was found, without open questions.
        answers: What was said.
        author: Who brings it; counts whose rows name a scout are that scout's.
        now: Instant.
        progress: Told how many rows were recorded, from time to time.

    Raises:
        ProblemsError: The set-up would not fit together; nothing was changed.
        StoreError: The store or a file cannot be written.
    """
    what = found.what
    if isinstance(what, CountsFound):
        brought = _write_counts(conn, folder, what, (author, now), progress)
    elif isinstance(what, SetUpFound):
        brought = _write_set_up(conn, folder, what, now)
    else:
        brought = take_in_weather(conn, folder, path, what, author=author, now=now)
    keep_answers(folder, answers)
    return brought


def _write_set_up(conn: sqlite3.Connection, folder: Path, what: SetUpFound, now: datetime) -> Brought:
    rows = [*what.new, *what.changed]
    if not rows:
        return Brought("nothing new")
    report, content = load_rows(conn, folder, what.file, rows, now)
    put_file(folder, what.file, content)
    counts = report.files[what.file.name]
    added = f"{counts.added} {'row' if counts.added == 1 else 'rows'} added"
    words = f"{what.file.name}: {added}" + (f", {counts.changed} changed" if counts.changed else "")
    return Brought(words, list(report.contested))


def _write_counts(
    conn: sqlite3.Connection,
    folder: Path,
    what: CountsFound,
    by: tuple[Author, datetime],
    progress: Callable[[int], None] | None,
) -> Brought:
    author, now = by
    visits: dict[str, list[TallyRow]] = defaultdict(list)
    stages: dict[str, list[StageRow]] = defaultdict(list)
    for row in what.visits:
        visits[row.scout].append(row)
    for seen in what.stages:
        stages[seen.seen.scout].append(seen)
    report = EnterReport(keep=False)
    content = b""
    with transaction(conn):
        if what.hangings:
            hung = [hanging_fields(row) for row in what.hangings]
            _, content = load_rows(conn, folder, BY_NAME["traps.csv"], hung, now)
        for scout in sorted({*visits, *stages}, key=natural_key):
            whose = Author(scout, author.device)
            enter_rows(conn, visits[scout], stages[scout], whose, now, report=report, progress=progress)
    if content:
        put_file(folder, BY_NAME["traps.csv"], content)
    parts = [(report.number, "added"), (len(report.stages), "stages added"), (report.known, "on record before")]
    parts += [(len(report.disagreements), "not applied")]
    words = ", ".join(f"{number} {said}" for number, said in parts if number) or "nothing new"
    if what.hangings:
        words += f"; {len(what.hangings)} hangings added to traps.csv"
    return Brought(words, report.disagreements, report.remarks)


def today_of(now: datetime) -> date:
    """The day on this computer's clock.

    Args:
        now: Instant.
    """
    return now.astimezone().date()
