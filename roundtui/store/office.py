"""Files of the office's own: its TOML files and templates, kept on record as they are, the same on every laptop.

A TOML file is read to its table, or to the fault in it; thresholds and sampling plans are read from theirs.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from decimal import Decimal
from functools import cache
from os import scandir
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from roundtui.domain.text import sanitize
from roundtui.errors import Problem, ProblemsError
from roundtui.store.failures import plainly
from roundtui.store.files import MOST_OFFICE, is_office, read_bytes, regular

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office, PublishedRule
    from roundtui.store.set_up.columns import SetUpFile


def read_toml(path: Path, hint: str) -> tuple[dict[str, object] | None, Problem | None]:
    """Read a TOML file of the office, its decimal numbers kept exact; see ``office_content``.

    Args:
        path: The file.
        hint: What to look at where it is no TOML.

    Returns:
        Its table; or None and the fault; or None twice where there is no such file.
    """
    there: Path | None = path
    if not path.exists() and not path.is_symlink():
        others = files_here(path.parent, (path.name,)).get(path.name, [])
        if len(others) > 1:
            names = " and ".join(sanitize(other.name, 60) for other in others)
            return None, Problem(path.name, f"{names} both go by that name", "keep one of them")
        there = others[0] if others else None
    if there is not None:
        _, problem = read_bytes(there)
        if problem is not None:
            return None, Problem(there.name, problem.message, problem.hint)
    content = office_content(path.parent, path.name, there)
    if content is None:
        return None, None
    # Loaded on first use: most folders have no such file.
    import tomllib

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return None, Problem(f"{path.name}, line {line}", "is not UTF-8 text", "save the file as plain text, UTF-8")
    try:
        return tomllib.loads(text, parse_float=Decimal), None
    except (ValueError, ArithmeticError, RecursionError) as error:
        return None, Problem(path.name, f"is no TOML: {sanitize(str(error), 160)}", hint)


_T = TypeVar("_T")
_STORE = "roundtui.db"
_TEMPLATES = "templates"
_TABLES = "species stations farms blocks lures traps routes people normals weather"
FILE_NAMES = tuple(f"{name}.csv" for name in _TABLES.split())
"""The set-up files; ``columns.FILES`` says what is in them, ``load_weather`` what is in the last."""


def files_here(folder: Path, names: tuple[str, ...] = FILE_NAMES) -> dict[str, list[Path]]:
    """The files of a folder that go by one of some names, whatever the case of their letters: Farms.csv is farms.csv.

    Args:
        folder: The scouting folder.
        names: The names.

    Returns:
        By name, the files; more than one where a person has to say which it is. Names without a file are left out.
    """
    found: dict[str, list[Path]] = {}
    try:
        with scandir(folder) as entries:
            there = sorted(entry.name for entry in entries)
    except OSError:
        return {}
    for name in there:
        plain_name = "".join(name.casefold().split())
        if plain_name in names:
            found.setdefault(plain_name, []).append(folder / name)
    return found


def office_here(folder: Path) -> dict[str, Path]:
    """The office's own files of a folder, by the name they go by.

    Args:
        folder: The scouting folder.
    """
    found: dict[str, Path] = {}
    for where, prefix in ((folder, ""), (folder / _TEMPLATES, f"{_TEMPLATES}/")):
        try:
            with scandir(where) as entries:
                there = sorted(entry.name for entry in entries if entry.is_file())
        except OSError:
            continue
        for name in there:
            known = f"{prefix}{name}" if prefix else "".join(name.casefold().split())
            if is_office(known):
                found.setdefault(known, where / name)
    return found


def text_in(path: Path) -> str | None:
    """The text of a file as it goes on record; None where it is no text, or too long for that."""
    try:
        text = regular(path).read_bytes().decode("utf-8")
    except (OSError, ValueError):
        return None
    return text if len(text) <= MOST_OFFICE and "\x00" not in text else None


def office_files(conn: sqlite3.Connection) -> tuple[SetUpFile, ...]:
    """The office's own files that are on record.

    Args:
        conn: The store.
    """
    from roundtui.store.set_up.columns import file_of

    names = [name for (name,) in conn.execute("SELECT name FROM office_files ORDER BY name")]
    return tuple(file for name in names if (file := file_of(name)) is not None)


def office_content(folder: Path, name: str, path: Path | None) -> bytes | None:
    """What a file of the office's own says: as the record has it, unless the folder has it newer.

    Args:
        folder: The scouting folder.
        name: Its name.
        path: The file in the folder; None where there is none.

    Raises:
        OSError: The file cannot be read.
    """
    stat = path.stat() if path is not None else None
    state = (None, None) if stat is None else (stat.st_mtime_ns, stat.st_size)
    question = (
        "SELECT (SELECT text FROM office_files WHERE name = ?1), EXISTS (SELECT 1 FROM set_up_rows WHERE file = ?1)"
        " AND EXISTS (SELECT 1 FROM files WHERE name = ?1 AND mtime_ns = ?2 AND size = ?3)"
    )
    text, loaded = next(iter(_asked(folder, question, name, *state)), (None, False))
    if path is not None and not loaded:
        return regular(path).read_bytes()
    return None if text is None else text.encode()


def _asked(folder: Path, question: str, *values: object) -> list[tuple[Any, ...]]:
    path = folder / _STORE
    if not path.is_file():
        return []
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=1)) as conn:
            return conn.execute(question, values).fetchall()
    except sqlite3.Error:
        return []


THRESHOLDS = "thresholds.toml"
"""Name of the file inside the scouting folder."""
SAMPLES = "samples.toml"
"""Name of the file of the office's own samples and plans."""
PUBLISHED = "published_rules.toml"
"""Name of the file of rules that were seen published, beside this module."""


def read_office(folder: Path) -> Office:
    """The rules and plans of the office, those that ship where it has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: A file cannot be read or says something wrong; every fault is in it.
    """
    from roundtui.domain.figures.rules import Office, parse_office

    hint = "look at the line it names; each rule begins with [[rule]], and texts stand in quotes"
    rules = read_table(folder / THRESHOLDS, hint, parse_office, "no verdict is given")
    office = Office() if rules is None else rules
    hint = "look at the line it names; each sample begins with [[sample]]"
    samples = read_table(folder / SAMPLES, hint, _samples, "no verdict is given")
    return office if samples is None else replace(office, samples=samples)


def _samples(table: Mapping[str, object], where: str) -> tuple[Any, Sequence[Problem]]:
    # Loaded on first use: most folders have no such file.
    from roundtui.domain.sampling.data import parse_samples

    return parse_samples(table, where)


def read_table(
    path: Path, hint: str, parse: Callable[[dict[str, object], str], tuple[_T | None, Sequence[Problem]]], without: str
) -> _T | None:
    """What a TOML file of the office says; None where it has none.

    Args:
        path: The file.
        hint: What to do where it is no TOML.
        parse: Reads its table; told its name.
        without: What is not done without it.

    Raises:
        ProblemsError: It cannot be read or says something wrong; every fault is in it.
    """
    table, problem = read_toml(path, hint)
    if table is None and problem is None:
        return None
    found, problems = (None, (problem,)) if table is None else parse(table, path.name)
    if found is None or problems:
        every = tuple(one for one in problems if one is not None)
        raise ProblemsError(f"{path.name} cannot be used; {without} without it", every, "correct the file")
    return found


def read_published_rules() -> tuple[PublishedRule, ...]:
    """The rules that were seen published; none of them judges until an office takes it up."""
    import tomllib

    from roundtui.domain.figures.rules import published_rules

    path = Path(__file__).with_name(PUBLISHED)
    return published_rules(tomllib.loads(path.read_text("utf-8"), parse_float=Decimal), PUBLISHED)


@cache
def read_stage_reference() -> Mapping[str, Any]:
    """Degree-days at stages and temperatures that kill buds, as published: ``stage_reference.toml``, for reference."""
    import tomllib

    return tomllib.loads(Path(__file__).with_name("stage_reference.toml").read_text("utf-8"))


def newer_files(conn: sqlite3.Connection, folder: Path) -> bool:
    """Whether a set-up file is new or was touched since the folder was loaded last.

    Args:
        conn: The store.
        folder: The scouting folder.
    """
    with plainly(conn):
        known = {row[0]: row[1:] for row in conn.execute("SELECT name, mtime_ns, size FROM files")}
    office = office_here(folder)
    if any(name.endswith(".toml") or name.startswith("templates/") for name in known.keys() - office.keys()):
        return True
    for name, paths in (*files_here(folder).items(), *((name, [path]) for name, path in office.items())):
        if len(paths) > 1:
            return True
        try:
            stat = paths[0].stat()
        except OSError:
            continue
        if known.get(name) != (stat.st_mtime_ns, stat.st_size) and (
            name not in office or text_in(paths[0]) is not None
        ):
            return True
    return False


def office_names(folder: Path) -> set[str]:
    """Names of the office's own files, in the folder or on record.

    Args:
        folder: The scouting folder.
    """
    return {*office_here(folder), *(name for (name,) in _asked(folder, "SELECT name FROM office_files"))}
