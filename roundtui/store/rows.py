"""Entries of a round as rows of their tables, and back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from roundtui.domain.questions import Question, QuestionWord
from roundtui.domain.recorded import Recorded
from roundtui.domain.season_entries import BiofixSettled, TempsRead
from roundtui.domain.units import TempUnit
from roundtui.domain.visits import NoReading, StageSeen, Told, Visit
from roundtui.store.row_form import AUTHOR, Row, Table, author, author_values, day, day_or_none, instant

__all__ = [
    "BIOFIXES",
    "QUESTIONS",
    "ROUND",
    "STAGES",
    "TELLINGS",
    "TEMPERATURES",
    "VISITS",
    "WITHDRAWALS",
    "Entry",
    "Row",
    "Table",
    "Withdrawal",
    "day",
    "day_or_none",
    "instant",
    "visit_of",
]

Entry = Visit | StageSeen | Told | BiofixSettled | TempsRead | Question | Recorded
"""What people enter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    """That an entry was taken back and not replaced."""

    entry: str
    """Id of the entry."""
    kind: str
    """Kind of that entry, as ``Table.kind`` has it."""
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


VISITS = Table(
    "visit",
    "visits",
    (
        *AUTHOR,
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
    (*AUTHOR, "block", "seen_on", "code", "unchanged"),
    "seen_on",
    lambda e: (*author_values(e), e.block, e.seen_on.isoformat(), e.code, int(e.unchanged)),
    lambda r: StageSeen(block=r[6], seen_on=day(r[7]), code=r[8], unchanged=r[9] == 1, **author(r)),
    "block",
)
TELLINGS = Table(
    "told",
    "tellings",
    (*AUTHOR, "block", "species", "round_on", "status", "told_on", "told_by", "how"),
    "round_on",
    lambda e: (
        *author_values(e),
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
        **author(r),
    ),
    "block",
)
BIOFIXES = Table(
    "biofix",
    "biofixes",
    (*AUTHOR, "block", "species", "season", "generation", "day", "proposed", "rule"),
    "day",
    lambda e: (
        *author_values(e),
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
        **author(r),
    ),
    "block",
)
TEMPERATURES = Table(
    "temperature",
    "temperatures",
    (*AUTHOR, "station", "day", "tmin", "tmax", "unit", "observed_at", "note"),
    "day",
    lambda e: (
        *author_values(e),
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
        **author(r),
    ),
    "station",
)
QUESTIONS = Table(
    "question",
    "questions",
    (*AUTHOR, "entry", "says", "words", "about_on", "trap", "block"),
    "about_on",
    lambda e: (*author_values(e), e.entry, e.says.value, e.words, e.about_on.isoformat(), e.trap, e.block),
    lambda r: Question(
        entry=r[6], says=QuestionWord(r[7]), words=r[8], about_on=day(r[9]), trap=r[10], block=r[11], **author(r)
    ),
)
WITHDRAWALS = Table(
    "withdrawal",
    "withdrawals",
    (*AUTHOR, "kind", "entry"),
    "",
    lambda e: (*author_values(e), e.kind, e.entry),
    lambda r: Withdrawal(kind=r[6], entry=r[7], **author(r)),
)
ROUND: dict[type, Table] = {
    Visit: VISITS,
    StageSeen: STAGES,
    Told: TELLINGS,
    BiofixSettled: BIOFIXES,
    TempsRead: TEMPERATURES,
    Question: QUESTIONS,
}
"""Tables of what is entered on a round and for the season's sums; ``tables.TABLES`` has those of all kinds."""
