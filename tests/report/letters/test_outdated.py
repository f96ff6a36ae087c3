"""Letters of a whole season that a change of the record makes out of date."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import TreatmentSaid, Visit
from roundtui.report.letters.compose import compose
from roundtui.report.letters.files import letters_outdated
from roundtui.report.letters.letter import digest
from roundtui.report.letters.material import read_material
from roundtui.store.record.journal import Author, record
from roundtui.store.reports import Written, note_written
from roundtui.store.session import Session
from tests.app.folder import DAY, open_session, past, write_folder

WEEKS = 7
DAYS = [DAY - timedelta(days=7 * back) for back in reversed(range(WEEKS))]
NEXT_SPRING = date(2032, 4, 20)
AT = datetime(2032, 5, 1, tzinfo=UTC)


def write(session: Session, on: date) -> None:
    """Keep that the letter of a day was written as the record has it now."""
    material = read_material(session.conn, session.folder, on, session.office, farms=("F1",))
    note_written(session.conn, Written("F1", on, AT, by="Ida", digest=digest(compose(material, "F1")), to=""))


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Session]:
    """Two apple maggot spheres, read on seven Tuesdays and once next spring; a letter after each round."""
    traps = [
        {"trap": trap, "block": "A", "species": "AM", "style": "sphere", "hung_on": "2031-04-15"}
        for trap in ("S1", "S2")
    ]
    folder = write_folder(tmp_path / "flies", traps=traps, routes=[{"route": "hill", "position": 1, "trap": "S1"}])
    session = open_session(folder, on=NEXT_SPRING)
    with closing(session.conn):
        for on in (*DAYS, NEXT_SPRING):
            past(session, *(Visit(trap=trap, read_on=on, count=1) for trap in ("S1", "S2")))
        for on in (*DAYS, NEXT_SPRING):
            write(session, on)
        yield session


def outdated(session: Session, treated_on: date) -> list[date]:
    said = TreatmentSaid(block="A", species="AM", treated_on=treated_on)
    found = letters_outdated(
        session.conn,
        session.folder,
        session.office,
        lambda: record(session.conn, [said], Author("Ida", "truck"), AT),
        farms=("F1",),
        since=treated_on,
        on=NEXT_SPRING,
    )
    assert all(held for _, held in found)
    return sorted(written.round_on for written, _ in found)


def test_every_letter_of_the_season_from_the_day_on_is_looked_at_and_none_of_the_next(season: Session) -> None:
    """Notified a year late of a treatment in the first week: six letters told of the block as if it had not been."""
    assert outdated(season, DAYS[1]) == DAYS[1:]


def test_a_letter_before_the_day_still_holds(season: Session) -> None:
    assert outdated(season, DAYS[-2]) == DAYS[-2:]
