"""A correction says what it changes, the biofix included, before anyone accepts it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from roundtui.domain.entries import Notified, Visit
from roundtui.domain.figures.summary import ConsequenceKind, consequences
from roundtui.domain.figures.verdicts import Summary
from roundtui.store.connect import open_store
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.chains import Mark, as_recorded
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, visits_of
from roundtui.store.round.changes import effects, preview
from roundtui.store.season.season import SeasonRecord
from tests.conftest import NOW, TRAPS, MakeFolder, ready_demo
from tests.store.laptops import rows_of

BO = Author("Bo", "desk")
DAY = timedelta(days=1)
FLIGHT = date(2025, 5, 12)
"""Day on which the sample's Old Barn had its first two codling moths."""


@pytest.fixture
def sample(tmp_path: Path) -> Iterator[tuple[Path, sqlite3.Connection]]:
    folder = ready_demo(tmp_path / "farm").folder
    with closing(open_store(folder, now=NOW)) as conn:
        yield folder, conn


def test_moths_that_were_none_move_the_biofix(sample: tuple[Path, sqlite3.Connection]) -> None:
    folder, conn = sample
    known = programme(conn)
    traps = sorted({row.trap for row in known.traps if (row.block, row.species) == ("BARN", "CM")})
    caught = [visit for trap in traps for visit in visits_of(conn, trap, FLIGHT, FLIGHT) if visit.count]
    assert caught
    none = [replace(visit, count=0, replaces=visit.id, reason="a look-alike") for visit in caught]
    before = rows_of(conn)
    found = effects(
        conn,
        folder,
        read_office(folder),
        lambda: record(conn, none, BO, NOW),
        days={FLIGHT, date(2025, 7, 14)},
        traps=[visit.trap for visit in caught],
    )
    biofixes = [one for one in found if one.kind is ConsequenceKind.BIOFIX]
    assert [(one.what, one.before, one.after, one.on) for one in biofixes][:1] == [
        ("BARN CM generation 1", "2025-05-12", "2025-05-19", date(2025, 7, 14))
    ]
    assert any(one.kind is ConsequenceKind.FIGURE and one.on == FLIGHT for one in found)
    assert rows_of(conn) == before


def test_an_entry_withdrawn_that_changes_nothing_has_no_effects(sample: tuple[Path, sqlite3.Connection]) -> None:
    folder, conn = sample
    (second,) = record(conn, [Visit(trap="M3", read_on=date(2025, 7, 14), count=8, recount=True)], BO, NOW)
    change = lambda: withdraw(conn, second.id, "entered twice", BO, NOW)  # noqa: E731
    assert effects(conn, folder, read_office(folder), change, days={second.read_on}, traps=["M3"]) == ()


def test_a_tie_of_rules_stops_no_correction(make_folder: MakeFolder) -> None:
    """The block cannot be told before and after; its figure is another one, and that is said."""
    rule = '[[rule]]\nid = "{}"\nspecies = "CM"\nkind = "mean"\nlow = 3\nhigh = 5\nsource = "us"\ndate = 2026-01-01\n'
    folder = make_folder(thresholds=rule.format("one") + rule.format("other"))
    with closing(open_folder(folder, now=NOW).conn) as conn:
        day = date(2026, 5, 12)
        (entry,) = record(conn, [Visit(trap="A1", read_on=day, count=8)], BO, NOW)
        mended = replace(entry, count=2, replaces=entry.id, reason="misread")
        found = effects(
            conn, folder, read_office(folder), lambda: record(conn, [mended], BO, NOW), days={day}, traps=["A1"]
        )
        assert {(one.kind, one.before, one.after) for one in found if one.kind is not ConsequenceKind.BIOFIX} == {
            (ConsequenceKind.FIGURE, "unknown", "unknown")
        }


def test_what_is_counted_for_its_blocks_alone_is_what_counting_everything_says(make_folder: MakeFolder) -> None:
    """Lures of two blocks turn out to be each other's, one is righted; an entry goes to another trap, a call is none.

    Trap A2 stands in the second week on a body that had been on A6 in the first, which turns out to be wrong.
    """
    folder = make_folder(traps=TRAPS + "A5,S,OFM,delta,2026-04-20\nA6,S,OFM,delta,2026-04-20\n")
    weeks = [date(2026, 5, 6) + timedelta(weeks=week) for week in range(3)]
    with closing(open_folder(folder, now=NOW).conn) as conn:
        read = [Visit(trap=f"A{n}", read_on=day, count=n * n) for day in weeks for n in range(1, 5)]
        read[5] = replace(read[5], body="K")
        read.append(Visit(trap="A6", read_on=weeks[0], count=1, body="K"))
        visits = record(conn, [*read, Visit(trap="A4", read_on=weeks[2] + DAY, lure_found="CM")], BO, NOW)
        last = {visit.trap: visit for visit in visits if visit.read_on == weeks[2] or visit.trap == "A6"}
        office, days = read_office(folder), {weeks[2], weeks[2] + DAY}
        call = {"round_on": weeks[2], "notified_on": weeks[2], "status": "within", "by": "Bo", "how": "phone"}
        (told,) = record(conn, [Notified(block="N", species="CM", **call)], BO, NOW)  # type: ignore[arg-type]
        said: dict[str, Any] = {"A6": {"body": None}, "A1": {"lure_found": "OFM"}, "A4": {"lure": "yes"}}
        said |= {"A2": {"trap": "A5"}, "A3": {}}
        for trap, changed in said.items():
            new = replace(last[trap], id="", recorded_at=None, replaces=last[trap].id, reason="again", **changed)
            change: Callable[[], object] = partial(record, conn, [new], BO, NOW)
            about: dict[str, Any] = {"traps": {trap, new.trap}}
            if not changed:
                change, about = partial(withdraw, conn, told.id, "no", BO, NOW), {"keys": {("N", "")}}
            found = effects(conn, folder, office, change, days=days, **about)

            def everything(on: Sequence[date] = (*weeks, weeks[2] + DAY)) -> list[Summary]:
                return [summary_of(conn, office, day).summary for day in on]

            both = zip(*preview(conn, change, everything), strict=True)
            whole = [one for before, after in both for one in consequences(before, after)]
            assert [one for one in found if one.kind is not ConsequenceKind.BIOFIX] == whole
            assert whole
            change()


def test_a_correction_that_names_a_wrong_lure_looks_at_every_week_it_covers(make_folder: MakeFolder) -> None:
    """Three weeks of 8 moths, over each time; on the fourth visit the lure is found to be for another species."""
    folder = make_folder()
    weeks = [date(2026, 4, 29), date(2026, 5, 6), date(2026, 5, 13)]
    with closing(open_folder(folder, now=NOW).conn) as conn:
        conn.execute("UPDATE traps SET hung_on = '2026-04-22' WHERE trap = 'A1'")
        for day in weeks:
            record(conn, [Visit(trap="A1", read_on=day, count=8)], BO, NOW)
        (last,) = record(conn, [Visit(trap="A1", read_on=date(2026, 5, 20), count=8)], BO, NOW)
        mended = replace(last, lure_found="OFM", id="", recorded_at=None, replaces=last.id, reason="seen in the lid")
        office = read_office(folder)
        change = lambda: record(conn, [mended], BO, NOW)  # noqa: E731
        found = effects(conn, folder, office, change, days={last.read_on}, traps=["A1"])
        assert [one.on for one in found if one.kind is ConsequenceKind.STATUS] == [*weeks, last.read_on]

        (mended,) = record(conn, [mended], BO, NOW + timedelta(hours=1))
        for day in weeks:
            now = summary_of(conn, office, day).summary
            assert [(row.status, row.mean_per_week) for row in now.blocks if row.block == "N"][:1] == [
                ("cannot-tell", None)
            ]
            season = SeasonRecord(conn, folder, weeks[-1], office).block("N", "CM")
            assert season.newest == (weeks[-1], None), "each of its readings is suspect"
            with as_recorded(conn, Mark(NOW + timedelta(minutes=1))):
                assert summary_of(conn, office, day).summary.blocks[0].mean_per_week == 8
