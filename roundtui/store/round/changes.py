"""Changes of the record made ready: what was typed, held against what can be, and what it would change.

What it changes is said before anyone accepts it: summaries, warnings, biofixes.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import partial
from itertools import count
from pathlib import Path
from typing import TypeVar

from roundtui.domain.entries import Draft, StageSeen, Visit, Withdrawal, anew
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.integrity import Spell, examine
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import Biofixes, Consequence, consequences
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme import stages
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import as_registered, check_visit, in_case
from roundtui.domain.round.recounts import QuestionWord, Talk
from roundtui.domain.round.tally import parse_tally
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.connect import go_on
from roundtui.store.db import transaction
from roundtui.store.figures.history import scent
from roundtui.store.figures.summary import day_record, summarised
from roundtui.store.record import journal, read
from roundtui.store.record.chains import chain, table_of, together
from roundtui.store.record.observations import Key
from roundtui.store.record.read import SUSPECT, JournalRow, hangings, programme_for, same_day, visits_of
from roundtui.store.record.rows import EVERY, VISITS, Entry, Only
from roundtui.store.round.conflicts import OpenConflict, open_conflicts, settle
from roundtui.store.round.recounts import refuse_where_it_bears, say_about
from roundtui.store.season.season import SeasonRecord
from roundtui.store.session import Session
from roundtui.store.traps.assembled import kit_of_suspect

T = TypeVar("T")


class _NotYetError(Exception):
    """Takes a trial back."""


def preview(conn: sqlite3.Connection, change: Callable[[], object], sample: Callable[[], T]) -> tuple[T, T]:
    """What a look at the record shows before and after a change that is then withdrawn whole.

    The change is made for real and undone, so what is shown is what accepting it will show. Nobody else can write
    meanwhile, so the sample should be quick.

    Args:
        conn: The store.
        change: Writes through ``conn``: a ``record`` or a ``withdraw``, or several.
        sample: Reads through ``conn``, as a summary does.

    Returns:
        Both looks, for ``domain.consequences`` to compare.

    Raises:
        RefusedError: The change would be refused.
        StoreError: The store cannot be written.
    """
    seen: list[T] = []
    with suppress(_NotYetError), transaction(conn):
        seen.append(sample())
        change()
        seen.append(sample())
        raise _NotYetError
    return seen[0], seen[1]


def effects(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    days: Collection[date],
    traps: Iterable[str] = (),
    keys: Collection[Key] = (),
) -> tuple[Consequence, ...]:
    """Try a change out, and say what it changes; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's models.
        office: Its rules and season.
        change: Writes through ``conn``: a ``record`` or a ``withdraw``, or several.
        days: Days whose summaries are looked at: those the change is about, and the newest on record. Where it says
            something else of a lure or body, every day of the season on which a trap was read that it bears on.
        traps: Traps it is about, whose blocks' biofixes are looked at on the last of the days in each season.
        keys: Further blocks and species of which they are, as those that a trap comes to hang in; an empty species
            stands for all of the block. Without traps and these, all blocks are looked at.

    Returns:
        What is different, the oldest day first.

    Raises:
        RefusedError: The change would be refused.
        RoundtuiError: The office's models are faulty.
        StoreError: The store cannot be written.
    """
    about = {*traps}
    asked = {*keys, *_keys_of(conn, about)}
    if about and asked and days:
        scented = _scented(conn, office, change, max(days), tuple(asked))
        days, asked = {*days, *scented}, asked.union(*scented.values())
    last = {season_start(day, office.season_starts_on): day for day in sorted(days)}
    only, steps = tuple(sorted(asked)) if asked else EVERY, count(1)

    def sample() -> list[tuple[Summary, Biofixes]]:
        seen = []
        for day in sorted(days):
            go_on(f"{next(steps)} of {2 * len(days)}")
            season = SeasonRecord(conn, folder, day, office, only)
            biofixes = _biofixes(season, only) if day in last.values() and asked else {}
            seen.append((acted_on(season, only), biofixes))
        return seen

    both = preview(conn, change, sample)
    return tuple(
        one
        for (before, biofix_before), (after, biofix_after) in zip(*both, strict=True)
        for one in consequences(before, after, biofix_before=biofix_before, biofix_after=biofix_after)
    )


def acted_on(season: SeasonRecord, only: Only) -> Summary:
    """What people act on by a day's summary, as ``consequences`` compares it, of some blocks and species alone.

    Suspect traps and their partners are followed wherever they hang. What the rounds taught bears on none of it, and
    neither do other blocks: to read and to count them would take nearly all of the time.

    Args:
        season: Their season up to that day, read for them alone.
        only: Blocks and species.
    """
    day, known = (season.conn, season.office, season.on), season.programme
    if only != EVERY:
        others = (row for row in hangings(season.conn, SUSPECT) if row.trap not in known.hangings)
        known = replace(known, traps=(*known.traps, *others))
    record, _ = day_record(*day, programme=known, record=season.history, untreated=False)
    made = summarised(record)
    return replace(
        made,
        blocks=tuple(row for row in made.blocks if _is_of(only, row.block, row.species)),
        older_figure_calls=tuple(row for row in made.older_figure_calls if _is_of(only, row.block, row.species)),
    )


def _is_of(only: Only, block: str, species: str) -> bool:
    return not {("", ""), (block, ""), ("", species), (block, species)}.isdisjoint(only)


def _keys_of(conn: sqlite3.Connection, traps: Iterable[str]) -> set[Key]:
    """Blocks and species that some traps ever hung in."""
    sought = "SELECT DISTINCT block, species FROM traps WHERE trap IN (SELECT value FROM json_each(?))"
    return set(conn.execute(sought, (json.dumps(sorted(traps)),)))


def _scented(
    conn: sqlite3.Connection, office: Office, change: Callable[[], object], on: date, only: Only
) -> Mapping[date, set[Key]]:
    """Days of a season on which traps were read whose lure or body a change puts in another light, and their blocks."""

    def sample() -> Mapping[str, Sequence[Spell]]:
        # No other trap was ever in trouble.
        known = replace(programme_for(conn, on, office, only), traps=hangings(conn, SUSPECT))
        kit = kit_of_suspect(conn, on)
        return examine(known, scent(conn), on, kit.assembled, kit.bodies).spells

    before, after = preview(conn, change, sample)
    found: dict[date, set[Key]] = {}
    for trap in before.keys() | after.keys():
        spells = set(before.get(trap, ())) ^ set(after.get(trap, ()))
        if spells:
            first = max(min(spell.start or date.min for spell in spells), season_start(on, office.season_starts_on))
            for visit in visits_of(conn, trap, first, on):
                if visit.count is not None:
                    found.setdefault(visit.read_on, set()).update(_keys_of(conn, (trap,)))
    return found


def _biofixes(season: SeasonRecord, only: Only) -> Biofixes:
    """Biofixes of some blocks and species, confirmed or proposed."""
    keys = {(row.block, row.species) for row in season.programme.traps if _is_of(only, row.block, row.species)}
    return {
        (row.block, row.species, row.biofix.generation): row.biofix.on
        for key in sorted(keys)
        for row in season.biofixes(*key)
    }


_NAMED = 5
CORRECTABLE = (Visit, StageSeen)
"""Kinds of entries that are typed anew here; others are withdrawn, and entered where they come from."""


class Change(Frozen):
    """A change of the record, ready to be made."""

    about: JournalRow
    """The entry that stands and is changed."""
    entry: Entry | None
    """What takes its place; None: nothing does."""
    reason: str
    """Why."""
    more: tuple[JournalRow, ...] = ()
    """Entries of the same act, withdrawn with it: further traps of a farm that was closed, further blocks of a call."""

    @property
    def named(self) -> str:
        """The entries it is about, in words."""
        return places_of((self.about, *self.more))


def places_of(rows: Sequence[JournalRow]) -> str:
    """Traps or blocks that some entries are about, the first five by name.

    Args:
        rows: The entries.
    """
    found = sorted({sanitize(one.trap or one.block or one.kind, SHOWN) for one in rows}, key=natural_key)
    return f"{', '.join(found[:_NAMED])}{f' and {len(found) - _NAMED} more' if len(found) > _NAMED else ''}"


def standing_row(session: Session, row: JournalRow) -> JournalRow:
    """The entry that stands where a replayed one was made; the same one, unless it was corrected.

    Args:
        session: Who, where and when.
        row: The entry.

    Raises:
        RefusedError: Nothing stands in its place any more, or two entries do.
    """
    found = [one for one in session.chain_of(row.id) if one.present and not isinstance(one.entry, Withdrawal)]
    found = [one for one in found if one.id == row.id] or found
    if len(found) > 1:
        raise RefusedError(
            "two corrections of this entry stand", "settle the conflict first: m o at the desk lists the open ones"
        )
    if not found:
        raise RefusedError("the entry was withdrawn and not replaced", "enter it again")
    return found[0]


def corrected(session: Session, row: JournalRow, said: str, *, trap: str, read_on: date, reason: str) -> Change:
    """A correction as typed.

    Args:
        session: Who, where and when.
        row: The entry, which stands.
        said: What it should have said: a visit in the tally notation, or a fruit stage.
        trap: Trap it should have been.
        read_on: Day it should have been.
        reason: Why.

    Raises:
        RefusedError: It says what stood already, or no reason is given, or the entry does not stand any more.
        ProblemsError: It cannot be read, or cannot be.
    """
    old = row.entry
    if isinstance(old, Visit):
        draft, problems = parse_tally(said)
        if draft is None:
            raise ProblemsError("the entry cannot be read", problems)
        new: Entry = correction(
            session.conn,
            session.programme,
            old.id,
            draft,
            reason=reason,
            scout=session.scout,
            today=session.on,
            trap=in_case(trap, session.programme.hangings),
            read_on=read_on,
        )
    elif isinstance(old, StageSeen):
        new = _stage(session, old, said, read_on, reason.strip())
    else:
        raise RefusedError(f"a {row.kind} cannot be corrected here", "withdraw it, and enter it again")
    same = replace(new, scout=old.scout, replaces=old.replaces, reason=old.reason)
    if same == replace(old, id="", recorded_at=None, device=""):
        raise RefusedError("that is recorded already", "type the right value, or press Escape")
    return Change(row, new, reason)


def _stage(session: Session, old: StageSeen, said: str, day: date, reason: str) -> StageSeen:
    block = session.programme.blocks.get(old.block)
    found = stages.find(block.crop if block else "", said)
    if found is None:
        raise RefusedError(f"{sanitize(said, SHOWN)} is no stage of this crop", "two digits, as 65, or its name")
    if not reason:
        raise RefusedError("correcting an entry needs a reason", "say why")
    if day > session.on:
        raise RefusedError(f"{day} is still to come", "correct the day")
    return StageSeen(block=old.block, seen_on=day, code=found.code, replaces=old.id, reason=reason)


def withdrawn(session: Session, row: JournalRow, reason: str, *, revert: bool) -> Change:
    """That an entry is withdrawn.

    Args:
        session: Who, where and when.
        row: The entry, which stands.
        reason: Why.
        revert: Where it is a correction, put what it had replaced in its place again.

    Raises:
        RefusedError: No reason is given, the entry does not stand any more, or a count hangs on it.
    """
    if not reason.strip():
        raise RefusedError("withdrawing an entry needs a reason", "say why")
    becomes = None
    if revert and row.entry.replaces is not None:
        old = next(one.entry for one in session.chain_of(row.id) if one.id == row.entry.replaces)
        if not isinstance(old, Withdrawal):
            becomes = anew(old, replaces=row.id, reason=reason.strip())
    refuse_where_it_bears(session.programme, row.entry, becomes)
    return Change(
        row, becomes, reason.strip(), () if becomes else together(session.conn, row.id, session.programme)[1:]
    )


def effects_of(session: Session, change: Change) -> tuple[Consequence, ...]:
    """What a change would change in what people act on; nothing is recorded.

    Args:
        session: Who, where and when.
        change: The change.

    Raises:
        RoundtuiError: It would be refused.
    """
    new, rows = change.entry, (change.about, *change.more)
    days = {change.about.read_on}
    days |= {getattr(new, name) for name in ("read_on", "seen_on") if hasattr(new, name)}
    traps = {trap for trap in (*(one.trap for one in rows), getattr(new, "trap", None)) if trap}
    keys = {(one.block, "") for one in rows if one.block and not one.trap}
    return tried_out(session, partial(write, session, change), days, traps=traps, keys=keys)


def tried_out(
    session: Session,
    write: Callable[[sqlite3.Connection], object],
    days: Collection[date],
    *,
    traps: Collection[str],
    keys: Collection[Key] = (),
) -> tuple[Consequence, ...]:
    """What writing something would change in what people act on, so that a thread can ask; nothing is recorded.

    Args:
        session: Who, where and when.
        write: Writes through the connection that it is given.
        days: Days it is about; the day of the session and the newest on record are looked at as well.
        traps: Traps it is about.
        keys: Blocks and species it is about beside those of its traps.

    Raises:
        RoundtuiError: It would be refused.
    """
    with session.connection() as conn:
        newest = read.newest_read_on(conn, session.on)
        looked_at, change = {*days, session.on, newest or session.on}, partial(write, conn)
        found = effects(conn, session.folder, session.office, change, days=looked_at, traps=traps, keys=keys)
    once = {(one.kind, one.what, one.before, one.after): one for one in found}
    return tuple(sorted(once.values(), key=lambda one: not one.needs_a_word))


def make(session: Session, change: Change) -> str:
    """Make a change. When this returns it is on the disk.

    Args:
        session: Who, where and when.
        change: The change.

    Returns:
        What is on record now, in a few words.

    Raises:
        RoundtuiError: Nothing was recorded.
    """
    write(session, change, session.conn)
    session.forget()
    did = "corrected" if change.entry is not None else "withdrawn"
    return f"Saved: {change.named} {did} by {sanitize(session.scout, 24)}"


def write(session: Session, change: Change, conn: sqlite3.Connection) -> None:
    """Write a change, for a trial or for good.

    Args:
        session: Who, where and when.
        change: The change.
        conn: The session's store.
    """
    author, now = session.author, session.clock()
    if change.entry is not None:
        journal.record(conn, [change.entry], author, now)
        return
    with transaction(conn):
        for one in (change.about, *change.more):
            journal.withdraw(conn, one.id, change.reason, author, now)


def ask_about(session: Session, row: JournalRow, says: QuestionWord, words: str, talk: Talk | None) -> str:
    """Put a word about an entry on record; gives what is on record now, in a few words.

    Args:
        session: Who, where and when.
        row: The entry.
        says: Whether it asks, answers or closes.
        words: The word.
        talk: The talk about the entry that stands open; None: there is none.

    Raises:
        RoundtuiError: Nothing was recorded.
    """
    say_about(session.conn, row, session.author, session.clock(), says=says, words=words, talk=talk)
    return f"Saved: question {says.value} by {sanitize(session.scout, 24)}"


class Conflicts:
    """Entries that cannot both hold.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.open: tuple[OpenConflict, ...] = ()
        self.read()

    def read(self) -> None:
        """Read anew which are open."""
        self.open = open_conflicts(self.session.conn, self.session.programme)

    def settle(self, conflict: OpenConflict, keep: int | None, *, recounts: bool) -> None:
        """Keep one of the entries. When this returns it is on the disk.

        Args:
            conflict: The conflict.
            keep: Its number, from 1; None: none of them holds.
            recounts: Whether the others stay as recounts of the same catch, instead of being withdrawn.

        Raises:
            RoundtuiError: Nothing was changed.
        """
        try:
            self.session.named()
            self._write(conflict, keep, self.session.conn, recounts=recounts)
            self.session.forget()
        finally:
            self.read()

    def effects(self, conflict: OpenConflict, keep: int | None, *, recounts: bool) -> tuple[Consequence, ...]:
        """What keeping an entry would change; nothing is recorded."""
        days = {row.read_on for row in conflict.entries}
        traps = {row.trap for row in conflict.entries if row.trap}
        keys = {(row.block, "") for row in conflict.entries if row.block and not row.trap}
        keeping = partial(self._write, conflict, keep, recounts=recounts)
        return tried_out(self.session, keeping, days, traps=traps, keys=keys)

    def _write(self, conflict: OpenConflict, keep: int | None, conn: sqlite3.Connection, *, recounts: bool) -> None:
        author = journal.Author(self.session.scout or "?", self.session.device)
        settle(conn, conflict, keep, author, self.session.clock(), recounts=recounts)


def correction(
    conn: sqlite3.Connection,
    programme: Programme,
    entry_id: str,
    draft: Draft,
    *,
    reason: str,
    scout: str,
    today: date,
    trap: str | None = None,
    read_on: date | None = None,
    recount: bool | None = None,
) -> Visit:
    """A correction of a visit, ready for ``record`` and for ``preview``.

    Args:
        conn: The store.
        programme: What is set up.
        entry_id: Id of the visit, which must stand.
        draft: What it should have said.
        reason: Why; not blank.
        scout: Who corrects.
        today: No reading can be later.
        trap: The trap it should have been; None: as it is.
        read_on: The day it should have been; None: as it is.
        recount: Whether it should have been marked as a second look at the catch; None: as it is.

    Raises:
        RefusedError: There is no such visit, it does not stand any more, or no reason is given.
        ProblemsError: It cannot be as corrected.
    """
    if not reason.strip():
        raise RefusedError("correcting an entry needs a reason", "say why")
    old = standing_visit(conn, entry_id)
    new = draft.visit(
        old.trap if trap is None else trap,
        old.read_on if read_on is None else read_on,
        recount=old.recount if recount is None else recount,
        scout=scout,
        replaces=old.id,
        reason=reason,
    )
    new = as_registered(new, programme)
    problems = check_visit(new, programme, today=today, same_day=same_day(conn, new.trap, new.read_on))
    if problems:
        raise ProblemsError("this correction is not possible; nothing was changed", problems, "correct it as it was")
    return new


def standing_visit(conn: sqlite3.Connection, entry_id: str) -> Visit:
    """A visit that stands.

    Args:
        conn: The store.
        entry_id: Its id.

    Raises:
        RefusedError: There is no such visit, or it was corrected or withdrawn; what stands instead is named.
    """
    if table_of(conn, entry_id) is not VISITS:
        raise RefusedError(f"{entry_id} is no visit to a trap", "withdraw it, and enter it again")
    rows = chain(conn, entry_id)
    found = next(row for row in rows if row.id == entry_id)
    if isinstance(found.entry, Visit) and found.present:
        return found.entry
    standing = [row.id for row in rows if row.present and isinstance(row.entry, Visit)]
    hint = f"it is now {' and '.join(standing)}" if standing else "nothing replaces it; enter it again"
    raise RefusedError(f"{sanitize(entry_id, 60)} was corrected or withdrawn already", hint)
