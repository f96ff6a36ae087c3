"""Backups once a day, and putting one in place."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from roundtui.domain.entries import Visit
from roundtui.errors import StoreError
from roundtui.store.backup import KEEP_DAYS, backup_of, copy_store, daily_backup, daily_care, restore
from roundtui.store.checks.verify import lacking
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.exchange.merge import merge
from roundtui.store.failures import newest_backup, to_read, translated, unwritable
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import journal_rows
from tests.conftest import write_folder

ADA = Author("Ada", "truck")
DAY = date(2026, 5, 20)


def counts(folder: Path, now: datetime) -> list[int]:
    with closing(open_store(folder, now=now)) as conn:
        return [row.entry.count for row in journal_rows(conn, DAY, DAY)]  # type: ignore[union-attr,misc]


def note(conn: sqlite3.Connection, count: int, now: datetime) -> None:
    record(conn, [Visit(trap="A1", read_on=DAY, count=count)], ADA, now)


def test_once_a_day_and_only_when_asked(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn):
        assert not (folder / "backups").exists()
    with closing(open_folder(folder, now=now, daily_check=True).conn) as conn:
        (backup,) = (folder / "backups").iterdir()
        written = backup.stat().st_mtime_ns
        note(conn, 1, now)
    with closing(open_folder(folder, now=now, daily_check=True).conn):
        assert [path.stat().st_mtime_ns for path in (folder / "backups").iterdir()] == [written]


def test_a_backup_holds_what_is_not_yet_in_the_main_file(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    note(store, 4, now)
    backup = daily_care(folder, store, DAY)
    assert backup == backup_of(folder, DAY)
    with closing(sqlite3.connect(backup)) as copy:
        assert copy.execute("SELECT count FROM visits").fetchall() == [(4,)]
        assert copy.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_thirty_days_are_kept_and_the_first_of_each_month(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    days = [DAY - timedelta(days=n) for n in range(90, 0, -1)]
    (folder / "backups").mkdir()
    for day in days:
        backup_of(folder, day).write_bytes(b"old")
    other = folder / "backups" / "before-schema-2-from-1-20260101-000000.db"
    other.write_bytes(b"kept")
    daily_care(folder, store, DAY)
    left = sorted(path.name for path in (folder / "backups").glob("roundtui-*.db"))
    newest = [backup_of(folder, DAY - timedelta(days=n)).name for n in range(KEEP_DAYS)]
    assert left == sorted({*newest, *(f"roundtui-2026-{month}.db" for month in ("02-19", "03-01", "04-01", "05-01"))})
    assert other.exists()


def test_a_backup_is_put_in_place_and_the_present_file_kept(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
        note(conn, 2, now)
    assert backup is not None
    kept = restore(folder, backup, now)
    assert counts(folder, now) == [1]
    assert kept is not None
    assert kept.parent == folder
    with closing(sqlite3.connect(kept)) as conn:
        assert conn.execute("SELECT count FROM visits ORDER BY count").fetchall() == [(1,), (2,)]
    assert backup.exists()


def test_a_damaged_store_is_kept_beside_the_restored_one(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
    assert backup is not None
    (folder / DB_NAME).write_bytes(b"rubbish")
    kept = restore(folder, backup, now)
    assert kept is not None
    assert kept.read_bytes() == b"rubbish"
    assert counts(folder, now) == [1]


def test_a_lost_store_is_restored(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
    assert backup is not None
    (folder / DB_NAME).unlink()
    assert restore(folder, backup, now) is None
    assert counts(folder, now) == [1]


def test_a_lost_store_is_not_made_anew_beside_its_journal(folder: Path, now: datetime) -> None:
    """The journal would be taken for that of the new file."""
    with closing(open_folder(folder, now=now).conn) as conn:
        backup = daily_care(folder, conn, DAY)
        note(conn, 1, now)
        journal = (folder / f"{DB_NAME}-wal").read_bytes()
    assert backup is not None
    (folder / DB_NAME).unlink()
    (folder / f"{DB_NAME}-wal").write_bytes(journal)
    with pytest.raises(StoreError, match="the file is missing") as caught:
        open_folder(folder, now=now)
    assert str(backup) in caught.value.hint
    kept = restore(folder, backup, now)
    assert kept is not None
    assert kept.with_name(f"{kept.name}-wal").read_bytes() == journal
    assert counts(folder, now) == []


def test_no_file_is_taken_from_under_an_open_window(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
        assert backup is not None
        with pytest.raises(StoreError, match="open in another window"):
            restore(folder, backup, now)
        note(conn, 2, now)
    assert sorted(counts(folder, now)) == [1, 2]


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"rubbish" * 1000, "is damaged"), (b"", "no store of roundtui"), (None, "there is no backup")],
)
def test_what_is_no_backup_changes_nothing(folder: Path, now: datetime, content: bytes | None, words: str) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
    backup = folder / "some.db"
    if content is not None:
        backup.write_bytes(content)
    with pytest.raises(StoreError, match=words):
        restore(folder, backup, now)
    assert counts(folder, now) == [1]
    assert not list(folder.glob("*before-restore*"))
    assert not list(folder.glob(".*"))


def test_the_store_is_no_backup_of_itself(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn):
        pass
    with pytest.raises(StoreError, match="is the store itself"):
        restore(folder, folder / DB_NAME, now)


def test_two_restores_in_one_second_keep_both_files(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        backup = daily_care(folder, conn, DAY)
    assert backup is not None
    kept = {restore(folder, backup, now), restore(folder, backup, now + timedelta(microseconds=1))}
    assert len(kept) == 2


class LostPowerError(BaseException):
    """The laptop goes off."""


def test_whenever_the_power_goes_a_store_is_in_its_place(
    folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
        note(conn, 2, now)
    assert backup is not None
    steps = [(os, "link"), (Path, "replace"), (Path, "rename"), (os, "fsync")]
    done = 0
    for most in range(20):
        left = most

        def dying(real: Any) -> Any:
            def step(*args: Any, **named: Any) -> Any:
                nonlocal left
                if left == 0:
                    raise LostPowerError
                left -= 1
                return real(*args, **named)

            return step

        with monkeypatch.context() as patched:
            for of, name in steps:
                patched.setattr(of, name, dying(getattr(of, name)))
            try:
                restore(folder, backup, now + timedelta(seconds=most))
                done += 1
            except LostPowerError:
                pass
        assert (folder / DB_NAME).is_file()
        here = sorted(counts(folder, now))
        assert here in ([1], [1, 2])
        if here == [1]:
            assert any(path.stat().st_size for path in folder.glob("*before-restore*.db"))
            break
    assert most >= 3  # It died at several steps before the backup was in place.


def test_what_a_backup_lacks_is_said_by_day_and_person(folder: Path, now: datetime) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        note(conn, 1, now)
        backup = daily_care(folder, conn, DAY)
        record(conn, [Visit(trap=trap, read_on=DAY, count=1) for trap in ("A2", "A3")], ADA, now)
        record(conn, [Visit(trap="A4", read_on=DAY + timedelta(days=1), count=1)], Author("Bo", "desk"), now)
    assert backup is not None
    assert lacking(folder, backup) == ["2026-05-20, Ada: 2 entries", "2026-05-21, Bo: 1 entry"]
    kept = restore(folder, backup, now)
    assert lacking(folder, backup) == []
    assert kept is not None
    with closing(open_store(folder, now=now)) as conn:
        assert merge(conn, [kept]).new == 3  # Whoever wants them back merges the file that was kept.
    assert lacking(folder, kept) == []


def test_a_record_begun_anew_never_pushes_out_the_backups_of_the_fuller_one(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    note(store, 4, now)
    full = [daily_backup(folder, store, DAY - timedelta(days=1) - timedelta(days=n)) for n in range(3)]
    other = write_folder(folder.parent / "anew")
    with closing(open_folder(other, now=now).conn) as conn:
        for n in range(KEEP_DAYS + 5):
            copy_store(conn, backup_of(folder, DAY + timedelta(days=n)))
        daily_backup(folder, conn, DAY + timedelta(days=KEEP_DAYS + 5))
    assert all(path.exists() for path in full)
    assert newest_backup(folder) == max(full)


def test_a_store_on_a_disk_that_takes_nothing_can_be_read(
    folder: Path, store: sqlite3.Connection, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it lies on a stick with its lock set: the database would make a file beside it, and refuse where it cannot."""
    note(store, 1, now)
    store.close()
    before = sorted(folder.iterdir())
    monkeypatch.setattr("roundtui.store.failures.os.access", lambda *_: False)
    with closing(to_read(folder / DB_NAME)) as conn:
        assert conn.execute("SELECT count(*) FROM visits").fetchone() == (1,)
        assert sorted(folder.iterdir()) == before


def test_a_disk_without_room_for_what_readers_share_is_full(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The database wants 32 KiB beside its file to be read, and says "disk I/O error" where they are not free."""
    said = sqlite3.OperationalError("disk I/O error")
    for free, words in ((1 << 30, "cannot be read or written"), (4096, "the disk is full")):
        monkeypatch.setattr("shutil.disk_usage", lambda _, left=free: SimpleNamespace(free=left))
        assert words in translated(said, tmp_path / "missing" / "roundtui.db").message


def test_a_folder_that_cannot_be_copied_is_named_once_and_not_file_by_file(tmp_path: Path) -> None:
    copied = shutil.Error([("a/traps.csv", "/tmp/x.1/traps.csv", "[Errno 27] File too large: 'a' -> 'b'")])
    assert unwritable(tmp_path / "farm", copied).message == f"{tmp_path}/farm cannot be written: its files do not fit"


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("database or disk is full", "the disk is full"),
        ("attempt to write a readonly database", "read-only"),
        ("unable to open database file", "read-only"),
        ("database is locked", "in use by another window"),
    ],
)
def test_a_fault_of_the_disk_is_never_said_to_be_a_damaged_backup(
    folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch, fault: str, words: str
) -> None:
    with closing(open_folder(folder, now=now).conn) as conn:
        backup = daily_care(folder, conn, DAY)
    assert backup is not None

    def fail(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError(fault)

    for place in ("roundtui.store.backup.sqlite3.connect", "roundtui.store.connect.sqlite3.connect"):
        with monkeypatch.context() as patched:
            patched.setattr(place, fail)
            with pytest.raises(StoreError) as said:
                restore(folder, backup, now)
            with pytest.raises(StoreError) as opening:
                open_store(folder, now=now)
        for error in (said.value, opening.value):
            assert words in error.message, error.message
            assert "damaged" not in error.message
    assert counts(folder, now) == []
