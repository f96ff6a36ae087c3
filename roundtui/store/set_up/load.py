"""Set-up files into the store: all of a folder or nothing, and only the rows that changed since the last time.

A row that was changed in the app as well is left alone. A corrected date of hanging is told from a trap hung again. And
back: every row as it stands, written so that loading the files brings back the same.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from roundtui.domain.entries import SetUpChanged
from roundtui.domain.programme.farm import grouped
from roundtui.domain.programme.species import take_office_species
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.checks.trouble import find_suspect
from roundtui.store.connect import know_species
from roundtui.store.csv_file import Cells, CsvRow, read_csv
from roundtui.store.db import one_view, transaction
from roundtui.store.failures import Store, unwritable
from roundtui.store.files import csv_text, read_bytes, whole_file
from roundtui.store.office import files_here, office_files, office_here, text_in
from roundtui.store.record.journal import Author
from roundtui.store.record.lanes import device_name
from roundtui.store.record.rows import instant
from roundtui.store.season.weather import NORMALS
from roundtui.store.season.weather_load import WEATHER, preview_weather, take_in_weather
from roundtui.store.set_up import columns as tables
from roundtui.store.set_up import load_checks, versions
from roundtui.store.set_up.load_checks import FileRead, LoadReport
from roundtui.store.set_up.versions import THIS_FILE, open_rows


def move_dates(conn: sqlite3.Connection, one: FileRead, report: LoadReport, now: datetime) -> None:
    """Take a corrected date of hanging as the same hanging.

    A trap hung again has a further row, so a row whose date alone changed looks like one that vanished and one that is
    new. It is the same hanging where it stands in the same block, no other row of the trap came or went, and nothing is
    on record for the days between.

    Args:
        conn: The store, inside a transaction.
        one: The file of traps.
        report: Takes what was done.
        now: Instant of loading.
    """
    file = one.file
    known = {
        (trap, hung): block
        for trap, hung, block in conn.execute(
            "SELECT trap, hung_on, block FROM traps JOIN loaded ON loaded.file = ? AND loaded.key ="
            " json_array(trap, hung_on)",
            (file.name,),
        )
    }
    in_file = {(values["trap"], values["hung_on"]): values["block"] for _, values in one.rows}
    gone = grouped(key for key in known if key not in in_file)
    new = grouped(key for key in in_file if key not in known)
    for trap, dates in gone.items():
        if len(dates) != 1 or len(new.get(trap, ())) != 1:
            continue
        before, after = dates[0], new[trap][0]
        first, last = sorted((before, after))
        read = conn.execute(
            "SELECT 1 FROM visits WHERE trap = ? AND read_on >= ? AND read_on < ? LIMIT 1", (trap, first, last)
        ).fetchone()
        if known[trap, before] != in_file[trap, after] or read:
            continue
        (former,) = tables.rows_in(conn, file, trap, before).values()
        moved = former | {"hung_on": after}
        change = versions.next_version(conn, file, versions.LOADED, former, moved, done_on=now.date())
        conn.execute("UPDATE traps SET hung_on = ? WHERE trap = ? AND hung_on = ?", (after, trap, before))
        versions.record_changes(conn, [change], _by(), now)
        conn.execute("DELETE FROM loaded WHERE file = ? AND key = json_array(?, ?)", (file.name, trap, before))
        conn.execute(_LOADED, (file.name, *_state(file, moved), versions.version_of(change)))
        report.files[file.name].changed += 1
        words = (
            f"{sanitize(trap, SHOWN)} was hung on {after or 'a day not on record'}, not on"
            f" {before or 'a day not on record'}"
        )
        hint = "taken as the same hanging, since nothing is on record between"
        report.remarks.append(Problem(file.name, words, hint))


_STAYS = "what was loaded before stays on record"
_SETTLE = "see roundtui conflicts, and settle it in the app"


def apply_all(conn: sqlite3.Connection, read: Sequence[FileRead], report: LoadReport, now: datetime) -> None:
    """Put rows that changed into their tables, and on record.

    Args:
        conn: The store, inside a transaction.
        read: The files, each after those it refers to.
        report: Takes what was done, and which rows were changed in both places.
        now: Instant of loading.
    """
    for one in read:
        _apply(conn, one, report, now)
    touched = {
        one.file.table for one in read if report.files[one.file.name].added or report.files[one.file.name].changed
    }
    if touched & {"traps", "lots"}:
        find_suspect(conn)


def _apply(conn: sqlite3.Connection, one: FileRead, report: LoadReport, now: datetime) -> None:
    file, counts = one.file, report.files.setdefault(one.file.name, load_checks.FileReport())
    if file.table == "traps":
        move_dates(conn, one, report, now)
    loaded: dict[str, tuple[str, str]] = {
        key: (digest, version)
        for key, digest, version in conn.execute("SELECT key, digest, version FROM loaded WHERE file = ?", (file.name,))
    }
    states = [_state(file, values) for _, values in one.rows]
    here = tables.rows_in(conn, file) if any(loaded.get(key, ("",))[0] != digest for key, digest in states) else {}
    wanted: list[tables.Values] = []
    standing: list[SetUpChanged] = []
    apart: list[SetUpChanged] = []
    contested: dict[str, Problem] = {}
    digests: list[tuple[str, ...]] = []
    for (key, digest), (cells, values) in zip(states, one.rows, strict=True):
        then, known = loaded.get(key, ("", ""))
        if then == digest:
            counts.same += 1
            continue
        was, (row, version) = here.get(key), versions.row_of(conn, file.name, key)
        present = tables.digest_of(file, was) if was is not None else ""
        # What the file had last may wait to be settled; where it was mended meanwhile, nobody need settle it.
        waits = known not in ("", version) and any(old.version == known for old in versions.heads(conn, file.name, row))
        if present == digest and version and not waits:
            counts.same += 1
            digests.append((file.name, key, digest, version))
            continue
        if present in (then, digest):
            change = versions.next_version(conn, file, versions.LOADED, was, values, done_on=now.date())
            if waits:
                change = replace(change, after=" ".join(sorted({*change.after.split(), known})))
            counts.same += present == digest
            counts.added += not present
            counts.changed += present not in ("", digest)
            wanted.append(values)
            standing.append(change)
        else:
            change = _contested(conn, file, values, (row, known), now)
            words = f"{tables.named(file, values)} was changed in the file and here as well; it stays as it is here"
            contested[change.becomes] = Problem(cells.where, words, _SETTLE)
            apart.append(change)
        digests.append((file.name, key, digest, versions.version_of(change)))
    if wanted:
        from sqlite_utils import Database

        Database(conn).table(file.table).upsert_all(wanted, pk=file.key)
    for changes, stand in ((standing, True), (apart, False)):
        if changes:
            versions.record_changes(conn, changes, _by(), now, stand=stand)
    conn.executemany(_LOADED, digests)
    if contested:
        offers = [offer for row in versions.open_rows(conn) if row.file == file for offer in row.offers]
        asked = {versions.text_of(file, offer.values) for offer in offers}
        report.contested += [problem for becomes, problem in contested.items() if becomes in asked]
    gone = loaded.keys() - {key for key, _ in states}
    # A row that was taken over under another key has nothing left under its former one.
    if gone and (labels := sorted(tables.rows_in(conn, file).keys() & gone)):
        report.remarks.append(_gone_rows(file, labels))


def _gone_rows(file: tables.SetUpFile, keys: Sequence[str]) -> Problem:
    listed = "; ".join(sanitize(", ".join(str(part) for part in json.loads(key) if part), SHOWN) for key in keys[:5])
    more = f" and {len(keys) - 5} more" if len(keys) > 5 else ""
    rows = "a row is" if len(keys) == 1 else f"{len(keys)} rows are"
    return Problem(file.name, f"{rows} no longer in the file: {listed}{more}", _STAYS)


_LOADED = "INSERT OR REPLACE INTO loaded (file, key, digest, version) VALUES (?, ?, ?, ?)"


def _by() -> Author:
    return Author(versions.FILES_SAY, device_name())


def _state(file: tables.SetUpFile, values: tables.Values) -> tuple[str, str]:
    return tables.key_of(file, values), tables.digest_of(file, values)


def _contested(
    conn: sqlite3.Connection, file: tables.SetUpFile, values: tables.Values, place: tuple[str, str], now: datetime
) -> SetUpChanged:
    """What is said of a row that was changed here as well: it comes after what the file had before."""
    row, known = place
    found = conn.execute("SELECT row FROM set_up_versions WHERE version = ?", (known,)).fetchone()
    before = versions.becomes_of(conn, known)
    texts = ("" if file.whole else before, versions.text_of(file, values, before))
    after = found[0] if found else row, {known} - {""}
    return versions.change_of(file, after, versions.LOADED, texts, values, done_on=now.date())


def load_office(
    conn: sqlite3.Connection, folder: Path, report: LoadReport, now: datetime
) -> dict[str, tuple[int, int, str]]:
    """Put the office's own files of a folder on record, where they changed.

    Args:
        conn: The store, inside a transaction.
        folder: The scouting folder.
        report: Takes which were changed in both places.
        now: Instant of loading.

    Returns:
        State of each, by name, as ``files`` keeps it.
    """
    states: dict[str, tuple[int, int, str]] = {}
    here, apart = office_here(folder), LoadReport()
    for name, path in here.items():
        file, text = tables.file_of(name), text_in(path)
        try:
            stat = path.stat()
        except OSError:
            continue
        if file is None or text is None:
            continue
        cells = Cells(CsvRow(0, {}), name)
        read = FileRead(file, stat.st_mtime_ns, stat.st_size, "", [(cells, {"name": name, "text": text})])
        _apply(conn, read, apart, now)
        states[name] = (stat.st_mtime_ns, stat.st_size, tables.digest_of(file, read.rows[0][1]))
    # Rows may be loaded from elsewhere; only of its own folder a store knows that a file was taken away.
    own = isinstance(conn, Store) and conn.path.parent.resolve() == folder.resolve()
    for (name,) in conn.execute("SELECT name FROM files").fetchall() if own else ():
        file = tables.file_of(name)
        if file is not None and file.whole and name not in here:
            _gone(conn, file, now)
    report.contested += apart.contested
    return states


def _gone(conn: sqlite3.Connection, file: tables.SetUpFile, now: datetime) -> None:
    """A file of the office's own that was loaded here and was taken away counts no more."""
    _, version = versions.row_of(conn, file.name, tables.key_text((file.name,)))
    conn.execute("DELETE FROM files WHERE name = ?", (file.name,))
    conn.execute("DELETE FROM loaded WHERE file = ?", (file.name,))
    if version and versions.becomes_of(conn, version):
        conn.execute("DELETE FROM office_files WHERE name = ?", (file.name,))
        change = versions.next_version(conn, file, versions.LOADED, {"name": file.name}, None, done_on=now.date())
        versions.record_changes(conn, [change], _by(), now)


_SPECIES = ("species", "name", "latin", "synonyms", "lure_days")


def load_folder(conn: sqlite3.Connection, folder: Path, now: datetime, *, sure: bool = False) -> LoadReport:
    """Read the set-up files of a folder into the store; subfolders are not read.

    Args:
        conn: The store.
        folder: The scouting folder.
        now: Instant of loading.
        sure: Whether somebody said that temperatures which look like those of the other unit are right.

    Returns:
        What was added and changed. The same files again change nothing.

    Raises:
        ProblemsError: Something in a file is wrong; every fault is in it, and nothing was changed.
        StoreError: The store cannot be written.
    """
    try:
        return _load(conn, folder, now, sure=sure)
    finally:
        know_species(conn)


def _load(conn: sqlite3.Connection, folder: Path, now: datetime, *, sure: bool) -> LoadReport:
    read, problems = _read_files(conn, folder)
    with transaction(conn):
        weather, of_weather = preview_weather(conn, folder)
        if not problems:
            problems = load_checks.misfits(conn, read)
        problems += of_weather
        if not (read or weather or problems):
            problems.append(
                Problem(sanitize(str(folder), 200), "holds none of the set-up files", f"begin with {_listed()}")
            )
        report = LoadReport()
        office: dict[str, tuple[int, int, str]] = {}
        if not problems:
            apply_all(conn, read, report, now)
            office = load_office(conn, folder, report, now)
        if weather is not None:
            problems += take_in_weather(conn, weather, read, report, now=now, store=not problems, sure=sure)
        if problems:
            where = sanitize(str(folder), 200)
            raise ProblemsError(f"{where} was not loaded; nothing was changed", tuple(problems), "correct the files")
        states = {one.file.name: (one.mtime_ns, one.size, one.digest) for one in read}
        if weather is not None:
            states[WEATHER] = (weather.mtime_ns, weather.size, weather.digest)
        states |= office
        normals = report.files.get(NORMALS)
        if normals is not None and (normals.added or normals.changed):
            report.remarks += load_checks.days_without_normals(read)
        told = [report.files[name] for name in (load_checks.TRAPS, load_checks.LURES) if name in report.files]
        if any(file.added or file.changed for file in told):
            report.remarks += load_checks.register_remarks(conn)
        for (name,) in conn.execute("SELECT name FROM files ORDER BY name").fetchall():
            if name not in states:
                report.remarks.append(Problem(name, "is no longer in the folder", _STAYS))
        conn.executemany(
            "INSERT OR REPLACE INTO files (name, mtime_ns, size, digest, loaded_at) VALUES (?, ?, ?, ?, ?)",
            ((name, *state, instant(now)) for name, state in states.items()),
        )
    return report


def _read_files(conn: sqlite3.Connection, folder: Path) -> tuple[list[FileRead], list[Problem]]:
    read: list[FileRead] = []
    here = files_here(folder)
    problems = [twice(name, paths) for name, paths in here.items() if len(paths) > 1]
    for file in tables.FILES:
        if file.name not in here:
            continue
        path = here[file.name][0]
        content, problem = read_bytes(path)
        if problem is not None:
            problems.append(Problem(file.name, problem.message, problem.hint))
            continue
        stat = path.stat()
        rows, found = read_csv(file.name, content, file.required, file.optional)
        problems += found
        one = FileRead(file, stat.st_mtime_ns, stat.st_size, hashlib.blake2b(content, digest_size=16).hexdigest(), [])
        for row in rows:
            cells = Cells(row, file.name)
            one.rows.append((cells, file.read(cells)))
            problems += cells.problems
        if not problems:
            problems += load_checks.doubles(one)
        if file.table == "species":
            # The files that follow name species of this one, before any of it is in the store.
            office = {row[0]: row for row in conn.execute(f"SELECT {', '.join(_SPECIES)} FROM species")}  # noqa: S608
            office |= {values["species"]: tuple(values[column] for column in _SPECIES) for _, values in one.rows}
            take_office_species(office.values())
        read.append(one)
    return read, problems


def twice(name: str, paths: Sequence[Path]) -> Problem:
    """Two files that both go by the name of one table.

    Args:
        name: The name.
        paths: The files.
    """
    names = " and ".join(sanitize(path.name, 60) for path in paths)
    return Problem(name, f"{names} are files for one table", "keep one of them, and move the other away")


def _listed() -> str:
    return ", ".join(file.name for file in tables.FILES if file.name in ("farms.csv", "blocks.csv", "traps.csv"))


COPIES = "set-up-before"
"""How the folders begin that keep the files as they were."""
_FORMULA = ("=", "+", "-", "@")


def write_set_up(conn: sqlite3.Connection, to: Path) -> dict[str, int]:
    """Write every set-up file that has a row.

    Args:
        conn: The store.
        to: Folder to write into; files of these names there are replaced.

    Returns:
        Rows by file.

    Raises:
        StoreError: The store cannot be read, or a file not be written.
    """
    with one_view(conn):
        contents = {file.name: _content(conn, file) for file in (*tables.FILES, *office_files(conn))}
    written = {}
    for name, (text, rows) in contents.items():
        if rows:
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            with whole_file(to / name) as out:
                out.write(text.encode())
            written[name] = rows
    return written


def write_in_place(conn: sqlite3.Connection, folder: Path, now: datetime) -> tuple[dict[str, int], Path | None]:
    """Write the set-up files of a scouting folder anew; those that differ are kept in a folder of their own.

    Args:
        conn: The store, into which the files of the folder were loaded.
        folder: The scouting folder.
        now: Instant.

    Returns:
        Rows by file, and where the former files are; None where there were none.

    Raises:
        RefusedError: A row of a file waits to be settled, and would be lost.
        StoreError: A file cannot be read or written.
    """
    waiting = [row for row in open_rows(conn) if any(THIS_FILE in offer.devices for offer in row.offers)]
    if waiting:
        names = ", ".join(f"{row.file.name} {row.label}" for row in waiting[:5])
        raise RefusedError(
            f"the files have rows that were changed here as well: {sanitize(names, 200)}",
            "settle them first: m o at the desk, then Tab; no file was written",
        )
    before = folder / f"{COPIES}-{now:%Y%m%d-%H%M%S}"
    kept = None
    here = {**files_here(folder), **{name: [path] for name, path in office_here(folder).items()}}
    try:
        for file in (*tables.FILES, *office_files(conn)):
            for path in here.get(file.name, ()):
                copy = before / path.relative_to(folder)
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(path, copy)
                kept = before
                if path.relative_to(folder).as_posix() != file.name:
                    path.unlink()
    except OSError as error:
        raise unwritable(before, error, "no file was written") from error
    return write_set_up(conn, folder), kept


def like_formulas(conn: sqlite3.Connection) -> tuple[str, ...]:
    """Texts of the register that a spreadsheet may take for formulas; the files hold them as they are.

    Args:
        conn: The store.

    Returns:
        File and column of each, once.
    """
    return tuple(
        dict.fromkeys(
            f"{file.name}, {column}"
            for file in tables.FILES
            for values in tables.rows_in(conn, file).values()
            for column, value in values.items()
            if isinstance(value, str) and value.startswith(_FORMULA)
        )
    )


def _content(conn: sqlite3.Connection, file: tables.SetUpFile) -> tuple[str, int]:
    if file.whole:
        return next(iter(tables.rows_in(conn, file).values()))["text"], 1
    rows = sorted(tables.rows_in(conn, file).values(), key=lambda values: tables.in_order(file, values))
    columns = file.columns
    written = ([tables.cell(column, values.get(column)) for column in columns] for values in rows)
    return csv_text([columns, *written]), len(rows)
