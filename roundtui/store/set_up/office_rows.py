"""Tables of the office's own TOML files as rows of the register: thresholds, plan, letterhead, habits of weather.

A table is added, changed or taken out as text, so that every other line of the file stays as a person wrote it. What a
threshold would have said of the seasons on record is worked out before anybody takes it up.
"""

from __future__ import annotations

import re
import sqlite3
import tomllib
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui.domain.figures.rules import AT_OR_OVER, SHIPPED_RULES, Office, parse_office
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.inventory.plan_rules import parse_plan
from roundtui.domain.publication import parse_letters, unknown_farms
from roundtui.domain.season.models import parse_models
from roundtui.domain.text import ruled, sanitize
from roundtui.domain.toml_table import toml_text
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.office import THRESHOLDS, read_published_rules
from roundtui.store.set_up.columns import Column, SetUpFile, Values, file_of, rows_in

if TYPE_CHECKING:
    from roundtui.domain.season.years import Judged


_TABLES = tuple(ruled(Path(__file__).with_name("tables.txt").read_text(encoding="utf-8")))


def _table(row: list[str]) -> SetUpFile:
    file, name, _, columns, *_ = row
    named = tuple(Column(one.removesuffix("!"), needed=one.endswith("!")) for one in columns.split())
    return SetUpFile(file, name, ("id",) if named[0].name == "id" else ("what",), named)


RULE, *_others = map(_table, _TABLES)
"""A threshold."""
OTHERS = tuple(_others)
"""What else an office settles."""
_SEVERAL = tuple(name for _, name, *_, last in _TABLES if last == "several")
CALLED = {name: words for _, name, words, *_ in _TABLES}
"""What people call them."""
_PARSERS: Mapping[str, Callable[..., tuple[Any, Sequence[Problem]]]] = {
    THRESHOLDS: parse_office,
    "letters.toml": parse_letters,
    "models.toml": parse_models,
    "plan.toml": parse_plan,
}
_WORDS, _YES = ("lure_kind", "style", "declined"), {"yes": True, "no": False, "true": True, "false": False}
_PAIRS = (("rule", "load_mg"), ("rule", "ha_per_trap"), ("visits", "degree_days"))
_LISTS = (("rule", "months"), ("visits", "months"), ("find", "zones_m"))
_NUMBERS = (
    "low high weeks days degree_days ha_per_trap least over_ha first_ha then_ha_per_trap number days_after lower upper"
    " fill_days before_catch_days season_days tapes_per_trap spare_share finds within_m clear_days act_hours"
)
OURS, SHIPS, PRINTED, NEW = "", "ships", "published", "new"
"""Whether a row stands in the office's file, ships, was seen published, or is there to be filled in."""
_HEAD = re.compile(r"\s*\[")


def is_office(file: SetUpFile) -> bool:
    """Whether a row is a table of a TOML file.

    Args:
        file: Its file.
    """
    return file is RULE or file in OTHERS


def text_here(conn: sqlite3.Connection, name: str) -> str:
    """A file of the office as it is on record; empty where it is not.

    Args:
        conn: The store.
        name: Its name.
    """
    return next((str(values["text"]) for values in rows_in(conn, _whole(name)).values()), "")


def rules_in(conn: sqlite3.Connection) -> list[Values]:
    """Thresholds: those of the office, those that ship, and those seen published, which judge nothing until taken up.

    Args:
        conn: The store.
    """
    rows = [_row(RULE, table, at) for at, table in enumerate(_tables(text_here(conn, THRESHOLDS), "rule"))]
    for rule in SHIPPED_RULES:
        said = {column: getattr(rule, column) for column in RULE.columns}
        rows.append(_row(RULE, said | {"compare": "" if rule.compare == AT_OR_OVER else rule.compare}, None, SHIPS))
    for one in read_published_rules():
        told = "; ".join(filter(None, (one.crop, one.note, f"read: {one.seen}")))
        rows.append(_row(RULE, one.written, None, PRINTED) | {"told": told})
    return rows


def others_in(conn: sqlite3.Connection) -> list[Values]:
    """Letterhead, season, habits and plan, each with a row to fill in where more can be added.

    Args:
        conn: The store.
    """
    rows: list[Values] = []
    for file in OTHERS:
        found = _tables(text_here(conn, file.name), file.table)
        rows += [_row(file, table, at) for at, table in enumerate(found)]
        if not found or file.table in _SEVERAL:
            rows.append(_row(file, {}, None, NEW))
    return rows


def _row(file: SetUpFile, said: Mapping[str, Any], at: int | None, origin: str = OURS) -> Values:
    cells = {column: _cell(said.get(column), column) for column in file.columns}
    short = "  ".join(f"{column} {text}" for column, text in cells.items() if text)
    more = {"what": CALLED[file.table], "says": short or "nothing yet", "file": file, "at": at, "origin": origin}
    return cells | more


def _cell(value: object, column: str) -> str:
    if value is None or value in ("", ()) or (value is False and column != "disrupted"):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(_cell(part, column) for part in value)
    return f"{float(value):g}" if isinstance(value, Fraction) else str(value)


def _tables(text: str, name: str) -> list[Mapping[str, Any]]:
    try:
        found = tomllib.loads(text, parse_float=Decimal).get(name, [])
    except (ValueError, ArithmeticError, RecursionError):
        return []  # The app said so when it opened the folder.
    return found if isinstance(found, list) else [found]


def _whole(name: str) -> SetUpFile:
    file = file_of(name)
    assert file is not None  # noqa: S101 - one of the office's own names
    return file


def put(
    conn: sqlite3.Connection, file: SetUpFile, at: int | None, typed: Mapping[str, str] | None, farms: Collection[str]
) -> tuple[SetUpFile, Values | None, Values]:
    """A file of the office with one of its tables added, changed or taken out.

    Args:
        conn: The store.
        file: The table.
        at: Its place among those of its kind; None: it is new.
        typed: Text of its columns; None: it is taken out.
        farms: Codes of the farms, for those that take no part.

    Returns:
        The file as one that is kept whole, what it says, and what it is to say.

    Raises:
        ProblemsError: It would not be what the file can say; each fault with its column.
        RefusedError: The file is written so that only a person can change it.
    """
    whole = _whole(file.name)
    text = text_here(conn, file.name)
    said = None if typed is None else {key: _value(file, key, cell) for key, cell in typed.items() if cell}
    new = _with(text, file, at, said)
    try:
        was, becomes = (tomllib.loads(each, parse_float=Decimal) for each in (text, new))
    except (ValueError, ArithmeticError, RecursionError):
        raise _by_hand(file) from None
    office, problems = _PARSERS[file.name](becomes, file.name)
    if file.table == "area" and not problems:
        problems = unknown_farms(office, farms)
    if problems:
        raise ProblemsError(f"{file.name} refused that; nothing was changed", tuple(map(_of_column, problems)))
    rest = [{key: value for key, value in each.items() if key != file.table} for each in (was, becomes)]
    many = len(_tables(new, file.table)) - len(_tables(text, file.table))
    if rest[0] != rest[1] or many != (-1 if typed is None else at is None):
        raise _by_hand(file)
    return whole, {"name": file.name, "text": text} if text else None, {"name": file.name, "text": new}


def _by_hand(file: SetUpFile) -> RefusedError:
    return RefusedError(f"{file.name} cannot be changed here as it is written", "change it in a text editor")


def _of_column(problem: Problem) -> Problem:
    """A fault of the file, at the column that it names first."""
    key, found, words = problem.message.partition(": ")
    return Problem(key.split(",")[0], words, problem.hint) if found else problem


def _value(file: SetUpFile, column: str, text: str) -> object:
    """What was typed as the TOML file has it; what cannot be one stays a text, which its reader refuses by name."""
    text = sanitize(text)
    if column in _WORDS:
        return [part.strip() for part in re.split(r"[;,]", text) if part.strip()]
    if (file.table, column) in (*_PAIRS, *_LISTS):
        said = re.sub(r"(\d{1,2})-(\d{1,2})", _months, text) if column == "months" else text
        found = [_number(part) for part in re.split(r"[\s,;]+|(?<=\d)-(?=\d)", said) if part]
        if not found or None in found:
            return text
        return found * 2 if (file.table, column) in _PAIRS and len(found) == 1 else found
    if column in _NUMBERS.split():
        return text if (number := _number(text)) is None else number
    try:
        return date.fromisoformat(text) if column == "date" else _YES.get(text.casefold(), text)
    except ValueError:
        return text


def _months(match: re.Match[str]) -> str:
    """5-7 is 5 6 7."""
    return " ".join(map(str, range(int(match.group(1)), int(match.group(2)) + 1)))


def _number(text: str) -> int | Decimal | None:
    match = re.fullmatch(r"[+-]?\d{1,9}([.,]\d{1,9})?", text)
    if match is None:
        return None
    return Decimal(text.replace(",", ".")) if match.group(1) else int(text)


def _with(text: str, file: SetUpFile, at: int | None, said: Mapping[str, object] | None) -> str:
    lines = text.splitlines()
    head = f"[[{file.table}]]" if file.table in _SEVERAL else f"[{file.table}]"
    new = [] if said is None else [head, *(f"{key} = {toml_text(value)}" for key, value in said.items())]
    if at is None:
        return "\n".join([*lines, *([""] if lines and lines[-1].strip() else []), *new, ""])
    heads = [line for line, words in enumerate(lines) if _HEAD.match(words)]
    own = [line for line in heads if "".join(lines[line].partition("#")[0].split()) == head]
    if at >= len(own):
        raise _by_hand(file)
    end = next((line for line in heads if line > own[at]), len(lines))
    while end > own[at] + 1 and lines[end - 1].strip()[:1] in ("", "#"):
        end -= 1
    lines[own[at] : end] = new
    return "\n".join([*lines, ""])


def past_words(conn: sqlite3.Connection, folder: Path, on: date, present: Office, text: str) -> tuple[str, ...]:
    """What thresholds would have said of the seasons on record, beside what those of now say; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        on: Last day that is looked at.
        present: The office as it is.
        text: Its thresholds as they are to be, as ``put`` has them.

    Returns:
        For each species whose rules differ a line a season, then a line for each block whose seasons differ.

    Raises:
        StoreError: The store cannot be read.
    """
    office, _ = parse_office(tomllib.loads(text, parse_float=Decimal))
    if office is None:
        return ()
    office = replace(office, samples=present.samples)
    differ = {rule.species for rule in {*present.rules} ^ {*office.rules}}
    words: list[str] = []
    for species in sorted(differ):
        seen = [list(_judged(conn, folder, on, one, species)) for one in (office, present)]
        words += _compared(species, *seen)
    return tuple(words)


def _judged(
    conn: sqlite3.Connection, folder: Path, on: date, office: Office, species: str
) -> Iterator[tuple[int, Judged]]:
    # Loaded for a preview alone.
    from roundtui.store.season.years import YearsRecord

    yield from YearsRecord(conn, folder, on, office, ("", species)).judged(species)


def _compared(species: str, then: Sequence[tuple[int, Judged]], now: Sequence[tuple[int, Judged]]) -> Iterator[str]:
    if not then:
        yield f"{species}: no season on record to hold it against."
    over, until_now = (
        Counter((year, one.block) for year, one in seen if one.status is Status.OVER) for seen in (then, now)
    )
    for year in sorted({year for year, _ in then}, reverse=True):
        counts = [sum(found for (of, _), found in each.items() if of == year) for each in (over, until_now)]
        rounds = sum(of == year for of, _ in then)
        first = min(((one.on, one.block) for of, one in then if of == year and one.status is Status.OVER), default=None)
        since = f", first {first[0].day} {first[0]:%b} in {sanitize(first[1], 12)}" if first else ""
        yield f"{species} in {year}: over in {counts[0]} of {rounds} rounds of a block{since}; until now {counts[1]}."
    for year, block in sorted(over.keys() | until_now.keys(), key=lambda key: (-key[0], key[1])):
        if over[year, block] != until_now[year, block]:
            yield f"  {sanitize(block, 12)} in {year}: over {over[year, block]}, until now {until_now[year, block]}."
