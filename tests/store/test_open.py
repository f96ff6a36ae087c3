"""Opening: what is damaged, foreign, newer or older is told apart, and nothing is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.errors import ProblemsError, StoreError
from roundtui.store import connect, db
from roundtui.store.backup import backup_of, copy_store, daily_care, restore
from roundtui.store.checks.verify import verify
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import FOLDER_FILE
from roundtui.store.record.read import journal_rows, newest_read_on, programme
from tests.conftest import MakeFolder, write_folder

ADA = Author("Ada", "truck")


def filled(folder: Path, now: datetime, entries: int = 2000) -> Path:
    """A folder with so many entries that its file has many pages, all in the one file."""
    with closing(open_folder(folder, now=now).conn) as conn:
        visits = [Visit(trap="A1", read_on=date(2026, 5, 1), count=n % 50, note="x" * 100) for n in range(entries)]
        record(conn, visits, ADA, now)
        conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return folder / DB_NAME


def test_a_store_is_made_once_and_opened_again(folder: Path, now: datetime) -> None:
    with closing(open_store(folder, now=now)) as conn:
        record(conn, [Visit(trap="A1", read_on=now.date(), count=1)], ADA, now)
    with closing(open_store(folder, now=now)) as conn:
        assert newest_read_on(conn) == now.date()
    assert sorted(path.name for path in folder.iterdir() if not path.name.endswith(".csv")) == [
        DB_NAME,
        FOLDER_FILE,
    ]


def test_what_is_no_folder_is_refused(tmp_path: Path, now: datetime) -> None:
    with pytest.raises(StoreError, match="there is no folder"):
        open_store(tmp_path / "nowhere", now=now)
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="is a file, not a scouting folder"):
        open_store(tmp_path / "file", now=now)


def test_a_folder_without_a_programme_is_left_alone(tmp_path: Path, now: datetime) -> None:
    with pytest.raises(StoreError, match="holds no scouting programme"):
        open_folder(tmp_path, now=now)
    assert list(tmp_path.iterdir()) == []


def test_faulty_files_leave_no_store_behind(make_folder: MakeFolder, now: datetime) -> None:
    folder = make_folder(traps="trap,block\nA1,N\n")
    with pytest.raises(ProblemsError):
        open_folder(folder, now=now)
    assert not (folder / DB_NAME).exists()


def truncated(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def random_bytes(path: Path) -> None:
    path.write_bytes(b"\x8f\x13\x00\xffnot a store at all" * 500)


def empty(path: Path) -> None:
    path.write_bytes(b"")


def torn_page(path: Path, page: int = 2) -> None:
    with path.open("r+b") as file:
        file.seek(4096 * page)
        file.write(b"\xff" * 4096 * 30)


def torn_far_in(path: Path) -> None:
    torn_page(path, page=160)


@pytest.mark.parametrize("harm", [truncated, random_bytes, empty, torn_page, torn_far_in])
def test_a_damaged_store_is_told_in_one_clear_message_and_left_as_it_is(
    folder: Path, now: datetime, harm: Callable[[Path], None]
) -> None:
    path = filled(folder, now)
    with closing(open_store(folder, now=now)) as conn:
        backup = daily_care(folder, conn, now.date())
    harm(path)
    before = path.read_bytes()

    def use() -> None:
        with closing(open_folder(folder, now=now).conn) as conn:
            daily_care(folder, conn, date(2026, 5, 21))

    with pytest.raises(StoreError, match="is damaged") as caught:
        use()
    assert str(path) in caught.value.message
    assert str(backup) in caught.value.hint
    assert "\n" not in caught.value.message
    assert path.read_bytes() == before
    assert not (folder / "backups" / "roundtui-2026-05-21.db").exists()


def test_damage_met_while_reading_is_told_as_well(folder: Path, now: datetime) -> None:
    torn_far_in(filled(folder, now))
    with (
        closing(open_store(folder, now=now)) as conn,
        pytest.raises(StoreError, match="is damaged"),
    ):
        journal_rows(conn, date(2026, 5, 1), date(2026, 5, 1))


def test_a_foreign_database_is_not_touched(folder: Path, now: datetime) -> None:
    path = folder / DB_NAME
    with closing(sqlite3.connect(path)) as conn:
        conn.execute("CREATE TABLE recipes (name)")
        conn.commit()
    before = path.read_bytes()
    with pytest.raises(StoreError, match="no store of roundtui"):
        open_store(folder, now=now)
    assert path.read_bytes() == before


def test_a_store_of_a_newer_version_is_not_touched(folder: Path, now: datetime) -> None:
    path = filled(folder, now, entries=1)
    with closing(sqlite3.connect(path)) as conn:
        conn.execute("PRAGMA user_version = 99")
    with pytest.raises(StoreError, match="written by a newer roundtui") as caught:
        open_store(folder, now=now)
    assert "install the newer version" in caught.value.hint


def test_a_folder_in_place_of_the_store_is_refused(folder: Path, now: datetime) -> None:
    (folder / DB_NAME).mkdir()
    with pytest.raises(StoreError, match="is not a file"):
        open_store(folder, now=now)


NOW_VERSION = db.SCHEMA_VERSION


def with_further_steps(monkeypatch: pytest.MonkeyPatch, *statements: str) -> None:
    """Let the program know so many steps more."""
    present_steps = db.steps

    def steps() -> Iterator[tuple[int, str]]:
        yield from present_steps()
        yield from ((NOW_VERSION + number, f"{sql};") for number, sql in enumerate(statements, 1))

    monkeypatch.setattr(db, "steps", steps)
    monkeypatch.setattr(db, "SCHEMA_VERSION", NOW_VERSION + len(statements))


def test_an_older_store_is_copied_aside_and_brought_up_to_date(
    folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(folder, now, entries=3)
    with_further_steps(monkeypatch, "CREATE TABLE remarks (words TEXT) STRICT")
    with closing(open_store(folder, now=now)) as conn:
        assert conn.execute("PRAGMA user_version").fetchone() == (NOW_VERSION + 1,)
        assert conn.execute("SELECT count(*) FROM visits").fetchone() == (3,)
        assert conn.execute("SELECT count(*) FROM remarks").fetchone() == (0,)
    (copy,) = (folder / "backups").iterdir()
    assert copy.name == f"before-schema-{NOW_VERSION + 1}-from-{NOW_VERSION}-20260520-163000.db"
    with closing(sqlite3.connect(copy)) as conn:
        assert conn.execute("PRAGMA user_version").fetchone() == (NOW_VERSION,)
        assert conn.execute("SELECT count(*) FROM visits").fetchone() == (3,)


def test_a_step_that_fails_changes_nothing(folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch) -> None:
    filled(folder, now, entries=3)
    with_further_steps(monkeypatch, "CREATE TABLE remarks (words TEXT) STRICT", "CREATE TABLE visits (again)")
    with pytest.raises(StoreError):
        open_store(folder, now=now)
    monkeypatch.undo()
    with closing(open_store(folder, now=now)) as conn:
        assert conn.execute("PRAGMA user_version").fetchone() == (NOW_VERSION,)
        assert not conn.execute("SELECT 1 FROM sqlite_master WHERE name = 'remarks'").fetchall()


def test_a_folder_that_cannot_be_written_is_told(folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(new: Path, path: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(connect, "_put_in_place", refuse)
    with pytest.raises(StoreError, match="cannot be written"):
        open_store(folder, now=now)
    assert sorted(path.suffix for path in folder.iterdir()) == [".csv"] * 5


def test_a_folder_is_loaded_once_and_its_entries_go_on_where_that_ended(folder: Path, now: datetime) -> None:
    opened = open_folder(folder, now=now)
    with closing(opened.conn) as conn:
        assert opened.report is not None
        added = {name: file.added for name, file in opened.report.files.items()}
        assert added == {"farms.csv": 1, "blocks.csv": 2, "lures.csv": 2, "traps.csv": 4, "routes.csv": 4}
        loaded = conn.execute("SELECT name, last_no FROM lanes").fetchall()
        assert [no for _, no in loaded] == [13]
        record(conn, [Visit(trap="A1", read_on=date(2026, 5, 1), count=1)], Author("Ada", "desk"), now)
        assert conn.execute("SELECT name, last_no FROM lanes").fetchall() == [(loaded[0][0], 14)]
        assert [fault for check in verify(conn, "desk") for fault in check.faults] == []
    assert open_folder(folder, now=now).report is None


def test_where_another_process_was_quicker_its_store_and_its_lane_stand(
    folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    link, lanes = os.link, []

    def later(new: Path, path: Path) -> None:
        monkeypatch.setattr(os, "link", link)
        with closing(open_folder(folder, now=now).conn) as conn:
            lanes.append(
                (conn.execute("SELECT name, last_no FROM lanes").fetchall(), (folder / FOLDER_FILE).read_text())
            )
        link(new, path)

    monkeypatch.setattr(os, "link", later)
    with closing(open_folder(folder, now=now).conn) as conn:
        here = conn.execute("SELECT name, last_no FROM lanes").fetchall()
        assert [(here, (folder / FOLDER_FILE).read_text())] == lanes


def test_a_folder_can_be_moved(folder: Path, now: datetime, tmp_path: Path) -> None:
    filled(folder, now, entries=3)
    shutil.move(folder, tmp_path / "moved")
    with closing(open_folder(tmp_path / "moved", now=now).conn) as conn:
        assert len(programme(conn).traps) == 4
        assert newest_read_on(conn) == date(2026, 5, 1)


def test_opening_loads_files_that_are_newer_and_goes_on_where_they_are_faulty(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn):
        pass
    traps = folder / "traps.csv"
    traps.write_text(traps.read_text() + "A5,S,OFM,delta,2026-05-01\n")
    opened = open_folder(folder, now=now)
    with closing(opened.conn) as conn:
        assert opened.report is not None
        assert opened.report.files["traps.csv"].added == 1
        assert "A5" in programme(conn).hangings
    traps.write_text(traps.read_text() + "A6,S,XXX,delta,2026-05-01\n")
    opened = open_folder(folder, now=now, tolerant=True)
    with closing(opened.conn) as conn:
        assert [problem.where for problem in opened.problems] == ["traps.csv, line 7, species"]
        assert "A6" not in programme(conn).hangings
    with pytest.raises(ProblemsError):
        open_folder(folder, now=now)


@pytest.mark.parametrize("begun_since", [False, True])
def test_a_lost_store_is_not_taken_for_an_empty_record(folder: Path, now: datetime, *, begun_since: bool) -> None:
    """Somebody tidied the folder up; of its backups the one with most in it is named, whatever the days say."""
    with closing(open_folder(folder, now=now).conn) as conn:
        record(conn, [Visit(trap="A1", read_on=now.date(), count=n, recount=n > 0) for n in range(3)], ADA, now)
        full = daily_care(folder, conn, now.date())
    (folder / DB_NAME).unlink()
    if begun_since:
        with closing(open_folder(write_folder(folder.parent / "other"), now=now).conn) as conn:
            copy_store(conn, backup_of(folder, date(2026, 6, 1)))
    for opening in (open_folder, open_store):
        with pytest.raises(StoreError, match="held a record, and its roundtui") as lost:
            opening(folder, now=now)
        assert f"roundtui restore FOLDER {full} (16 entries)" in lost.value.hint
        assert not (folder / DB_NAME).exists()
    assert full is not None
    restore(folder, full, now)
    with closing(open_folder(folder, now=now).conn) as conn:
        assert newest_read_on(conn) == now.date()


def test_a_folder_that_only_its_id_shows_to_have_held_a_record_says_so(folder: Path, now: datetime) -> None:
    filled(folder, now, entries=1).unlink()
    for path in folder.glob(f"{DB_NAME}-*"):
        path.unlink()
    with pytest.raises(StoreError, match="held a record") as lost:
        open_folder(folder, now=now)
    assert "to begin anew on purpose, move roundtui.folder and backups out of the folder" in lost.value.hint
    (folder / FOLDER_FILE).unlink()
    open_folder(folder, now=now).conn.close()


@pytest.mark.parametrize("change", ["renamed", "removed", "replaced"])
@pytest.mark.skipif(os.name == "nt", reason="Windows lets nobody move a file that is open")
def test_nothing_is_recorded_into_a_store_that_was_taken_away(folder: Path, now: datetime, change: str) -> None:
    """A sync program, or somebody who tidies up, while the walk goes on."""
    path, aside = folder / DB_NAME, folder / "old.db"
    visit = Visit(trap="A1", read_on=now.date(), count=1)
    with closing(open_folder(folder, now=now).conn) as conn:
        record(conn, [visit], ADA, now)
        path.rename(aside)
        if change == "removed":
            aside.unlink()
        if change == "replaced":
            path.write_bytes(aside.read_bytes())
        with pytest.raises(StoreError, match="moved, removed or replaced while it was open") as refused:
            record(conn, [replace(visit, trap="A2")], ADA, now)
        with pytest.raises(StoreError):  # Enter again: the same entry, kept once.
            record(conn, [replace(visit, trap="A2")], ADA, now)
        kept = Path(refused.value.hint.rpartition(" ")[2])
        with closing(open_store(kept.parent, now=now)) as rescued:
            assert [row.trap for row in journal_rows(rescued, now.date(), now.date())] == ["A1", "A2"]
        assert not conn.in_transaction
        if change == "renamed":  # Back under its name, the walk goes on.
            aside.rename(path)
            record(conn, [replace(visit, trap="A3")], ADA, now)
            assert [trap for (trap,) in conn.execute("SELECT trap FROM visits ORDER BY id")] == ["A1", "A3"]
    restore(folder, kept, now)
    with closing(open_store(folder, now=now)) as conn:
        assert [trap for (trap,) in conn.execute("SELECT trap FROM visits ORDER BY id")] == ["A1", "A2"]
