"""Merging bundles: whatever order they come in and however often, the record ends up the same.

Entries are only ever added and an id never means two things, so a merge is the union of what was recorded. A set-up row
that only the other side changed stands as it has it; one that both changed waits to be settled. All of it is read and
checked into temporary tables first; the store is written to in one short transaction at the end, or not.

What incoming entries must fit before they are added: the programme, each other, and the record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from itertools import islice
from pathlib import Path

from roundtui.domain.entries import NONE, YES, Form, Recorded
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import species_known
from roundtui.domain.text import listed, sanitize
from roundtui.errors import StoreError
from roundtui.store.connect import know_species
from roundtui.store.db import AT_ONCE, SCHEMA_VERSION, transaction
from roundtui.store.exchange import reading
from roundtui.store.exchange.bundle import as_bundle
from roundtui.store.exchange.lines import BundleError, Why, WrongLineError
from roundtui.store.exchange.reading import Manifest, open_bundle
from roundtui.store.failures import Store, plainly
from roundtui.store.record.lanes import lane_ends, open_next_lane, own_lane
from roundtui.store.record.read import programme
from roundtui.store.record.rows import JOURNALS, OTHERS, QUESTIONS, STANDING, TABLES, VISITS, WITHDRAWALS
from roundtui.store.set_up.versions import take_in_entries

Progress = Callable[[str, int, int], None]
"""Is told the bundle, how many of its entries were read so far, and how many there are."""


class MergeReport(Frozen):
    """What a merge brought."""

    added: dict[str, int]
    """Entries that were new, by kind."""
    known: int
    """Entries that were on record before, or in two of the bundles."""
    fields: int
    """New entries with fields that only a newer program knows."""
    holds: dict[str, str]
    """Which entries the bundles hold, as ``ids_held`` says it."""

    @property
    def unknown(self) -> int:
        """How many of the new ones only a newer program understands."""
        return self.added.get(OTHERS.kind, 0)

    @property
    def new(self) -> int:
        """How many entries were new."""
        return sum(self.added.values())


def merge(
    conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None = None, today: date | None = None
) -> MergeReport:
    """Add to the record what bundles hold and the record does not; all of them, or none.

    Args:
        conn: The store.
        paths: The bundles; a store, such as a backup, counts as a bundle of all its entries.
        progress: Is told how far the reading has come.
        today: The day on the wall; visits of days that have not begun anywhere are refused. None: no day is too late.

    Raises:
        BundleError: One of them is refused; nothing was changed.
        StoreError: A file cannot be read, or the store not be written.
    """
    if conn.in_transaction:
        raise StoreError("bundles are not merged in the middle of another change", "let that one end first")
    with plainly(conn), reading.tables(conn):
        manifests = tuple(_stage_all(conn, paths, progress))
        newer = any(one.schema > SCHEMA_VERSION for one in manifests)
        holds = reading.ids_held(conn, staged=True)
        added, fields = take_staged(conn, ", ".join(path.name for path in paths), today, newer=newer)
    read = sum(manifest.entries for manifest in manifests)
    return MergeReport(added, read - sum(added.values()), fields, holds)


def take_staged(
    conn: sqlite3.Connection,
    names: str,
    today: date | None,
    *,
    newer: bool,
    in_part: bool = False,
    also: Callable[[], None] = lambda: None,
) -> tuple[dict[str, int], int]:
    """Add to the record what was staged and the record does not hold; all of it, or nothing.

    Args:
        conn: The store.
        names: Where it comes from, for messages.
        today: The day on the wall, as for ``merge``.
        newer: Whether some of it comes from a newer program.
        in_part: Whether it is what a hub shows to some groups alone: a correction may then name what is not set up.
        also: What is to be kept in the same transaction.

    Returns:
        Entries that were new, by kind, and how many of them have fields that only a newer program knows.

    Raises:
        BundleError: It is refused; nothing was changed.
    """
    with transaction(conn):
        refuse_wrong_clashes(conn, names)
        refuse_loose_ends(conn, names)
        if today is not None:
            refuse_days_to_come(conn, today, names)
        own = lane_ends(conn).get(own_lane(conn).name, 0)
        set_up, entries = reading.new_set_up(conn), new_entries(conn)
        fields = reading.with_unknown_fields(conn)
        added = reading.add_staged(conn)
        try:
            take_in_entries(conn, set_up, newer=newer)
        except WrongLineError as error:
            raise BundleError(names, error.why, error.message) from error
        known = programme(conn)
        refuse_unknown_labels(conn, known, names, corrections=not in_part)
        if not newer:
            refuse_impossible((one for one in entries if not (in_part and one.replaces)), known, names)
        forked = own_lane(conn).no > own
        also()
    if forked:
        # A store that was put in place by hand would go on where its lane went on elsewhere.
        open_next_lane(conn, conn.path.parent if isinstance(conn, Store) else None)
    know_species(conn)
    return added, fields


def _stage_all(conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None) -> Iterator[Manifest]:
    """Read the entries of each bundle into their temporary tables."""
    for path in paths:
        with as_bundle(path) as there, open_bundle(there) as bundle:
            entries, done = bundle.entries(), 0
            while batch := list(islice(entries, AT_ONCE)):
                try:
                    reading.add(conn, [entry for _, entry in batch])
                except reading.WrongRowError as error:
                    raise bundle.wrong(batch[error.at][0], error) from error
                done += len(batch)
                if progress is not None:
                    progress(bundle.name, done, bundle.manifest.entries)
            yield bundle.manifest


CHECKED = tuple(
    TABLES[kind] for kind in ("temperature", "sample", "treatment", "specimen", "part", "assembly", "stock", "check")
)
"""Kinds of entries whose numbers and words are held to more than the limits of their fields."""
_PLACED = tuple(table for table in STANDING if table.known and table.place in ("trap", "block", "station", "lot"))
ABOUT = (*((table, table.place) for table in _PLACED), (QUESTIONS, "trap"), (QUESTIONS, "block"))
"""Kinds of entries about something that has to be set up, and the column that names it."""
_NAMED = 5
_SHOWN = 30


def refuse_unknown_labels(
    conn: sqlite3.Connection, programme: Programme, name: str, *, corrections: bool = True
) -> None:
    """Refuse entries about traps, blocks or lots that this folder does not know.

    Args:
        conn: The store, with incoming entries in the temporary tables.
        programme: What is set up.
        name: The bundle, for messages.
        corrections: Whether those are meant too that correct another entry, or were corrected.

    Raises:
        BundleError: It names what is not set up here.
    """
    species = species_known(programme)
    places = {
        "trap": ("trap", "traps.csv", set(programme.hangings)),
        "block": ("block", "blocks.csv", set(programme.blocks)),
        "station": ("station", "stations.csv", set(programme.stations)),
        "lot": ("lure lot", "lures.csv", set(programme.lots)),
    }
    wanted = (
        *((*places[at][:2], table, at, places[at][2]) for table, at in ABOUT),
        ("lure lot", "lures.csv", VISITS, "lure", {YES, NONE, *programme.lots}),
        ("lure lot", "lures.csv", VISITS, "lure_found", {NONE, *programme.lots, *species}),
    )
    superseded = (
        " AND replaces IS NULL AND id NOT IN (SELECT replaces FROM {0} WHERE replaces IS NOT NULL"
        " UNION SELECT replaces FROM {1} WHERE replaces IS NOT NULL)"
    )
    for what, file, table, column, known in wanted:
        rows = conn.execute(
            f"SELECT DISTINCT {column} FROM {reading.of(table)} WHERE {column} IS NOT NULL"  # noqa: S608
            + ("" if corrections else superseded.format(reading.of(table), table.name))
        )
        unknown = sorted({row[0] for row in rows} - known, key=natural_key)
        if unknown:
            words = f"there is no {what} {listed((sanitize(label, _SHOWN) for label in unknown), _NAMED)} here"
            hint = f"if it is the right folder, add them to {file} and load it first"
            raise BundleError(name, Why.PROGRAMME, words, hint)


def refuse_wrong_clashes(conn: sqlite3.Connection, name: str) -> None:
    """Refuse an id that is on record with other content, or as another kind of entry.

    Args:
        conn: The store, inside the transaction that adds the entries.
        name: The bundles, for messages.

    Raises:
        BundleError: An id means two things.
    """
    for table in reading.filled(conn):
        for entry, scout in conn.execute(
            f"SELECT known.id, known.scout FROM {reading.of(table)} AS new"  # noqa: S608
            f" JOIN {table.name} AS known ON known.id = new.id WHERE known.digest <> new.digest"
        ):
            words = f"entry {entry} of {sanitize(scout, _SHOWN)} says something else than on record here"
            hint = "see roundtui verify on both laptops"
            raise BundleError(name, Why.CLASH, words, hint)
        for other in JOURNALS:
            if other is not table:
                for place in (reading.of(other), other.name):
                    found = conn.execute(
                        f"SELECT id FROM {reading.of(table)} WHERE id IN (SELECT id FROM {place}) LIMIT 1"  # noqa: S608
                    ).fetchone()
                    if found:
                        kinds = f"{table.kind or 'unknown entry'} and a {other.kind or 'unknown entry'}"
                        raise BundleError(name, Why.CLASH, f"entry {found[0]} is both a {kinds}", "do not use it")


def refuse_loose_ends(conn: sqlite3.Connection, name: str) -> None:
    """Refuse corrections and withdrawals of entries that nobody has, and corrections that run in a circle.

    Args:
        conn: The store, inside the transaction that adds the entries.
        name: The bundles, for messages.

    Raises:
        BundleError: There is one.
    """
    for table in STANDING:
        new = reading.of(table)
        other = f"SELECT id FROM {OTHERS.name} UNION ALL SELECT id FROM {reading.of(OTHERS)}"  # noqa: S608
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
            "withdraws",
            conn.execute(
                f"SELECT id, entry FROM {reading.of(WITHDRAWALS)} WHERE entry_kind = ?"  # noqa: S608
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
            raise BundleError(name, Why.LIMITS, f"entry {round_about} corrects itself in a circle", "do not use it")


def refuse_days_to_come(conn: sqlite3.Connection, today: date, name: str) -> None:
    """Refuse entries about days that have not begun anywhere on earth, which no keyboard and no file could enter.

    One that was corrected or withdrawn since does no harm: its laptop's clock is right again.

    Args:
        conn: The store, inside the transaction that adds the entries.
        today: The day on the wall.
        name: The bundles, for messages.

    Raises:
        BundleError: There is one that is not on record yet.
    """
    latest = ((today + timedelta(days=1)).isoformat(),)
    for table in TABLES.values():
        for column in (one.name for one in table.own if one.form is Form.DAY):
            for entry, on in conn.execute(
                f"SELECT id, {column} FROM {reading.of(table)} WHERE {column} > ?"  # noqa: S608
                f" AND id NOT IN (SELECT id FROM {table.name})"
                f" AND id NOT IN (SELECT entry FROM {reading.of(WITHDRAWALS)} UNION ALL"
                f" SELECT replaces FROM {reading.of(table)} WHERE replaces IS NOT NULL)",
                latest,
            ):
                words = f"{table.kind} {entry} is of {on}, a day to come"
                hint = "see whether the clocks of both laptops are right, and have it corrected there"
                raise BundleError(name, Why.LIMITS, words, hint)


def new_entries(conn: sqlite3.Connection) -> list[Recorded]:
    """Entries other than visits that are staged and not on record yet.

    Args:
        conn: The store.
    """
    return [
        table.entry(row)
        for table in CHECKED
        for row in conn.execute(
            f"SELECT {table.listed} FROM {reading.of(table)} WHERE id NOT IN (SELECT id FROM {table.name})"  # noqa: S608
        )
    ]


def refuse_impossible(entries: Iterable[Recorded], programme: Programme, name: str) -> None:
    """Refuse what a keyboard or a file of the same kind refuses.

    Args:
        entries: Entries that are new.
        programme: What is set up, with what came along.
        name: The bundles, for messages.

    Raises:
        BundleError: There is one.
    """
    from roundtui.store.round.tally_file import contradictions

    for entry in entries:
        for problem in contradictions(entry, programme):
            raise BundleError(name, Why.LIMITS, f"entry {entry.id}: {problem.message}")


def _refuse_first(name: str, does: str, rows: Iterable[tuple[str, str]]) -> None:
    for entry, missing in rows:
        words = f"entry {entry} {does} {sanitize(missing, 40)}, which is neither in it nor on record"
        hint = "pack it again on the laptop it comes from"
        raise BundleError(name, Why.TRUNCATED, words, hint)


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
