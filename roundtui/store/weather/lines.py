"""The lines of a long weather.csv, station by station: what changed in it, found without understanding what did not.

The file is gone through as text, a few thousand lines at a time. First each station's lines are summed up; a station
whose sum is that of the last load says what it said then. Only the others are understood, in a second pass.
"""

from __future__ import annotations

import hashlib
from codecs import getincrementaldecoder
from collections.abc import Callable, Iterator, Set
from dataclasses import dataclass, field
from itertools import count, groupby, islice
from operator import itemgetter
from pathlib import Path

from roundtui.domain.table import column_name
from roundtui.errors import Problem
from roundtui.store.csv_file import decoded, read_bytes

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
