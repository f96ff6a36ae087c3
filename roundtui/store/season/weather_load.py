"""Files of temperatures from elsewhere, for one station: in the office's own form, GHCN-Daily, or hourly.

The office's own weather.csv, station by station: what did not change in it is passed over.
A day's temperatures entered by hand, off a thermometer that keeps its lowest and highest.
"""

from __future__ import annotations

import hashlib
import io
import sqlite3
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo
from itertools import groupby
from pathlib import Path

from roundtui.domain.entries import TempsRead
from roundtui.domain.programme.farm import Programme, Station
from roundtui.domain.records import Frozen
from roundtui.domain.season import weather_rows
from roundtui.domain.season.models import SeasonOffice
from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import WeatherParser, daily_extremes, parse_ghcn, parse_hourly, parse_weather
from roundtui.domain.season.weather_rows import StationDays, WeatherRead, against_past, hour_of, impossible, remarks
from roundtui.domain.text import SHOWN, sanitize
from roundtui.domain.toml_table import column_name, shown
from roundtui.domain.units import TempUnit
from roundtui.errors import DoubtfulError, Problem, ProblemsError, RoundtuiError, StoreError
from roundtui.store.csv_file import decoded
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.files import read_bytes, regular
from roundtui.store.office import files_here
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import device_name
from roundtui.store.record.rows import TEMPERATURES, standing
from roundtui.store.season import weather
from roundtui.store.season.season import preview_models, read_season_office
from roundtui.store.set_up.load_checks import FileRead, FileReport, LoadReport

_NAMED = 5


def import_weather(
    conn: sqlite3.Connection,
    folder: Path,
    path: Path,
    programme: Programme,
    *,
    station: str,
    style: str | None = None,
    unit: TempUnit | None = None,
    found_as: str | None = None,
    author: Author,
    now: datetime,
    sure: bool = False,
    reading: weather.Progress | None = None,
) -> weather.WeatherReport:
    """Put a file's days on record.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's habits.
        path: The file.
        programme: What is set up.
        station: The office's station that the days are of.
        style: Form of the file; None: told from its first line.
        unit: Unit of rows that state none; None: the office's.
        found_as: Name under which the file has the station, where it holds several.
        author: Who brings it.
        now: Instant of recording; no later day can have been read.
        sure: Whether somebody said that days which look like those of the other unit are right.
        reading: Notified how many bytes were read, and of how many.

    Returns:
        What it brought, with remarks on what is odd or was left out.

    Raises:
        RoundtuiError: There is no such station or file.
        ProblemsError: Something in the file is wrong; nothing was changed.
        DoubtfulError: A run of its days fits the station's past only in the other unit; nothing was changed.
        StoreError: The store cannot be written.
    """
    known = programme.stations.get(station)
    if known is None:
        from roundtui.domain.round.checks import nearest

        hint = nearest(station, programme.stations) or "add it to stations.csv first"
        raise RoundtuiError(f"there is no station {sanitize(station, SHOWN)}", hint)
    office = read_season_office(folder)
    known = replace(known, timezone=known.timezone or office.timezone)
    form = style or _form_of(next(_lines(path), ""))
    today, name = now.astimezone().date(), sanitize(path.name, SHOWN)
    wanted = _Wanted(name, known, found_as, unit or office.unit, today, office.most_filled)
    lines = _lines(path, reading)
    read, hours = _hourly(lines, wanted) if form == "hourly" else (_read(form, lines, wanted), ())
    if read.problems:
        raise ProblemsError(f"{name} was not taken in; nothing was changed", read.problems, "correct the file")
    days = StationDays.of(replace(one, station=station) for one in read.days if one.on <= today)
    doubtful, odd = against_past(days, StationDays.of(weather.station_days(conn, station)))
    if doubtful and not sure:
        raise DoubtfulError(f"{name} was not taken in; nothing was changed", tuple(doubtful))
    with transaction(conn):
        adding = weather.Adding(conn, (path.name, form), author, now)
        adding.add(days)
        adding.add_hours(hours)
    report = adding.done()
    report.remarks = [*read.remarks, *odd, *report.remarks]
    return report


def _lines(path: Path, reading: weather.Progress | None = None) -> Iterator[str]:
    """The lines of a file, taken one by one since it may be longer than the memory."""
    done, name = 0, sanitize(path.name, SHOWN)
    try:
        size = regular(path).stat().st_size
        with path.open("rb") as file:
            for number, raw in enumerate(file):
                if number == 0 and raw.startswith((b"\xff\xfe", b"\xfe\xff", b"PK\x03\x04", b"\x1f\x8b")):
                    problem = Problem(f"{name}, line 1", "is no text", "save or unpack it as plain text, UTF-8")
                    raise ProblemsError(f"{name} was not taken in; nothing was changed", (problem,))
                done += len(raw)
                if reading is not None:
                    reading(done, size)
                # A byte that is no text becomes a mark that no column takes, and is told there.
                yield raw.decode("utf-8", errors="replace").replace("\x00", "\ufffd")
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise StoreError(f"{sanitize(str(path), 200)} cannot be read: {why}", "check the name") from error


def _form_of(line: str) -> str:
    names = {part.strip().strip('"').removeprefix("\ufeff").casefold() for part in line.split(",")}
    if {"date", "tmin", "tmax", "station"} <= names and not any(name.endswith("_attributes") for name in names):
        return "weather"
    return "hourly" if {"time", "temp"} <= names else "ghcn"


class _Wanted(Frozen):
    """What of a file is wanted, and how it is to be read."""

    where: str
    station: Station
    found_as: str | None
    unit: TempUnit | None
    today: date
    most_filled: int


def _read(form: str, lines: Iterator[str], wanted: _Wanted) -> WeatherRead:
    where, most_filled = wanted.where, wanted.most_filled
    if form == "ghcn":
        known = {wanted.found_as: wanted.found_as} if wanted.found_as else None
        read = parse_ghcn(lines, stations=known, where=where, most_filled=most_filled)
        if wanted.found_as and not read.days and not read.problems:
            raise RoundtuiError(f"{where} holds no day of {sanitize(wanted.found_as, SHOWN)}", "correct the --id")
    else:
        read = parse_weather(lines, unit=wanted.unit, where=where, last=wanted.today, most_filled=most_filled)
    if read.problems:
        return read
    chosen = _choice([one.station for one in read.stations], wanted)
    return replace(read, stations=tuple(one for one in read.stations if one.station == chosen))


def _choice(held: list[str], asked: _Wanted) -> str:
    """Which of the stations in a file is meant."""
    code, name = asked.station.station, asked.where
    wanted = asked.found_as or (code if code in held else None)
    if wanted is None and len(held) == 1:
        return held[0]
    if wanted is not None and wanted in held:
        return wanted
    if not held:
        raise RoundtuiError(f"{name} holds no whole day", "look at the file, and at --format")
    listed = ", ".join(sanitize(one, SHOWN) for one in held[:_NAMED]) + (" …" if len(held) > _NAMED else "")
    if wanted is not None:
        raise RoundtuiError(f"{name} holds no station {sanitize(wanted, SHOWN)}", f"it holds {listed}")
    raise RoundtuiError(f"{name} holds several stations", f"say which one is meant with --id; it holds {listed}")


def _hourly(lines: Iterator[str], wanted: _Wanted) -> tuple[WeatherRead, tuple[weather.HoursOfDay, ...]]:
    """Days of an hourly file, and its readings as they are kept beside them."""
    hours = parse_hourly(lines, unit=wanted.unit, where=wanted.where)
    if hours.problems:
        return WeatherRead((), hours.problems), ()
    found = _choice(list(hours.moments), wanted)
    moments, unit, code = hours.moments[found], hours.units[found], wanted.station.station
    tz = None if moments[0].at.tzinfo is None else _clock(wanted.station)
    read = daily_extremes(moments, code, unit, tz=tz, where=wanted.where, most_filled=wanted.most_filled)
    return read, weather.hours_by_day(code, unit, moments)


def _clock(station: Station) -> tzinfo:
    """The station's standard time, for times with an offset."""
    name = sanitize(station.station, SHOWN)
    if not station.timezone:
        raise RoundtuiError(
            f"the station {name} has no time zone, and the file's times need one",
            "write it into stations.csv, as America/New_York, and load",
        )
    clock = weather.standard_clock(station.timezone)
    if clock is None:
        raise RoundtuiError(
            f"the time zone {sanitize(station.timezone, SHOWN)} of the station {name} is unknown here",
            "write it into stations.csv as America/New_York, and load",
        )
    return clock


WEATHER = "weather.csv"
"""Name of the file inside the scouting folder."""
UNSTATED = TempUnit.F
"""Unit of a file that states none, in an office that states none: that of the models that ship."""
_AT_ONCE = 200
"""Lines of a station that are summed up at once."""
_FORM = 1
"""Counts up when lines are understood in another way, so that all of them are read again."""


@dataclass(slots=True)
class WeatherFile:
    """The file as it is now."""

    mtime_ns: int
    size: int
    digest: str
    """What tells one state of it, and of the office's unit, from another."""
    content: bytes | None
    """What stands in it; None where it is just as it was loaded last."""
    office: SeasonOffice
    """For unit and gaps."""

    def lines(self) -> Iterator[str]:
        """Its lines, one by one: all of them as texts take several times its room."""
        return io.TextIOWrapper(io.BytesIO(self.content or b""), "utf-8-sig")


def preview_weather(conn: sqlite3.Connection, folder: Path) -> tuple[WeatherFile | None, tuple[Problem, ...]]:
    """See whether there is such a file, and whether it changed since it was loaded last.

    Args:
        conn: The store.
        folder: The scouting folder.

    Returns:
        The file, None where there is none, and what keeps it from being read.
    """
    paths = files_here(folder, (WEATHER,)).get(WEATHER, [])
    if not paths:
        return None, ()
    content, problem = read_bytes(paths[0])
    if problem is not None:
        return None, (replace(problem, where=WEATHER),)
    _, problem = decoded(WEATHER, content)
    if problem is not None:
        return None, (problem,)
    office, faults = preview_models(folder)
    stat = paths[0].stat()
    known = conn.execute("SELECT digest, mtime_ns, size FROM files WHERE name = ?", (WEATHER,)).fetchone()
    if office is None:
        # A file that was loaded as it is needs no model; only one that changed waits for the fault to be mended.
        if known is None or known[1:] != (stat.st_mtime_ns, stat.st_size):
            return None, faults
        return WeatherFile(stat.st_mtime_ns, stat.st_size, known[0], None, SeasonOffice()), ()
    digest = f"{hashlib.blake2b(content, digest_size=16).hexdigest()}{office.unit or ''}"
    same = known is not None and known[0] == digest
    return WeatherFile(stat.st_mtime_ns, stat.st_size, digest, None if same else content, office), ()


def take_in_weather(
    conn: sqlite3.Connection,
    file: WeatherFile,
    others: Sequence[FileRead],
    report: LoadReport,
    *,
    now: datetime,
    store: bool,
    sure: bool = False,
) -> tuple[Problem, ...]:
    """Read the file and put its days on record, station by station; those whose lines did not change are passed over.

    Args:
        conn: The store, inside a transaction that is undone where there are problems.
        file: The file.
        others: The other set-up files, which may bring stations.
        report: Takes what was done.
        now: Instant of loading; no day after it can have been read.
        store: Whether to store anything; otherwise the file is only checked.
        sure: Whether somebody said that days which look like those of the other unit are right.

    Returns:
        What is wrong with it.
    """
    counts = report.files.setdefault(WEATHER, FileReport())
    if file.content is None:
        return ()
    lines = file.lines()
    header = next(lines, "")
    assumed = None if file.office.unit or "unit" in header.casefold() else UNSTATED
    unit, filled = file.office.unit or assumed, file.office.most_filled
    station = _station_of(header)
    # With quotation marks a row may be longer than a line, so that stations cannot be told by lines.
    sums = {} if b'"' in file.content else _sums(lines, station, f"{_FORM} {unit} {filled}\n{header}")
    before = dict(conn.execute("SELECT key, digest FROM loaded WHERE file = ?", (WEATHER,)))
    same = {name for name, (digest, _) in sums.items() if before.get(name) == digest}
    parser = WeatherParser(WEATHER, unit=unit, stations=_stations(conn, others), last=now.astimezone().date())
    if parser.header(iter([header])):
        # A line without a station is blank throughout, or faulty and so never passed over.
        counts.same = sum(sums[name][1] for name in same if name)
        rows = file.lines()
        next(rows)
        for passed_over, run in groupby(rows, lambda line: station(line) in same) if same else [(False, rows)]:
            if passed_over:
                parser.pass_over(sum(1 for _ in run))
            else:
                parser.feed(run)
    settling = weather_rows.Settling(WEATHER, filled, lambda code: StationDays.of(weather.station_days(conn, code)))
    who = conn.execute("SELECT value FROM settings WHERE key = 'scout'").fetchone()
    adding = weather.Adding(conn, (WEATHER, "weather"), Author(who[0] if who else "", device_name()), now)
    for name in sorted(parser.stations):
        days = settling.settle(parser.stations.pop(name))
        if store and not (parser.faults.faulty or settling.faulty):
            adding.add(days)
    settling.unsorted = settling.unsorted or parser.unsorted
    problems = (*parser.faults.listed(), *settling.problems())
    if not problems and settling.doubtful and not sure:
        doubts = tuple(Problem(WEATHER, f"{odd.where}: {odd.message}", odd.hint) for odd in settling.doubtful)
        raise DoubtfulError(f"{WEATHER} was not loaded; nothing was changed", doubts)
    if assumed is not None:
        hint = "add the column, or unit under [weather] in models.toml"
        report.remarks.append(Problem(WEATHER, f"no column unit: taken as {UNSTATED.sign}", hint))
    found = adding.done()
    counts.added, counts.changed, counts.same = found.added, found.changed, found.same + counts.same
    report.remarks += [*parser.left_out(), *settling.remarks(), *found.remarks]
    if store and not problems:
        if not sums:
            conn.execute("DELETE FROM loaded WHERE file = ?", (WEATHER,))
        conn.executemany(
            "INSERT OR REPLACE INTO loaded (file, key, digest) VALUES (?, ?, ?)",
            ((WEATHER, name, digest) for name, (digest, _) in sums.items()),
        )
    return problems


def _station_of(header: str) -> Callable[[str], str]:
    """Gives the station of a line as written, without blanks around it."""
    names = [column_name(name) for name in header.split(",")]
    at = names.index("station") if "station" in names else 0
    return lambda line: (line.split(",", at + 1) + [""] * at)[at].strip()


def _sums(lines: Iterator[str], station: Callable[[str], str], seed: str) -> dict[str, tuple[str, int]]:
    """Of each station the sum of its lines, and how many they are; ``seed`` decides too how they are understood."""
    sums: dict[str, tuple[hashlib.blake2b, int]] = {}
    waiting: dict[str, list[str]] = {}

    def take(name: str) -> None:
        found, count = sums.get(name) or (hashlib.blake2b(seed.encode(), digest_size=12), 0)
        own = waiting.pop(name)
        found.update("".join(own).encode())
        sums[name] = found, count + len(own)

    for line in lines:
        name = station(line)
        own = waiting.setdefault(name, [])
        own.append(line)
        if len(own) == _AT_ONCE:
            take(name)
    for name in list(waiting):
        take(name)
    return {name: (found.hexdigest(), count) for name, (found, count) in sums.items()}


def _stations(conn: sqlite3.Connection, others: Sequence[FileRead]) -> Collection[str]:
    found = {row[0] for row in conn.execute("SELECT station FROM stations")}
    for other in others:
        if other.file.table == "stations":
            found |= {str(values["station"]) for _, values in other.rows}
    return found


def check_temps(programme: Programme, entry: TempsRead, today: date) -> tuple[Problem, ...]:
    """What makes an entry impossible.

    Args:
        programme: What is set up.
        entry: The entry, temperatures as typed.
        today: The day; nothing later can have been read.
    """
    where = f"{sanitize(entry.station, SHOWN)}, {entry.day}"
    problems = []
    if entry.station not in programme.stations:
        problems.append(
            Problem(where, f"there is no station {sanitize(entry.station, SHOWN)}", "add it to stations.csv")
        )
    if entry.day > today:
        problems.append(Problem(where, f"{entry.day} is in the future", f"no day after {today} can have been read"))
    if hour_of(entry.observed_at) is None:
        problems.append(Problem(where, f"{shown(entry.observed_at)} is no hour", "write it as 07:00"))
    for name, text in (("minimum", entry.tmin), ("maximum", entry.tmax)):
        if weather_rows.number_of(text) is None:
            problems.append(Problem(where, f"the {name} {shown(text)} is no temperature", "write it as 12.5"))
    if not problems:
        problems += impossible(StationDays.of([_day(entry)]), where)
    return tuple(problems)


def enter_temps(
    conn: sqlite3.Connection,
    programme: Programme,
    entry: TempsRead,
    *,
    author: Author,
    now: datetime,
    today: date,
    sure: bool = False,
) -> tuple[TempsRead, tuple[Problem, ...]]:
    """Put a day's temperatures on record; an entry made for the day before is corrected by it.

    Args:
        conn: The store.
        programme: What is set up.
        entry: The entry, temperatures as typed; a comma stands for a point.
        author: Who and on which laptop.
        now: Instant of recording.
        today: The day; nothing later can have been read.
        sure: Whether a person said that temperatures far from the station's past are right.

    Returns:
        The entry as recorded, and what is odd about the day all the same.

    Raises:
        ProblemsError: It is impossible; nothing was recorded.
        DoubtfulError: It lies far from the station's past of that fortnight; nothing was recorded.
        RefusedError: It says just what stands already, or the entry of a person without a name.
        StoreError: The store cannot be written.
    """
    typed = replace(entry, tmin=_typed(entry.tmin), tmax=_typed(entry.tmax))
    problems = check_temps(programme, typed, today)
    if problems:
        raise ProblemsError("the temperatures were not recorded", problems)
    ready = replace(
        typed, tmin=_decimal(typed.tmin), tmax=_decimal(typed.tmax), observed_at=hour_of(typed.observed_at) or ""
    )
    with transaction(conn):
        before = [day for day in weather.station_days(conn, ready.station) if day.on != ready.day]
        _, far = against_past(StationDays.of([_day(ready)]), StationDays.of(before))
        if far and not sure:
            raise DoubtfulError(
                "the temperatures were not recorded", tuple(far), "enter them again, or say they are right"
            )
        standing = standing_temps(conn, ready.station, ready.day)
        if standing is not None:
            ready = replace(ready, replaces=standing.id)
        (recorded,) = record(conn, [ready], author, now)
        days = weather.station_days(conn, ready.station)
    return recorded, tuple(odd for odd in remarks(StationDays.of(days)) if odd.where.endswith(f", {ready.day}"))


def standing_temps(conn: sqlite3.Connection, station: str, day: date) -> TempsRead | None:
    """The entry by hand that stands for a day.

    Args:
        conn: The store.
        station: Code of the station.
        day: The day.
    """
    with plainly(conn):
        found = standing(conn, TEMPERATURES, "station = ? AND day = ?", station, day, order="recorded_at, id")
    return found[-1] if found else None


def unit_used_last(conn: sqlite3.Connection, station: str) -> TempUnit | None:
    """Unit of a station's newest day, to be offered for the next; None where it has none.

    Args:
        conn: The store.
        station: Code of the station.
    """
    with plainly(conn):
        row = conn.execute(
            "SELECT unit FROM present_weather WHERE station = ? ORDER BY day DESC LIMIT 1", (station,)
        ).fetchone()
    return TempUnit(row[0]) if row else None


def _typed(text: str) -> str:
    return text.strip().replace(",", ".").replace("−", "-")


def _decimal(text: str) -> str:
    """A number as kept: no plus, no leading or trailing zeros that say nothing."""
    from decimal import Decimal

    return format(Decimal(text).normalize() + 0, "f")


def _day(entry: TempsRead) -> WeatherDay:
    return WeatherDay(entry.station, entry.day, float(entry.tmin), float(entry.tmax), entry.unit, entry.observed_at)
