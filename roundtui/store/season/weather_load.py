"""The lines of a long weather.csv, station by station: what changed in it, found without understanding what did not.

The file is gone through as text, a few thousand lines at a time. First each station's lines are summed up; a station
whose sum is that of the last load says what it said then. Only the others are understood, in a second pass.

``weather.csv`` on loading a folder: the days in it become versions of their days, and nothing is overwritten.
"""

from __future__ import annotations

import hashlib
import sqlite3
from codecs import getincrementaldecoder
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence, Set
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import count, groupby, islice
from operator import itemgetter
from pathlib import Path

from roundtui.domain.season.models import SeasonOffice
from roundtui.domain.season.weather_files import WeatherParser
from roundtui.domain.season.weather_rows import Settling, StationDays
from roundtui.domain.toml_table import column_name
from roundtui.domain.units import TempUnit
from roundtui.errors import DoubtfulError, Problem
from roundtui.store.csv_file import decoded, read_bytes
from roundtui.store.device import device_name
from roundtui.store.journal import Author
from roundtui.store.season.office import look_at_models
from roundtui.store.season.weather import Adding, Progress, station_days
from roundtui.store.set_up.load_report import FileRead, FileReport, LoadReport
from roundtui.store.set_up.office import files_here

_PIECE = 1 << 20
_MOST_LINES = 4096
"""Lines that are held at once."""
Part = tuple[list[str], list[str], int]
"""Of some lines the stations as written, without blanks around them; the lines; how many lines stand before them."""


@dataclass(slots=True)
class WeatherText:
    """The file, known to be text."""

    path: Path
    """The file."""
    digest: str
    """What tells one state of it from another."""
    header: str
    """Its first line."""
    whole: bool
    """Whether stations cannot be told by lines: it has quotation marks, so that a row may be longer than one."""
    lines: int = 0
    """Lines it has."""
    stations: dict[str, tuple[str, int]] = field(default_factory=dict)
    """Of each station the sum of its lines, and how many they are; empty where ``whole``."""

    def every_line(self) -> Iterator[str]:
        """All lines, the header too."""
        with self.path.open(encoding="utf-8-sig") as text:
            yield from text

    def parts(self) -> Iterator[Part]:
        """The lines after the header, in order, so many at once."""
        rows = islice(self.every_line(), 1, None)
        station = _station_of(self.header)
        before = 1
        while lines := list(islice(rows, _MOST_LINES)):
            yield list(map(station, lines)), lines, before
            before += len(lines)

    def changed(self, same: Set[str]) -> Iterator[Part]:
        """Those of other stations than some, together as they come.

        Args:
            same: Stations whose lines are passed over.
        """
        for names, lines, before in self.parts():
            if not same or same.isdisjoint(names):
                yield names, lines, before
            elif not all(name in same for name in set(names)):
                rows = zip(names, lines, count(before), strict=False)
                for passed_over, group in groupby(rows, key=lambda row: row[0] in same):
                    if not passed_over:
                        held = list(group)
                        yield [row[0] for row in held], [row[1] for row in held], held[0][2]

    def sum_up(self, seed: str) -> None:
        """Go through it and sum up each station's lines.

        Args:
            seed: What else decides how a line is understood.
        """
        if self.whole:
            self.lines = sum(1 for _ in self.every_line())
            return
        sums = {}
        counts: dict[str, int] = {}
        self.lines = 1
        for names, lines, _ in self.parts():
            # Lines that follow each other are summed up together: most files have a station's days in a row.
            for name, group in groupby(zip(names, lines, strict=True), key=itemgetter(0)):
                run = [line for _, line in group]
                if name not in sums:
                    sums[name] = hashlib.blake2b(f"{seed}\n{self.header}".encode(), digest_size=12)
                sums[name].update("".join(run).encode())
                counts[name] = counts.get(name, 0) + len(run)
            self.lines += len(lines)
        self.stations = {name: (digest.hexdigest(), counts[name]) for name, digest in sums.items()}


def look_at(path: Path, name: str) -> tuple[WeatherText | None, Problem | None]:
    """Look at a file as bytes: whether it is text, and which.

    Args:
        path: The file.
        name: Its name as problems show it.

    Returns:
        The file, or why it cannot be read.
    """
    digest = hashlib.blake2b(digest_size=16)
    decoder = getincrementaldecoder("utf-8-sig")()
    header, whole, sound, first = "", False, True, True
    try:
        with path.open("rb") as file:
            while sound and (piece := file.read(_PIECE)):
                sound = b"\x00" not in piece and not (first and piece.startswith((b"\xff\xfe", b"\xfe\xff", b"PK")))
                text = decoder.decode(piece)
                header = (text.splitlines() or [""])[0] if first else header
                digest.update(piece)
                whole = whole or b'"' in piece
                first = False
        decoder.decode(b"", final=True)
    except (OSError, UnicodeDecodeError):
        sound = False
    if sound:
        return WeatherText(path, digest.hexdigest(), header, whole or not header.strip()), None
    content, problem = read_bytes(path)
    if problem is not None:
        return None, Problem(name, problem.message, problem.hint)
    _, problem = decoded(name, content)
    return None, problem or Problem(name, "changed while it was read", "load it again")


def _station_of(header: str) -> Callable[[str], str]:
    names = [column_name(name) for name in header.split(",")]
    at = names.index("station") if "station" in names else 0
    if at == 0:
        return lambda line: line.partition(",")[0].strip()
    return lambda line: (line.split(",", at + 1) + [""] * at)[at].strip()


WEATHER = "weather.csv"
"""Name of the file inside the scouting folder."""
UNSTATED = TempUnit.F
"""Unit of a file that states none, in an office that states none: that of the models that ship."""
_FORM = 1
"""Counts up when lines are understood in another way, so that all of them are read again."""


@dataclass(slots=True)
class WeatherFile:
    """The file as it is now."""

    mtime_ns: int
    size: int
    digest: str
    """What tells one state of it, and of the office's unit, from another."""
    text: WeatherText | None
    """Its lines; None where it is just as it was loaded last."""
    office: SeasonOffice
    """For unit and gaps."""


@dataclass(slots=True)
class _Kept:
    """What a trial understood of a file, for the load that follows it."""

    digest: str
    stations: list[StationDays] = field(default_factory=list)
    remarks: tuple[Problem, ...] = ()


class WeatherReading:
    """How a file's text is read. A new folder is tried out before its store is made: the trial stores nothing.

    Args:
        progress: Told how many lines were read, and of how many.
    """

    def __init__(self, progress: Progress | None = None) -> None:
        self.progress = progress
        self.sure = False
        """Whether somebody said that days which look like those of the other unit are right."""
        self.trial = False
        """Whether the days are only checked, and kept in memory for the load that follows."""
        self.kept: _Kept | None = None
        """What a trial understood."""

    def tell(self, done: int, total: int) -> None:
        """Tell how far it is; a trial and the load after it are one piece of work."""
        if self.progress is None:
            return
        if self.trial:
            self.progress(done, 2 * total)
        elif self.kept is not None:
            self.progress(total + done, 2 * total)
        else:
            self.progress(done, total)


def look_at_weather(conn: sqlite3.Connection, folder: Path) -> tuple[WeatherFile | None, tuple[Problem, ...]]:
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
    path = paths[0]
    text, problem = look_at(path, WEATHER)
    if text is None:
        return None, (problem,) if problem else ()
    office, faults = look_at_models(folder)
    stat = path.stat()
    if office is None:
        # A file that was loaded as it is needs no model; only one that changed waits for the fault to be mended.
        kept = "SELECT digest FROM files WHERE name = ? AND mtime_ns = ? AND size = ?"
        loaded = conn.execute(kept, (WEATHER, stat.st_mtime_ns, stat.st_size)).fetchone()
        if loaded is None:
            return None, faults
        return WeatherFile(stat.st_mtime_ns, stat.st_size, loaded[0], None, SeasonOffice()), ()
    digest = f"{text.digest}{office.unit or ''}"
    known = conn.execute("SELECT digest FROM files WHERE name = ?", (WEATHER,)).fetchone()
    same = known is not None and known[0] == digest
    return WeatherFile(stat.st_mtime_ns, stat.st_size, digest, None if same else text, office), ()


def take_in_weather(
    conn: sqlite3.Connection,
    file: WeatherFile,
    others: Sequence[FileRead],
    report: LoadReport,
    *,
    now: datetime,
    reading: WeatherReading,
    store: bool,
) -> tuple[Problem, ...]:
    """Read the file and put its days on record, station by station.

    Args:
        conn: The store, inside a transaction that is undone where there are problems.
        file: The file.
        others: The other set-up files, which may bring stations.
        report: Takes what was done.
        now: Instant of loading; no day after it can have been read.
        reading: How it is read.
        store: Whether to store anything; otherwise the file is only checked.

    Returns:
        What is wrong with it.
    """
    counts = report.files.setdefault(WEATHER, FileReport())
    if file.text is None:
        return ()
    text, unit = file.text, file.office.unit or _assumed(file.text.header)
    text.sum_up(f"{_FORM} {unit} {file.office.most_filled}")
    store = store and not reading.trial
    who = conn.execute("SELECT value FROM settings WHERE key = 'scout'").fetchone()
    adding = Adding(conn, (WEATHER, "weather"), Author(who[0] if who else "", device_name()), now)
    known, today = _stations(conn, others), now.astimezone().date()
    look = _Look(conn, file, unit=unit, stations=known, last=today, reading=reading)
    for days in look.days():
        if store and not look.faulty:
            adding.add(days)
    problems = look.problems
    found = adding.done()
    counts.added, counts.changed, counts.same = found.added, found.changed, found.same + look.skipped
    report.remarks += [*look.remarks, *found.remarks]
    if store and not problems:
        _remember(conn, text)
    return problems


class _Look:
    """Understands the lines of the stations that changed."""

    def __init__(
        self,
        conn: sqlite3.Connection,
        file: WeatherFile,
        *,
        unit: TempUnit | None,
        stations: Collection[str],
        last: date,
        reading: WeatherReading,
    ) -> None:
        self._file = file
        self._text: WeatherText = file.text  # type: ignore[assignment]
        self._parser = WeatherParser(WEATHER, unit=unit, stations=stations, last=last)
        self._settling = Settling(
            WEATHER, file.office.most_filled, lambda station: StationDays.of(station_days(conn, station))
        )
        self._reading = reading
        before: dict[str, str] = dict(conn.execute("SELECT key, digest FROM loaded WHERE file = ?", (WEATHER,)))
        self._same = {name for name, (digest, _) in self._text.stations.items() if before.get(name) == digest}
        self.skipped = 0
        """Rows that were passed over, since their station says what it said before."""
        self.problems: tuple[Problem, ...] = ()
        """What is wrong, once all was looked at."""
        self.remarks: tuple[Problem, ...] = ()
        """What is odd, once all was looked at."""

    @property
    def faulty(self) -> bool:
        """Whether something in it is wrong, so far."""
        return self._parser.faults.faulty or self._settling.faulty

    def days(self) -> Iterator[StationDays]:
        """Days of one station after the other, each once and in order."""
        kept = self._reading.kept
        if kept is not None and kept.digest == self._file.digest:
            yield from self._from_memory(kept)
            return
        memory = _Kept(self._file.digest)
        for days in self._from_whole() if self._text.whole else self._from_lines():
            if self._reading.trial:
                memory.stations.append(days)
            yield days
        self._settling.unsorted = self._settling.unsorted or self._parser.unsorted
        self.problems = (*self._parser.problems(), *self._settling.problems())
        if not self.problems and self._settling.doubtful and not self._reading.sure:
            raise DoubtfulError(
                f"{WEATHER} was not loaded; nothing was changed",
                tuple(Problem(WEATHER, f"{odd.where}: {odd.message}", odd.hint) for odd in self._settling.doubtful),
            )
        odd = [*self._parser.left_out(), *self._settling.remarks()]
        if self._file.office.unit is None and _assumed(self._text.header) is not None:
            words = f"no column unit: taken as {UNSTATED.sign}"
            odd.insert(0, Problem(WEATHER, words, "add the column, or unit under [weather] in models.toml"))
        self.remarks = memory.remarks = tuple(odd)
        if self._reading.trial and not self.problems:
            self._reading.kept = memory

    def _from_memory(self, kept: _Kept) -> Iterator[StationDays]:
        done, total = 0, sum(map(len, kept.stations))
        for days in kept.stations:
            yield days
            done += len(days)
            self._reading.tell(self._text.lines * done // (total or 1), self._text.lines)
        self.remarks = kept.remarks

    def _from_whole(self) -> Iterator[StationDays]:
        lines = self._text.every_line()
        if self._parser.header(lines):
            self._parser.feed(lines)
        for name in sorted(self._parser.stations):
            yield self._settling.settle(self._parser.stations[name])
        self._reading.tell(self._text.lines, self._text.lines)

    def _from_lines(self) -> Iterator[StationDays]:
        if not self._parser.header(iter([self._text.header])):
            return
        left = {name: lines for name, (_, lines) in self._text.stations.items()}
        # A line without a station is blank throughout, or faulty and so never passed over.
        self.skipped = sum(lines for name, lines in left.items() if name in self._same and name)
        for names, lines, before in self._text.changed(self._same):
            self._parser.feed(lines, before)
            for name, number in Counter(names).items():
                left[name] -= number
                if not left[name] and name in self._parser.stations:
                    yield self._settling.settle(self._parser.stations.pop(name))
            self._reading.tell(before + len(lines), self._text.lines)


def _remember(conn: sqlite3.Connection, text: WeatherText) -> None:
    if text.whole:
        conn.execute("DELETE FROM loaded WHERE file = ?", (WEATHER,))
    conn.executemany(
        "INSERT OR REPLACE INTO loaded (file, key, digest) VALUES (?, ?, ?)",
        ((WEATHER, name, digest) for name, (digest, _) in text.stations.items()),
    )


def _assumed(header: str) -> TempUnit | None:
    return None if "unit" in header.casefold() else UNSTATED


def _stations(conn: sqlite3.Connection, others: Sequence[FileRead]) -> Collection[str]:
    found = {row[0] for row in conn.execute("SELECT station FROM stations")}
    for other in others:
        if other.file.table == "stations":
            found |= {str(values["station"]) for _, values in other.rows}
    return found
