"""Entries as rows of their tables, and back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from roundtui.domain.questions import Question, QuestionWord
from roundtui.domain.season_entries import BiofixSettled, TempsRead
from roundtui.domain.units import TempUnit
from roundtui.domain.visits import NoReading, StageSeen, Told, Visit

Row = tuple[Any, ...]
Entry = Visit | StageSeen | Told | BiofixSettled | TempsRead | Question
"""What people enter."""

_AUTHOR = ("id", "recorded_at", "scout", "device", "replaces", "reason")


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    """That an entry was taken back and not replaced."""

    entry: str
    """Id of the entry."""
    kind: str
    """visit, stage, told, biofix, temperature or question."""
    reason: str
    """Why."""
    scout: str = ""
    """Who took it back."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id."""
    replaces: str | None = None
    """Always None: what is taken back is named by ``entry``."""


@dataclass(frozen=True, slots=True)
class Table:
    """Where one kind of entry is kept."""

    kind: str
    """visit, stage, told, biofix, temperature, question or withdrawal."""
    name: str
    """Name of the table."""
    columns: tuple[str, ...]
    """Columns in the order of ``values`` and ``entry``."""
    day: str
    """Column of the day an entry is about."""
    values: Callable[[Any], Row]
    """Row of an entry."""
    entry: Callable[[Row], Any]
    """Entry of a row."""
    place: str = ""
    """Column of the place an entry is about: trap, block or station."""

    @property
    def listed(self) -> str:
        """Its columns as SQL lists them."""
        return ", ".join(self.columns)

    @property
    def insert(self) -> str:
        """Statement that adds one row, with its digest."""
        marks = ", ".join("?" * (len(self.columns) + 1))
        return f"INSERT INTO {self.name} ({self.listed}, digest) VALUES ({marks})"  # noqa: S608

    def signed(self, values: Row) -> Row:
        """A row with the digest of what it says, as ``insert`` takes it.

        Args:
            values: The row, in the order of ``columns``.
        """
        return (*values, self.digest(values))

    def digest(self, values: Row) -> bytes:
        """SHA-256 of what a row says: of its kind and its values, as a JSON array in UTF-8 without blanks.

        Args:
            values: The row, in the order of ``columns``.
        """
        # Loaded on first use: the first prompt comes before the first entry.
        import hashlib
        import json

        text = json.dumps((self.kind, *values), ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).digest()


def instant(value: datetime | None) -> str:
    """An instant as kept: UTC, always with six decimals, so that texts sort as instants do."""
    if value is None:
        raise ValueError("an entry is recorded at an instant")
    if value.tzinfo is None:
        raise ValueError("an instant needs its time zone")
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


@lru_cache(maxsize=4096)
def day(text: str) -> date:
    """A day as kept. A season has few days and many entries, so each is read once."""
    return date.fromisoformat(text)


def day_or_none(text: str | None) -> date | None:
    """A day, or None where none is kept."""
    return day(text) if text else None


def _visit_values(visit: Visit) -> Row:
    return (
        visit.id,
        instant(visit.recorded_at),
        visit.scout,
        visit.device,
        visit.replaces,
        visit.reason,
        visit.trap,
        visit.read_on.isoformat(),
        visit.count,
        None if visit.no_reading is None else visit.no_reading.value,
        int(visit.cleared),
        int(visit.liner),
        visit.lure,
        int(visit.kill_strip),
        visit.body,
        visit.note,
        visit.others,
        int(visit.estimated),
        visit.lure_found,
        int(visit.recount),
    )


_REASONS: dict[str | None, NoReading | None] = {None: None, **{reason.value: reason for reason in NoReading}}


def visit_of(row: Row) -> Visit:
    """A visit from its row."""
    return Visit(
        id=row[0],
        recorded_at=datetime.fromisoformat(row[1]),
        scout=row[2],
        device=row[3],
        replaces=row[4],
        reason=row[5],
        trap=row[6],
        read_on=day(row[7]),
        count=row[8],
        no_reading=_REASONS[row[9]],
        cleared=row[10] == 1,
        liner=row[11] == 1,
        lure=row[12],
        kill_strip=row[13] == 1,
        body=row[14],
        note=row[15],
        others=row[16],
        estimated=row[17] == 1,
        lure_found=row[18],
        recount=row[19] == 1,
    )


def _author(row: Row) -> dict[str, Any]:
    return dict(zip(_AUTHOR, (row[0], datetime.fromisoformat(row[1]), *row[2:6]), strict=True))


def _author_values(entry: StageSeen | Told | BiofixSettled | TempsRead | Withdrawal) -> Row:
    return (entry.id, instant(entry.recorded_at), entry.scout, entry.device, entry.replaces, entry.reason)


VISITS = Table(
    "visit",
    "visits",
    (
        *_AUTHOR,
        *("trap", "read_on", "count", "no_reading", "cleared", "liner", "lure", "kill_strip", "body", "note"),
        *("others", "estimated", "lure_found", "recount"),
    ),
    "read_on",
    _visit_values,
    visit_of,
    "trap",
)
STAGES = Table(
    "stage",
    "stages",
    (*_AUTHOR, "block", "seen_on", "code", "unchanged"),
    "seen_on",
    lambda e: (*_author_values(e), e.block, e.seen_on.isoformat(), e.code, int(e.unchanged)),
    lambda r: StageSeen(block=r[6], seen_on=day(r[7]), code=r[8], unchanged=r[9] == 1, **_author(r)),
    "block",
)
TELLINGS = Table(
    "told",
    "tellings",
    (*_AUTHOR, "block", "species", "round_on", "status", "told_on", "told_by", "how"),
    "round_on",
    lambda e: (
        *_author_values(e),
        *(e.block, e.species, e.round_on.isoformat(), e.status, e.told_on.isoformat(), e.by, e.how),
    ),
    lambda r: Told(
        block=r[6],
        species=r[7],
        round_on=day(r[8]),
        status=r[9],
        told_on=day(r[10]),
        by=r[11],
        how=r[12],
        **_author(r),
    ),
    "block",
)
BIOFIXES = Table(
    "biofix",
    "biofixes",
    (*_AUTHOR, "block", "species", "season", "generation", "day", "proposed", "rule"),
    "day",
    lambda e: (
        *_author_values(e),
        *(e.block, e.species, e.season, e.generation, e.day.isoformat()),
        *(e.proposed.isoformat() if e.proposed else None, e.rule),
    ),
    lambda r: BiofixSettled(
        block=r[6],
        species=r[7],
        season=r[8],
        generation=r[9],
        day=day(r[10]),
        proposed=day_or_none(r[11]),
        rule=r[12],
        **_author(r),
    ),
    "block",
)
TEMPERATURES = Table(
    "temperature",
    "temperatures",
    (*_AUTHOR, "station", "day", "tmin", "tmax", "unit", "observed_at", "note"),
    "day",
    lambda e: (
        *_author_values(e),
        *(e.station, e.day.isoformat(), e.tmin, e.tmax, e.unit.value, e.observed_at, e.note),
    ),
    lambda r: TempsRead(
        station=r[6],
        day=day(r[7]),
        tmin=r[8],
        tmax=r[9],
        unit=TempUnit(r[10]),
        observed_at=r[11],
        note=r[12],
        **_author(r),
    ),
    "station",
)
QUESTIONS = Table(
    "question",
    "questions",
    (*_AUTHOR, "entry", "says", "words", "about_on", "trap", "block"),
    "about_on",
    lambda e: (*_author_values(e), e.entry, e.says.value, e.words, e.about_on.isoformat(), e.trap, e.block),
    lambda r: Question(
        entry=r[6], says=QuestionWord(r[7]), words=r[8], about_on=day(r[9]), trap=r[10], block=r[11], **_author(r)
    ),
)
WITHDRAWALS = Table(
    "withdrawal",
    "withdrawals",
    (*_AUTHOR, "kind", "entry"),
    "",
    lambda e: (*_author_values(e), e.kind, e.entry),
    lambda r: Withdrawal(kind=r[6], entry=r[7], **_author(r)),
)
TABLES: dict[type, Table] = {
    Visit: VISITS,
    StageSeen: STAGES,
    Told: TELLINGS,
    BiofixSettled: BIOFIXES,
    TempsRead: TEMPERATURES,
    Question: QUESTIONS,
}
"""Table of each kind of entry."""
