"""A small invented programme in a scouting folder: two farms, three blocks, eighteen traps on one round."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from time import sleep

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.domain.entries import NoReading, Notified, StageSeen, Visit
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.store.connect import go_on
from roundtui.store.folder import open_folder
from roundtui.store.record import journal
from roundtui.store.session import Session

DAY = date(2031, 6, 3)
"""The day the app stands on, a Tuesday."""
LAST_WEEK = DAY - timedelta(days=7)
TRAPS = {"A": [f"A{n}" for n in range(1, 7)], "B": [f"B{n}" for n in range(1, 7)], "C": [f"C{n}" for n in range(1, 7)]}
ORDER = [label for labels in TRAPS.values() for label in labels]

Rows = Sequence[Mapping[str, object]]


def write_folder(folder: Path, **files: Rows) -> Path:
    """Write the set-up files; ``files`` replaces or adds rows by file name."""
    rows: dict[str, Rows] = {
        "farms": [
            {"farm": "F1", "name": "Fernhollow", "grower": "Isolde Pipkin", "phone": "555-0111"},
            {"farm": "F2", "name": "Gorsebank", "grower": "Tam Oakapple", "phone": "555-0112"},
        ],
        "blocks": [
            {"block": "A", "farm": "F1", "name": "Upper", "crop": "apple"},
            {"block": "B", "farm": "F1", "name": "Lower", "crop": "apple"},
            {"block": "C", "farm": "F2", "name": "Long", "crop": "pear"},
        ],
        "lures": [
            {"lot": "CM1", "species": "CM", "life_days": 42},
            {"lot": "OFM1", "species": "OFM", "life_days": 42},
        ],
        "traps": [
            {"trap": label, "block": block, "species": "CM", "style": "delta", "hung_on": "2031-04-22", "lot": "CM1"}
            for block, labels in TRAPS.items()
            for label in labels
        ],
        "routes": [{"route": "hill", "position": at, "trap": label} for at, label in enumerate(ORDER, 1)],
        **files,
    }
    folder.mkdir(parents=True, exist_ok=True)
    for name, given in rows.items():
        columns = list(dict.fromkeys(column for row in given for column in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns)
            writer.writeheader()
            writer.writerows(given)
    return folder


class Ticks:
    """Seconds that run when a test says so."""

    def __init__(self) -> None:
        self.at = 0.0
        self.step = 1.0
        """Seconds between two looks, so that no Enter comes too soon unless a test wants it."""

    def __call__(self) -> float:
        self.at += self.step
        return self.at


def open_session(folder: Path, *, on: date = DAY, scout: str = "Ida", ticks: Ticks | None = None) -> Session:
    """A session on a folder, with a clock that stands at noon of its day."""
    noon = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    at = iter(range(100_000))
    conn = open_folder(folder, now=noon).conn
    return Session(
        folder,
        conn,
        on=on,
        scout=scout,
        device="truck",
        office=lambda: Office(rules=SHIPPED_RULES),
        clock=lambda: noon + timedelta(seconds=next(at)),
        ticks=ticks or Ticks(),
    )


def past(session: Session, *entries: Visit | StageSeen | Notified, scout: str = "Ida") -> None:
    """Put entries on record as if made on their day."""
    for entry in entries:
        day = next(getattr(entry, name) for name in ("read_on", "seen_on", "notified_on") if hasattr(entry, name))
        at = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
        journal.record(session.conn, [entry], journal.Author(scout, "truck"), at)


def last_week(session: Session) -> None:
    """A round of two weeks ago and one of last week, with the stages seen."""
    for weeks in (2, 1):
        day = DAY - timedelta(days=7 * weeks)
        past(session, *(Visit(trap=label, read_on=day, count=at % 3) for at, label in enumerate(ORDER)))
    past(session, *(StageSeen(block=block, seen_on=LAST_WEEK, code="71") for block in TRAPS))


def on_record(session: Session, day: date = DAY) -> dict[str, str]:
    """What stands on record for a day, by trap, in the notation of paper sheets."""
    from roundtui.domain.round.tally import draft_of, format_tally
    from roundtui.store.record.read import visits_of

    found = {label: visits_of(session.conn, label, day, day) for label in ORDER}
    return {label: " + ".join(format_tally(draft_of(v)) for v in visits) for label, visits in found.items() if visits}


def screen_text(app: RoundtuiApp) -> str:
    """What the terminal shows, line by line."""
    width, height = app.size
    lines = [[" "] * width for _ in range(height)]
    rows = app.screen._compositor.render_strips()
    for y, strip in enumerate(rows):
        lines[y] = list(strip.text.ljust(width)[:width])
    return "\n".join("".join(line).rstrip() for line in lines)


__all__ = ["DAY", "LAST_WEEK", "ORDER", "TRAPS", "NoReading", "Ticks", "last_week", "on_record", "open_session", "past"]


def reads_slowly(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """The record is read as that of many traps is, and not to its end before what this gives is cleared."""
    slow, read = [True], Session.read_history

    def slowly(session: Session) -> Callable[[], None]:
        while slow:
            go_on("")
            sleep(0.001)
        return read(session)

    monkeypatch.setattr(Session, "read_history", slowly)
    monkeypatch.setattr(Session, "reads_long", property(lambda session: session._history is None))
    return slow
