"""One table brought in: looked at as often as there is something to ask, shown, and written in one transaction.

Daily and hourly temperatures out of a person's table: any columns, any unit, one station or several.
"""

from __future__ import annotations

import csv
import re
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.checks import nearest
from roundtui.domain.text import several, several_of
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit, unit_of
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.bring import answers as asking
from roundtui.store.bring.counts import CountsFound, Labels, hanging_fields, head_score, preview_counts
from roundtui.store.bring.set_up import SetUpFound, load_rows, preview_set_up, put_file
from roundtui.store.bring.table import TOTALS, Kind, Table, head_key, number_of, read_tables, yes_no
from roundtui.store.db import transaction
from roundtui.store.files import scratch
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author
from roundtui.store.record.read import programme as read_programme
from roundtui.store.round.enter import EnterReport, enter_rows
from roundtui.store.round.tally_file import StageRow, TallyRow
from roundtui.store.season.season import preview_models
from roundtui.store.season.weather import put_forecast
from roundtui.store.set_up.columns import BY_NAME

if TYPE_CHECKING:
    from roundtui.store.session import Session


@dataclass(slots=True)
class Brought:
    """What became of a file."""

    words: str
    """What was written."""
    problems: list[Problem] = field(default_factory=list)
    """Rows that were not, since the record says otherwise."""
    remarks: list[Problem] = field(default_factory=list)
    """What is worth a second sample."""


def preview(conn: sqlite3.Connection, answers: asking.Answers, *, scout: str, now: datetime) -> asking.TableFound:
    """Read a file; nothing is written.

    Args:
        conn: The store.
        answers: Which file of which folder, and what was said of such tables.
        scout: Who read, for counts of which no row says it.
        now: Instant; no reading can be later.

    Raises:
        StoreError: The file cannot be read, or holds no table.
        ProblemsError: A file of the folder is faulty.
    """
    kind, today, known = answers.kind, now.astimezone().date(), read_programme(conn)
    labels = Labels(known) if kind is Kind.COUNTS else None
    tables, left = read_tables(answers.path, head_score(kind, labels))
    found: asking.TableFound
    if kind is Kind.COUNTS:
        season = _season(answers.folder)
        found = preview_counts(tables, known, answers, scout=scout, today=today, season=season)
    elif kind is Kind.WEATHER:
        found = preview_weather(tables, known, answers, today=today)
    else:
        found = preview_set_up(conn, tables, known, answers)
    words = [f"{table.name}: {table.read_as}, headings on line {table.head_line}" for table in tables]
    found.tell([*words, *([f"sheets not taken: {', '.join(left)}"] if left else [])])
    return found


def _season(folder: Path) -> tuple[int, int]:
    try:
        return read_office(folder).season_starts_on
    except ProblemsError:
        return (1, 1)


def write(
    conn: sqlite3.Connection,
    found: asking.TableFound,
    *,
    author: Author,
    now: datetime,
    progress: Callable[[int], None] | None = None,
) -> Brought:
    """Write what was found, all of it or nothing, and keep what was said of the table.

    Args:
        conn: The store.
        found: What was found, without open questions.
        author: Who brings it; counts whose rows name a scout are that scout's.
        now: Instant.
        progress: Notified how many rows are recorded by now, from time to time.

    Raises:
        ProblemsError: The set-up would not fit together; nothing was changed.
        StoreError: The store or a file cannot be written.
    """
    if isinstance(found, CountsFound):
        brought = _write_counts(conn, found, (author, now), progress)
    elif isinstance(found, SetUpFound):
        brought = _write_set_up(conn, found, now)
    else:
        assert isinstance(found, WeatherFound)  # noqa: S101 - there is no other
        brought = take_in_weather(conn, found, author=author, now=now)
    asking.keep_answers(found.answers)
    return brought


def _write_set_up(conn: sqlite3.Connection, what: SetUpFound, now: datetime) -> Brought:
    rows = [*what.new, *what.changed]
    if not rows:
        return Brought("nothing new")
    report, content = load_rows(conn, what.answers.folder, what.file, rows, now)
    put_file(what.answers.folder, what.file, content)
    counts = report.files[what.file.name]
    added = f"{counts.added} {'row' if counts.added == 1 else 'rows'} added"
    words = f"{what.file.name}: {added}" + (f", {counts.changed} changed" if counts.changed else "")
    return Brought(words, list(report.contested))


def _write_counts(
    conn: sqlite3.Connection, what: CountsFound, by: tuple[Author, datetime], progress: Callable[[int], None] | None
) -> Brought:
    (author, now), folder = by, what.answers.folder
    visits: dict[str, list[TallyRow]] = defaultdict(list)
    stages: dict[str, list[StageRow]] = defaultdict(list)
    for row in what.visits:
        visits[row.scout].append(row)
    for seen in what.stages:
        stages[seen.seen.scout].append(seen)
    report = EnterReport()
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
    staged = f"{several_of('stages', len(report.stages))} added"
    parts = [(report.added, "added"), (len(report.stages), staged), (report.known, "on record before")]
    parts += [(len(report.disagreements), "not applied")]
    words = ", ".join(f"{number} {said}" for number, said in parts if number) or "nothing new"
    if what.hangings:
        words += f"; {several(len(what.hangings), 'hanging')} added to traps.csv"
    return Brought(words, report.disagreements, report.remarks)


class BringDesk:
    """A table of one's own in the app: read, asked about, written; each with a connection of its own.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._answers: asking.Answers | None = None
        self._found: asking.TableFound | None = None

    def path(self, text: str) -> Path:
        """The file that a line names, from here or from the scouting folder; quotes around it are taken off.

        Args:
            text: The line.
        """
        path = Path(text.strip().strip("'\"")).expanduser()
        inside = self.session.folder / path
        return inside if inside.is_file() and not path.is_file() else path

    def read(self, path: Path | None, kind: Kind | None) -> asking.TableFound:
        """Read a file; nothing is written.

        Args:
            path: The file; None: the one of before, with what was answered since.
            kind: What it holds.

        Raises:
            RoundtuiError: It cannot be read.
        """
        session = self.session
        if path is not None and kind is not None:
            self._answers = asking.read_answers(session.folder, kind, path)
        if self._answers is None:
            raise RefusedError("nothing was read yet", "name a file first")
        with session.connection() as conn:
            self._found = preview(conn, self._answers, scout=session.named().scout, now=session.clock())
        return self._found

    def write(self, progress: Callable[[int], None]) -> Brought:
        """Write what was read, all of it or nothing.

        Args:
            progress: Notified how many rows are recorded by now, from time to time.

        Raises:
            RoundtuiError: Nothing was written.
        """
        session = self.session
        if self._found is None or self._found.questions:
            raise RefusedError("nothing was read yet", "name a file first")
        with session.connection() as conn:
            return write(conn, self._found, author=session.named(), now=session.clock(), progress=progress)

    def renew(self) -> None:
        """Let the session know what was brought."""
        self.session.forget(set_up=True)


_TIME = re.compile(r"(\d{1,2})(?:[:.h]\s?(\d{2}))?(?::\d{2}(?:\.\d+)?)?\s*(uhr|h|am|pm)?", re.IGNORECASE)
_ABOVE_ANY_C = 50
"""A shade temperature that is none in Celsius: the highest ever measured is 56.7 °C (WMO, Furnace Creek, 1913)."""
_COOL_F = 47
"""A summer whose warmest day stays below it is none in Fahrenheit. [°F]"""
Written = tuple[str, ...]


@dataclass(slots=True)
class WeatherFound(asking.TableFound):
    """What a table would bring to the weather of the stations."""

    blanks: int = 0
    """Days or hours on which a temperature is blank."""
    ahead: int = 0
    """Rows of days to come, and rows that say they are a forecast; they are no readings."""
    forecast: dict[str, dict[str, Written]] = field(default_factory=dict)
    """Days among them, as ``written`` has days."""
    hourly: bool = False
    """Whether readings through the day stand there."""
    written: dict[str, dict[str, Written]] = field(default_factory=dict)
    """Temperatures by station, then by day or time: minimum, maximum and unit, or temperature and unit."""
    sure: bool = False
    """Whether somebody said which unit they are in."""

    @property
    def brings(self) -> int:
        """Days or times, those of a forecast too."""
        return sum(map(len, (*self.written.values(), *self.forecast.values())))

    @property
    def head(self) -> tuple[str, ...]:
        """Headings of its rows."""
        return ("station", "time", "temp", "unit") if self.hourly else ("station", "date", "tmin", "tmax", "unit")

    def sample(self, most: int) -> list[tuple[str, ...]]:
        """Headings, and the first rows."""
        rows = ((station, at, *cells) for station, said in self.written.items() for at, cells in said.items())
        return [self.head, *islice(rows, most)]

    def says(self) -> list[str]:
        """What was read, in words."""
        if self.questions and not self.written:
            return []
        days = several(sum(map(len, self.written.values())), "time" if self.hourly else "day")
        words = [f"{self.so_many}: {days} of {several(len(self.written), 'station')}, {self.blanks} blank"]
        for station, said in sorted(self.written.items(), key=lambda item: natural_key(item[0])):
            units = sorted({cells[-1] for cells in said.values()})
            words.append(f"{station}: {min(said)} to {max(said)}, {' and '.join(units)}")
        if self.ahead:
            kept = sum(map(len, self.forecast.values()))
            where = f"; {kept} of them go to forecast.csv" if kept else ""
            words.append(f"{self.ahead} rows of a forecast or of days to come are no readings{where}")
        return words


def preview_weather(
    tables: Iterable[Table], programme: Programme, answers: asking.Answers, *, today: date
) -> WeatherFound:
    """Read a table as temperatures; nothing is written.

    Args:
        tables: The tables of the file.
        programme: What is set up.
        answers: What was said of such tables.
        today: No reading can be later.
    """
    found = WeatherFound(answers)
    office, _ = preview_models(answers.folder)
    readers = [_Reader(table, found, programme, office.unit if office else None) for table in tables]
    for reader in readers:
        if not found.questions:
            reader.read(today)
    return found


class _Reader(asking.RowsReader):
    """Temperatures of one table."""

    def __init__(self, table: Table, found: WeatherFound, programme: Programme, office: TempUnit | None) -> None:
        super().__init__(table, found)
        self.programme, self.found, self.office = programme, found, office
        self.unit = unit_of(self.answers.fact("unit"))
        found.sure = found.sure or self.unit is not None
        self.station = self.answers.fact("station")
        self._stations = {
            head_key(text): row.station for row in programme.stations.values() for text in (row.name, row.station)
        }
        found.hourly = "temp" in self.places and "tmin" not in self.places
        self._ask(self.others)

    def _ask(self, others: Sequence[int]) -> None:
        found, table = self.found, self.table
        for column in ("date", *(("temp",) if found.hourly else ("tmin", "tmax"))):
            if column not in self.places:
                self.ask_column(column, others)
        if "station" not in self.places and not self.station:
            codes = sorted(self.programme.stations, key=natural_key)
            if len(codes) == 1:
                self.station = codes[0]
                found.remarks.append(f"no column names a station: taken as {codes[0]}, the only one")
            else:
                choices = tuple((code, self.programme.stations[code].name) for code in codes)
                self.ask("station", f"Which station is {table.name} of?", choices)
        elif self.station and self.station not in self.programme.stations:
            found.faults.add("is no station that is set up", self.station, f"{table.name}, line 1", "see stations.csv")
        if found.questions:
            return
        texts = {self._bare(cells[self.places["date"]]) for _, cells in table.rows()}
        self.prove(texts)
        self._settle_unit()
        self.leave(others[:20])

    def _bare(self, text: str) -> str:
        """The day of a time."""
        return re.sub(r"[ T]\d{1,2}:\d\d.*$", "", text)

    def _settle_unit(self) -> None:
        """The unit that a column or heading states, else the office's, unless the temperatures speak against it."""
        columns = [at for column in ("tmin", "tmax", "temp") if (at := self.places.get(column)) is not None]
        stated = {unit for at in columns if (unit := _unit_in(self.table.head[at])) is not None}
        stated |= {unit for text in self.table.titles if len(text) < 30 and (unit := _unit_in(text)) is not None}
        if self.unit is not None or "unit" in self.places:
            return
        if len(stated) == 1:
            self.unit = stated.pop()
            self.found.remarks.append(f"its headings say {self.unit.sign}")
            return
        warmest, months = -999.0, set()
        for _, cells in self.table.rows():
            day = self.days.day(self._bare(cells[self.places["date"]]))
            for at in columns:
                number = number_of(cells[at])
                if number is not None and day is not None and abs(number.value) < 200:
                    warmest = max(warmest, float(number.value))
                    months.add(day.month)
        if warmest > _ABOVE_ANY_C:
            self.unit = TempUnit.F
        elif self.office is TempUnit.C:
            self.unit = TempUnit.C
        elif self.office is TempUnit.F and (warmest > _COOL_F or not months & {6, 7, 8, 12, 1, 2}):
            self.unit = TempUnit.F
        if self.unit is None:
            words = f"{self.table.name} states no unit, and its warmest reads {warmest:g}: F or C?"
            self.ask("unit", words, (("F", "Fahrenheit"), ("C", "Celsius")))
        else:
            self.found.remarks.append(f"no unit is stated: taken as {self.unit.sign}")

    def read(self, today: date) -> None:
        """Read every row."""
        for line, cells in self.table.rows():
            self.found.rows += 1
            self._row(cells, f"{self.table.name}, line {line}", today)

    def _row(self, cells: Sequence[str], where: str, today: date) -> None:
        faults, text = self.found.faults, self.cell(cells, "date")
        day = self.days.day(self._bare(text))
        if day is None:
            if any(number_of(cell) for cell in cells) and not set(head_key(text).split()[:1]) & TOTALS:
                faults.add("is no date", text, where, "state the order with --dates, or correct it")
            return
        ahead = day > today or yes_no(self.cell(cells, "forecast")) == "yes"
        self.found.ahead += ahead
        named = self.cell(cells, "station")
        station = self._stations.get(head_key(named)) if named else self.station
        if not station:
            hint = nearest(named, self.programme.stations) or "add it to stations.csv first"
            faults.add("is no station that is set up", named, where, hint)
            return
        said = self.cell(cells, "unit")
        unit = unit_of(said) if said else self.unit
        if unit is None:
            faults.add("is no unit", said, where, "write F or C")
            return
        if not self.found.hourly:
            self._extremes(cells, where, (station, day, unit), self.found.forecast if ahead else self.found.written)
        elif not ahead:
            self._hour(cells, where, (station, day, unit))

    def _extremes(
        self, cells: Sequence[str], where: str, place: tuple[str, date, TempUnit], into: dict[str, dict[str, Written]]
    ) -> None:
        station, day, unit = place
        low, high = (self._number(self.cell(cells, column), where, unit) for column in ("tmin", "tmax"))
        if low is None or high is None:
            self.found.blanks += 1
        elif float(low) > float(high):
            self.found.faults.add("is above the highest of its day", f"{low} > {high}", where, "look which is wrong")
        else:
            self._put(into, station, day.isoformat(), (low, high, unit.value), where=where)

    def _hour(self, cells: Sequence[str], where: str, place: tuple[str, date, TempUnit]) -> None:
        station, day, unit = place
        date_text = self.cell(cells, "date")
        text = self.cell(cells, "time") or date_text[len(self._bare(date_text)) :].strip(" T")
        if not text and "time" not in self.places:
            text = "00:00"  # A spreadsheet writes no time at midnight.
        match = _TIME.fullmatch(re.sub(r"([+-]\d\d:?\d\d|Z)$", "", text))
        hour = int(match.group(1)) if match else -1
        if match and (match.group(3) or "").casefold() in ("am", "pm"):
            hour = hour % 12 + (12 if match.group(3).casefold() == "pm" else 0)
        if match is None or not 0 <= hour <= 23:
            self.found.faults.add("is no time of day", text, where, "write it as 14:00")
            return
        offset = re.search(r"([+-]\d\d:?\d\d|Z)$", text)
        number = self._number(self.cell(cells, "temp"), where, unit)
        if number is None:
            self.found.blanks += 1
            return
        at = f"{day.isoformat()}T{hour:02d}:{match.group(2) or '00'}{offset.group(0) if offset else ''}"
        self._put(self.found.written, station, at, (number, unit.value), where=where)

    def _number(self, text: str, where: str, unit: TempUnit) -> str | None:
        text = re.sub(r"\s*°?\s*[CF]$", "", text.strip(), flags=re.IGNORECASE)
        number = number_of(text)
        if number is None:
            if text and head_key(text) not in ("", "m", "na", "n a", "nan", "null", "k a"):
                self.found.faults.add("is no temperature", text, where, "write it in digits")
            return None
        if number.value in (-9999, -999, 9999, 999):
            return None  # Stations write these where nothing was measured (common practice, no source).
        if not LOWEST[unit] <= number.value <= HIGHEST[unit]:
            self.found.faults.add(f"is no temperature in {unit.sign}", text, where, "look at the unit")
            return None
        return format(number.value, "f")

    def _put(self, into: dict[str, dict[str, Written]], station: str, at: str, cells: Written, *, where: str) -> None:
        other = into.setdefault(station, {}).setdefault(at, cells)
        if other != cells:
            self.found.faults.add("is there twice with two temperatures; the first is taken", at, where, "take one out")


def _unit_in(heading: str) -> TempUnit | None:
    match = re.search(
        r"(?:°|º|deg\.?|degrees?)\s*([CF])\b|[(\[_ ]([CF])[)\]]?$|(celsius|fahrenheit)", heading, re.IGNORECASE
    )
    return unit_of(next(part for part in match.groups() if part)) if match else None


def take_in_weather(conn: sqlite3.Connection, found: WeatherFound, *, author: Author, now: datetime) -> Brought:
    """Put the temperatures on record, station by station, in one transaction.

    Args:
        conn: The store.
        found: What was found; the name of its file is kept as their source.
        author: Who brings it.
        now: Instant.

    Raises:
        ProblemsError: They cannot be put on record; nothing was changed.
        StoreError: The store cannot be written.
    """
    from roundtui.store.season.weather_load import import_weather

    known, folder, path = read_programme(conn), found.answers.folder, found.answers.path
    added = changed = same = 0
    remarks = []
    with scratch() as staging, transaction(conn):
        canonical = staging / (path.stem[:60] + ".csv" if path.suffix != ".csv" else path.name)
        for station, said in found.written.items():
            with canonical.open("w", encoding="utf-8", newline="") as file:
                writer = csv.writer(file)
                writer.writerow(found.head)
                writer.writerows((station, at, *cells) for at, cells in sorted(said.items()))
            style = "hourly" if found.hourly else "weather"
            report = import_weather(
                conn, folder, canonical, known, station=station, style=style, author=author, now=now, sure=found.sure
            )
            added, changed, same = added + report.added, changed + report.changed, same + report.same
            remarks += report.remarks
    if found.forecast:
        office, _ = preview_models(folder)
        rows = {station: [(at, *cells) for at, cells in said.items()] for station, said in found.forecast.items()}
        put_forecast(folder, rows, office.unit if office else None)
    words = ", ".join(
        f"{number} {what}"
        for number, what in ((added, "days added"), (changed, "changed"), (same, "as they are"))
        if number
    )
    if found.forecast:
        days = sum(map(len, found.forecast.values()))
        words += f"{', ' if words else ''}{several(days, 'day')} of a forecast in forecast.csv"
    return Brought(words or "nothing new", [], remarks)
