"""What incoming entries must fit before they are added: the programme, each other, and the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import date, timedelta

from roundtui.domain.entries import Form
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.checks import species_known
from roundtui.domain.text import plain
from roundtui.domain.visits import NONE, YES
from roundtui.store.parcels import staging
from roundtui.store.parcels.form import ParcelError, Why
from roundtui.store.rows import JOURNALS, OTHERS, QUESTIONS, STANDING, TABLES, VISITS, WITHDRAWALS, Entry

CHECKED = tuple(
    TABLES[kind] for kind in ("temperature", "sample", "treatment", "specimen", "part", "assembly", "stock")
)
"""Kinds of entries whose numbers and words are held to more than the limits of their fields."""
_NAMED = 5
_SHOWN = 30


def refuse_unknown_labels(conn: sqlite3.Connection, programme: Programme, name: str) -> None:
    """Refuse entries about traps, blocks or lots that this folder does not know.

    Args:
        conn: The store, with incoming entries in the temporary tables.
        programme: What is set up.
        name: The parcel, for messages.

    Raises:
        ParcelError: It names what is not set up here.
    """
    species = species_known(programme)
    places = {
        "trap": ("trap", "traps.csv", set(programme.hangings)),
        "block": ("block", "blocks.csv", set(programme.blocks)),
        "station": ("station", "stations.csv", set(programme.stations)),
        "lot": ("lure lot", "lures.csv", set(programme.lots)),
    }
    about = [(table, table.place) for table in STANDING if table.known and table.place in places]
    wanted = (
        *(
            (*places[at][:2], table, at, places[at][2])
            for table, at in (*about, (QUESTIONS, "trap"), (QUESTIONS, "block"))
        ),
        ("lure lot", "lures.csv", VISITS, "lure", {YES, NONE, *programme.lots}),
        ("lure lot", "lures.csv", VISITS, "lure_found", {NONE, *programme.lots, *species}),
    )
    for what, file, table, column, known in wanted:
        rows = conn.execute(
            f"SELECT DISTINCT {column} FROM {staging.of(table)} WHERE {column} IS NOT NULL"  # noqa: S608
        )
        unknown = sorted({row[0] for row in rows} - known, key=natural_key)
        if unknown:
            names = ", ".join(plain(label, _SHOWN) for label in unknown[:_NAMED])
            more = f" and {len(unknown) - _NAMED} more" if len(unknown) > _NAMED else ""
            raise ParcelError(
                name,
                Why.PROGRAMME,
                f"there is no {what} {names}{more} here",
                f"if it is the right folder, add them to {file} and load it first",
            )


def refuse_wrong_clashes(conn: sqlite3.Connection, name: str) -> None:
    """Refuse an id that is on record with other content, or as another kind of entry.

    Args:
        conn: The store, inside the transaction that adds the entries.
        name: The parcels, for messages.

    Raises:
        ParcelError: An id means two things.
    """
    for table in JOURNALS:
        for entry, scout in conn.execute(
            f"SELECT known.id, known.scout FROM {staging.of(table)} AS new"  # noqa: S608
            f" JOIN {table.name} AS known ON known.id = new.id WHERE known.digest <> new.digest"
        ):
            raise ParcelError(
                name,
                Why.CLASH,
                f"entry {entry} of {plain(scout, _SHOWN)} says something else than on record here",
                "see roundtui verify on both laptops",
            )
        for other in JOURNALS:
            if other is not table:
                for place in (staging.of(other), other.name):
                    found = conn.execute(
                        f"SELECT id FROM {staging.of(table)} WHERE id IN (SELECT id FROM {place}) LIMIT 1"  # noqa: S608
                    ).fetchone()
                    if found:
                        kinds = f"{table.kind or 'unknown entry'} and a {other.kind or 'unknown entry'}"
                        raise ParcelError(name, Why.CLASH, f"entry {found[0]} is both a {kinds}", "do not use it")


def refuse_loose_ends(conn: sqlite3.Connection, name: str) -> None:
    """Refuse corrections and withdrawals of entries that nobody has, and corrections that run in a circle.

    Args:
        conn: The store, inside the transaction that adds the entries.
        name: The parcels, for messages.

    Raises:
        ParcelError: There is one.
    """
    for table in STANDING:
        new = staging.of(table)
        other = f"SELECT id FROM {OTHERS.name} UNION ALL SELECT id FROM {staging.of(OTHERS)}"  # noqa: S608
        _refuse_first(
            name,
            "corrects",
            conn.execute(
                f"SELECT id, replaces FROM {new} WHERE replaces IS NOT NULL"  # noqa: S608
                f" AND replaces NOT IN (SELECT id FROM {new}) AND replaces NOT IN (SELECT id FROM {table.name})"
                f" AND replaces NOT IN ({other})"
            ),
        )
        _refuse_first(
            name,
            "takes back",
            conn.execute(
                f"SELECT id, entry FROM {staging.of(WITHDRAWALS)} WHERE entry_kind = ?"  # noqa: S608
                f" AND entry NOT IN (SELECT id FROM {new}) AND entry NOT IN (SELECT id FROM {table.name})"
                f" AND entry NOT IN ({other})",
                (table.kind,),
            ),
        )
        corrections = dict(
            conn.execute(
                f"SELECT id, replaces FROM {new} WHERE replaces IS NOT NULL UNION"  # noqa: S608
                f" SELECT id, replaces FROM {table.name} WHERE replaces IS NOT NULL"
                f" AND EXISTS (SELECT 1 FROM {new} WHERE replaces IS NOT NULL)"
            )
        )
        round_about = in_a_circle(corrections)
        if round_about:
            raise ParcelError(name, Why.LIMITS, f"entry {round_about} corrects itself in a circle", "do not use it")


def refuse_days_to_come(conn: sqlite3.Connection, today: date, name: str) -> None:
    """Refuse entries about days that have not begun anywhere on earth, which no keyboard and no file could enter.

    One that was corrected or withdrawn since does no harm: its laptop's clock is right again.

    Args:
        conn: The store, inside the transaction that adds the entries.
        today: The day on the wall.
        name: The parcels, for messages.

    Raises:
        ParcelError: There is one that is not on record yet.
    """
    latest = ((today + timedelta(days=1)).isoformat(),)
    for table in TABLES.values():
        for column in (one.name for one in table.own if one.form is Form.DAY):
            for entry, on in conn.execute(
                f"SELECT id, {column} FROM {staging.of(table)} WHERE {column} > ?"  # noqa: S608
                f" AND id NOT IN (SELECT id FROM {table.name})"
                f" AND id NOT IN (SELECT entry FROM {staging.of(WITHDRAWALS)} UNION ALL"
                f" SELECT replaces FROM {staging.of(table)} WHERE replaces IS NOT NULL)",
                latest,
            ):
                raise ParcelError(
                    name,
                    Why.LIMITS,
                    f"{table.kind} {entry} is of {on}, a day to come",
                    "see whether the clocks of both laptops are right, and have it corrected there",
                )


def new_beside(conn: sqlite3.Connection) -> list[Entry]:
    """Entries other than visits that are staged and not on record yet.

    Args:
        conn: The store.
    """
    return [
        table.entry(row)
        for table in CHECKED
        for row in conn.execute(
            f"SELECT {table.listed} FROM {staging.of(table)} WHERE id NOT IN (SELECT id FROM {table.name})"  # noqa: S608
        )
    ]


def refuse_impossible(entries: Iterable[Entry], programme: Programme, name: str) -> None:
    """Refuse what a keyboard or a file of the same kind refuses.

    Args:
        entries: Entries that are new.
        programme: What is set up, with what came along.
        name: The parcels, for messages.

    Raises:
        ParcelError: There is one.
    """
    from roundtui.store.round.entry_files import contradictions

    for entry in entries:
        for problem in contradictions(entry, programme):
            raise ParcelError(name, Why.LIMITS, f"entry {entry.id}: {problem.message}")


def _refuse_first(name: str, does: str, rows: Iterable[tuple[str, str]]) -> None:
    for entry, missing in rows:
        raise ParcelError(
            name,
            Why.TRUNCATED,
            f"entry {entry} {does} {plain(missing, 40)}, which is neither in it nor on record",
            "pack it again on the laptop it comes from",
        )


def in_a_circle(corrections: dict[str, str]) -> str | None:
    """An entry whose corrections lead back to it, or None.

    Args:
        corrections: For each correction, the entry it replaces.
    """
    done: set[str] = set()
    for start in corrections:
        path: set[str] = set()
        at: str | None = start
        while at is not None and at not in done:
            if at in path:
                return at
            path.add(at)
            at = corrections.get(at)
        done |= path
    return None
