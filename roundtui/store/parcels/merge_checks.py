"""What incoming entries must fit before they are added: the programme, each other, and the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import date, timedelta

from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.checks import species_known
from roundtui.domain.text import plain
from roundtui.domain.visits import NONE, YES
from roundtui.store.parcels import staging
from roundtui.store.parcels.form import ParcelError, Why
from roundtui.store.rows import JOURNALS, OTHERS, QUESTIONS, STANDING, VISITS, WITHDRAWALS

_NAMED = 5
_SHOWN = 30


def refuse_unknown_labels(
    conn: sqlite3.Connection, programme: Programme, name: str, *, corrections: bool = True
) -> None:
    """Refuse entries about traps, blocks or lots that this folder does not know.

    Args:
        conn: The store, with incoming entries in the temporary tables.
        programme: What is set up.
        name: The parcel, for messages.
        corrections: Whether those are meant too that correct another entry, or were corrected.

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
    superseded = (
        " AND replaces IS NULL AND id NOT IN (SELECT replaces FROM {0} WHERE replaces IS NOT NULL"
        " UNION SELECT replaces FROM {1} WHERE replaces IS NOT NULL)"
    )
    for what, file, table, column, known in wanted:
        rows = conn.execute(
            f"SELECT DISTINCT {column} FROM {staging.of(table)} WHERE {column} IS NOT NULL"  # noqa: S608
            + ("" if corrections else superseded.format(staging.of(table), table.name))
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
    """Refuse visits of days that have not begun anywhere on earth, which no keyboard and no file could enter.

    Args:
        conn: The store, inside the transaction that adds the entries.
        today: The day on the wall.
        name: The parcels, for messages.

    Raises:
        ParcelError: There is one that is not on record yet.
    """
    for entry, trap, on in conn.execute(
        f"SELECT id, trap, read_on FROM {staging.of(VISITS)} WHERE read_on > ?"  # noqa: S608
        f" AND id NOT IN (SELECT id FROM {VISITS.name})",
        ((today + timedelta(days=1)).isoformat(),),
    ):
        raise ParcelError(
            name,
            Why.LIMITS,
            f"entry {entry} about {plain(trap, _SHOWN)} is of {on}, a day to come",
            "see whether the clocks of both laptops are right, and have it corrected there",
        )


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
