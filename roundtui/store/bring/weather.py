"""Daily and hourly temperatures out of a person's table: any columns, any unit, one station or several."""

from __future__ import annotations

import csv
import re
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from roundtui.domain.bring import TOTALS, Kind, head_key, number_of, yes_no
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.checks import nearest
from roundtui.domain.text import plain
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit, unit_of
from roundtui.store.bring.answers import Answers, Faults, Question, ask_column, place_columns
from roundtui.store.bring.days import Days, Order
from roundtui.store.bring.table import Table, year_in
from roundtui.store.connect import transaction
from roundtui.store.journal import Author
from roundtui.store.read import programme as read_programme
from roundtui.store.season.forecast import put_forecast
from roundtui.store.season.office import look_at_models

if TYPE_CHECKING:
    from roundtui.store.bring.bring import Brought

_TIME = re.compile(r"(\d{1,2})(?:[:.h]\s?(\d{2}))?(?::\d{2}(?:\.\d+)?)?\s*(uhr|h|am|pm)?", re.IGNORECASE)
_ABOVE_ANY_C = 50
"""A shade temperature that is none in Celsius: the highest ever measured is 56.7 °C (WMO, Furnace Creek, 1913)."""
_COOL_F = 47
"""A summer whose warmest day stays below it is none in Fahrenheit. [°F]"""
_SHOWN = 12
Written = tuple[str, ...]


@dataclass(slots=True)
class WeatherFound:
    """What a table would bring to the weather of the stations."""

    rows: int = 0
    """Rows of the table."""
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
    faults: Faults = field(default_factory=Faults)
    """What is wrong."""
    questions: list[Question] = field(default_factory=list)
    """What has to be asked first."""
    remarks: list[str] = field(default_factory=list)
    """What else to say of the table."""
    order: Order | None = None
    """Order of its days, where it matters."""
    sure: bool = False
    """Whether somebody said which unit they are in."""

    @property
    def days(self) -> int:
        """How many days or times it has."""
        return sum(map(len, self.written.values()))

    @property
    def columns(self) -> tuple[str, ...]:
        """Headings of a few rows to show."""
        return ("station", "time", "temp", "unit") if self.hourly else ("station", "date", "tmin", "tmax", "unit")

    @property
    def sample(self) -> tuple[tuple[str, ...], ...]:
        """The rows."""
        rows = [(station, at, *cells) for station, said in self.written.items() for at, cells in said.items()]
        return tuple(rows[:_SHOWN])

    def says(self) -> list[str]:
        """What was read, in words."""
        what = "times" if self.hourly else "days"
        words = [f"{self.rows} rows: {self.days} {what} of {len(self.written)} stations, {self.blanks} blank"]
        for station, said in sorted(self.written.items(), key=lambda item: natural_key(item[0])):
            units = sorted({cells[-1] for cells in said.values()})
            words.append(f"{station}: {min(said)} to {max(said)}, {' and '.join(units)}")
        if self.ahead:
            kept = sum(map(len, self.forecast.values()))
            where = f"; {kept} of them go to forecast.csv" if kept else ""
            words.append(f"{self.ahead} rows of a forecast or of days to come are no readings{where}")
        return words


def look_at_weather(
    tables: Iterable[Table], folder: Path, programme: Programme, answers: Answers, name: str, *, today: date
) -> WeatherFound:
    """Read a table as temperatures; nothing is written.

    Args:
        tables: The tables of the file.
        folder: The scouting folder, for the office's unit.
        programme: What is set up.
        answers: What was said of such tables.
        name: Name of the file.
        today: No reading can be later.
    """
    found = WeatherFound()
    office, _ = look_at_models(folder)
    readers = [
        _Reader(table, programme, answers, found, name=name, office=office.unit if office else None) for table in tables
    ]
    for reader in readers:
        if not found.questions:
            reader.read(today)
    return found


class _Reader:
    """Temperatures of one table."""

    def __init__(
        self,
        table: Table,
        programme: Programme,
        answers: Answers,
        found: WeatherFound,
        *,
        name: str,
        office: TempUnit | None,
    ) -> None:
        self.table, self.programme, self.found, self.name, self.office = table, programme, found, name, office
        self.places, others = place_columns(Kind.WEATHER, table, answers)
        self.unit = unit_of(answers.fact(name, "unit"))
        found.sure = found.sure or self.unit is not None
        year = answers.fact(name, "year") or year_in((table.name, *table.titles))
        order = answers.fact(name, "dates")
        self.days = Days(Order(order) if order else None, int(year) if year else None)
        self.station = answers.fact(name, "station")
        self._stations = {
            head_key(text): row.station for row in programme.stations.values() for text in (row.name, row.station)
        }
        found.hourly = "temp" in self.places and "tmin" not in self.places
        self._ask(others)

    def _ask(self, others: Sequence[int]) -> None:
        found, table = self.found, self.table
        for column in ("date", *(("temp",) if found.hourly else ("tmin", "tmax"))):
            if column not in self.places:
                found.questions.append(ask_column(Kind.WEATHER, column, table, others))
        if "station" not in self.places and not self.station:
            codes = sorted(self.programme.stations, key=natural_key)
            if len(codes) == 1:
                self.station = codes[0]
                found.remarks.append(f"no column names a station: taken as {codes[0]}, the only one")
            else:
                choices = tuple((code, self.programme.stations[code].name) for code in codes)
                found.questions.append(Question("station", "", f"Which station is {table.name} of?", choices))
        elif self.station and self.station not in self.programme.stations:
            found.faults.add("is no station that is set up", self.station, f"{table.name}, line 1", "see stations.csv")
        if found.questions:
            return
        texts = {self._bare(cells[self.places["date"]]) for _, cells in table.rows()}
        if not self.days.prove(texts):
            sample = next((text for text in sorted(texts) if re.match(r"\d{1,2}[-/.]", text)), "")
            choices = ((Order.DMY.value, "day, month, year"), (Order.MDY.value, "month, day, year"))
            words = f"{table.name}: is {plain(sample, 20)} day or month first?"
            found.questions.append(Question("dates", "", words, choices))
        found.order = self.days.order
        self._settle_unit()
        left = [table.head[at] for at in others if table.head[at]]
        if left:
            found.remarks.append(f"columns not taken: {', '.join(plain(head, 30) for head in left[:20])}")

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
            self.found.questions.append(Question("unit", "", words, (("F", "Fahrenheit"), ("C", "Celsius"))))
        else:
            self.found.remarks.append(f"no unit is stated: taken as {self.unit.sign}")

    def read(self, today: date) -> None:
        """Read every row."""
        for line, cells in self.table.rows():
            self.found.rows += 1
            self._row(cells, f"{self.table.name}, line {line}", today)

    def _cell(self, cells: Sequence[str], column: str) -> str:
        at = self.places.get(column)
        return "" if at is None else cells[at]

    def _row(self, cells: Sequence[str], where: str, today: date) -> None:
        faults, text = self.found.faults, self._cell(cells, "date")
        day = self.days.day(self._bare(text))
        if day is None:
            if any(number_of(cell) for cell in cells) and not set(head_key(text).split()[:1]) & TOTALS:
                faults.add("is no date", text, where, "state the order with --dates, or correct it")
            return
        ahead = day > today or yes_no(self._cell(cells, "forecast")) == "yes"
        self.found.ahead += ahead
        named = self._cell(cells, "station")
        station = self._stations.get(head_key(named)) if named else self.station
        if not station:
            hint = nearest(named, self.programme.stations) or "add it to stations.csv first"
            faults.add("is no station that is set up", named, where, hint)
            return
        said = self._cell(cells, "unit")
        unit = unit_of(said) if said else self.unit
        if unit is None:
            faults.add("is no unit", said, where, "write F or C")
            return
        if not self.found.hourly:
            self._extremes(cells, where, (station, day, unit), self.found.forecast if ahead else self.found.written)
        elif not ahead:
            self._hour(cells, where, (station, day, unit))

    def _extremes(
        self,
        cells: Sequence[str],
        where: str,
        place: tuple[str, date, TempUnit],
        into: dict[str, dict[str, Written]],
    ) -> None:
        station, day, unit = place
        low, high = (self._number(self._cell(cells, column), where, unit) for column in ("tmin", "tmax"))
        if low is None or high is None:
            self.found.blanks += 1
        elif float(low) > float(high):
            self.found.faults.add("is above the highest of its day", f"{low} > {high}", where, "look which is wrong")
        else:
            self._put(into, station, day.isoformat(), (low, high, unit.value), where=where)

    def _hour(self, cells: Sequence[str], where: str, place: tuple[str, date, TempUnit]) -> None:
        station, day, unit = place
        date_text = self._cell(cells, "date")
        text = self._cell(cells, "time") or date_text[len(self._bare(date_text)) :].strip(" T")
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
        number = self._number(self._cell(cells, "temp"), where, unit)
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


def take_in_weather(
    conn: sqlite3.Connection, folder: Path, path: Path, found: WeatherFound, *, author: Author, now: datetime
) -> Brought:
    """Put the temperatures on record, station by station, in one transaction.

    Args:
        conn: The store.
        folder: The scouting folder.
        path: The file, whose name is kept as their source.
        found: What was found.
        author: Who brings it.
        now: Instant.

    Raises:
        ProblemsError: They cannot be put on record; nothing was changed.
        StoreError: The store cannot be written.
    """
    from roundtui.store.bring.bring import Brought
    from roundtui.store.season.weather_imports import import_weather

    known = read_programme(conn)
    added = changed = same = 0
    remarks = []
    head = ("station", "time", "temp", "unit") if found.hourly else ("station", "date", "tmin", "tmax", "unit")
    with TemporaryDirectory(prefix="roundtui-bring-") as staging, transaction(conn):
        canonical = Path(staging) / (path.stem[:60] + ".csv" if path.suffix != ".csv" else path.name)
        for station, said in found.written.items():
            with canonical.open("w", encoding="utf-8", newline="") as file:
                writer = csv.writer(file)
                writer.writerow(head)
                writer.writerows((station, at, *cells) for at, cells in sorted(said.items()))
            style = "hourly" if found.hourly else "weather"
            report = import_weather(
                conn, folder, canonical, known, station=station, style=style, author=author, now=now, sure=found.sure
            )
            added, changed, same = added + report.added, changed + report.changed, same + report.same
            remarks += report.remarks
    if found.forecast:
        office, _ = look_at_models(folder)
        rows = {station: [(at, *cells) for at, cells in said.items()] for station, said in found.forecast.items()}
        put_forecast(folder, rows, office.unit if office else None)
    words = ", ".join(
        f"{number} {what}"
        for number, what in ((added, "days added"), (changed, "changed"), (same, "as they are"))
        if number
    )
    if found.forecast:
        words += f"{', ' if words else ''}{sum(map(len, found.forecast.values()))} days of a forecast in forecast.csv"
    return Brought(words or "nothing new", [], remarks)
