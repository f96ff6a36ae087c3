"""A store of every released schema opens, is sound, says what it said, and hands on what it does not understand."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import KINDS
from roundtui.errors import StoreError
from roundtui.store.checks.verify import verify
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME, SCHEMA_VERSION, steps
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.importing import import_package
from roundtui.store.exchange.merge import merge
from roundtui.store.exchange.package import write_package
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.read import visits_of
from roundtui.store.record.rows import HEAD, JOURNALS, OTHERS, TABLES, TAIL
from tests.conftest import NOW, write_folder
from tests.store.laptops import rows_of, summary_of
from tests.store.stored import NEWER, STORES, add_newer, restored

ON = date(2026, 5, 20)
LATER = NOW + timedelta(days=2)


def test_there_is_one_of_every_schema() -> None:
    numbers = [number for number, _ in steps()]
    assert numbers == list(range(1, SCHEMA_VERSION + 1))
    assert [(STORES / f"schema-{number}.sql").is_file() for number in numbers] == [True] * len(numbers)


@pytest.mark.parametrize("schema", range(1, SCHEMA_VERSION + 1))
def test_it_opens_and_is_sound_and_says_what_it_said(tmp_path: Path, schema: int) -> None:
    folder = tmp_path / "farm"
    folder.mkdir()
    restored(folder / DB_NAME, schema)
    with closing(open_store(folder, now=LATER)) as conn:
        assert [fault for check in verify(conn, "truck") for fault in check.faults] == []
        assert {row.count for row in visits_of(conn, "A3", ON, ON)} == {2}
        assert sum(block.read for block in summary_of(conn).blocks) == 1
        kinds = {table.kind for table in TABLES.values() if conn.execute(f"SELECT 1 FROM {table.name}").fetchone()}
        assert kinds >= {kind.kind for kind in KINDS if kind.since == 1 and (kind.shown or kind.kind == "withdrawal")}
        record(conn, [visits_of(conn, "A3", ON, ON)[0]], Author("Ada", "truck"), LATER)
        assert [fault for check in verify(conn, "truck") for fault in check.faults] == []


def test_the_tables_are_those_of_the_registry(store: object) -> None:
    for table in TABLES.values():
        said = {
            name: (kind, not_null == 0, default)
            for _, name, kind, not_null, default, _ in store.execute(f"PRAGMA table_info({table.name})")  # type: ignore[attr-defined]
        }
        for one in table.own:
            kind, blank, default = said[one.name]
            assert (kind, blank) == ("TEXT" if one.form in ("string", "date") else "INTEGER", one.blank), one.name
            if not one.required and one.default is not None:
                assert default is not None, f"{table.name}.{one.name} needs its default"
                assert json.loads(default.replace("'", '"')) == one.default


def test_what_only_a_newer_program_knows_goes_unchanged_through_merge_package_and_correction(tmp_path: Path) -> None:
    with closing(open_folder(write_folder(tmp_path / "desk"), now=NOW).conn) as desk:
        add_newer(desk)
        pack(desk, tmp_path / "desk.bundle", "desk", NOW)
        write_package(desk, tmp_path / "desk", tmp_path / "out", NOW)
        there = {key: row for key, row in rows_of(desk).items() if row[3] == NEWER["scout"]}
    assert len(there) == 2
    import_package(tmp_path / "again", tmp_path / "out", NOW)
    with (
        closing(open_folder(write_folder(tmp_path / "truck"), now=NOW).conn) as truck,
        closing(open_store(tmp_path / "again", now=NOW)) as again,
    ):
        report = merge(truck, [tmp_path / "desk.bundle"])
        assert (report.unknown, report.fields) == (1, 1)
        for conn in (truck, again):
            assert there.items() <= rows_of(conn).items()
            assert [fault for check in verify(conn, "truck") for fault in check.faults] == []
        (visit,) = visits_of(truck, "A3", ON, ON)
        corrected = record(
            truck, [visit.visit("A3", ON, replaces=visit.id, reason="misread")], Author("Ada", "truck"), LATER
        )
        sought = "SELECT extra FROM visits WHERE id = ?"
        assert truck.execute(sought, (corrected[0].id,)).fetchone() == ('{"moonlit":true}',)
        pack(truck, tmp_path / "truck.bundle", "truck", LATER)
        report = merge(again, [tmp_path / "truck.bundle"])
        assert (report.unknown, report.fields) == (0, 1)


def test_a_store_from_before_the_schema_was_numbered_is_refused_with_a_word(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / DB_NAME)) as conn:
        conn.executescript(
            "CREATE TABLE visits (id TEXT); PRAGMA user_version = 9; PRAGMA application_id = 1919907182;"
        )
    with pytest.raises(StoreError, match="from before the first release, and cannot be read"):
        open_store(tmp_path, now=NOW)


def test_a_store_from_before_the_last_column_says_so_and_what_to_do(tmp_path: Path) -> None:
    open_store(tmp_path, now=NOW).close()
    with closing(sqlite3.connect(tmp_path / DB_NAME)) as conn:
        (made,) = conn.execute("SELECT sql FROM sqlite_master WHERE name = 'visits'").fetchone()
        column = re.search(r"\n *sterile [^\n]*", made)
        assert column is not None
        conn.execute("PRAGMA writable_schema = ON")
        conn.execute("UPDATE sqlite_master SET sql = replace(sql, ?, '') WHERE name = 'visits'", (column.group(),))
        conn.commit()
    with pytest.raises(StoreError, match="from before the first release, and cannot be read") as caught:
        open_store(tmp_path, now=NOW)
    assert "open it with the version that made it, or move it away and begin anew" in caught.value.hint


def test_lanes_tell_folders_and_laptops_of_one_name_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import shutil

    names = []
    for state, folder in (("one", "a"), ("two", "a"), ("one", "b")):
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / state))
        if not (tmp_path / folder).exists():
            shutil.copytree(tmp_path / "a", tmp_path / folder) if folder == "b" else write_folder(tmp_path / folder)
        with closing(open_folder(tmp_path / folder, now=NOW).conn) as conn:
            visit = {"count": 1, "scout": "Ada"}
            from roundtui.domain.entries import Visit

            record(conn, [Visit(trap="A1", read_on=ON, **visit)], Author("Ada", "laptop"), NOW)  # type: ignore[arg-type]
            newest = conn.execute("SELECT lane FROM visits ORDER BY id DESC LIMIT 1").fetchone()[0]
            names.append(lane_names(conn)[newest])
    assert len(set(names)) == 3
    (first, second, third) = (name.split(".") for name in names)
    assert first[0] == second[0] != third[0]  # A copy of a folder is another folder.
    assert first[1] == third[1] != second[1]


def test_other_entries_bear_the_columns_of_all_entries(store: object) -> None:
    for table in JOURNALS:
        columns = [row[1] for row in store.execute(f"PRAGMA table_info({table.name})")]  # type: ignore[attr-defined]
        assert tuple(columns[: len(HEAD)]) == HEAD
        assert {*TAIL} <= {*columns}
    assert OTHERS in JOURNALS
