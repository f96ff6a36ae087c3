"""Changes of the record made ready: what was typed, held against what can be, and what it would change."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date

from roundtui.domain.figures.summary import Consequence
from roundtui.domain.programme import stages
from roundtui.domain.questions import QuestionWord, Talk
from roundtui.domain.recorded import Withdrawal
from roundtui.domain.round.checks import in_case
from roundtui.domain.round.tally import parse_tally
from roundtui.domain.text import plain
from roundtui.domain.visits import StageSeen, Visit
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store import journal, read
from roundtui.store.read import JournalRow
from roundtui.store.round.conflicts import OpenConflict, open_conflicts, settle
from roundtui.store.round.corrections import before_correction, correction
from roundtui.store.round.effects import effects
from roundtui.store.round.questions import say_about
from roundtui.store.round.specimens import refuse_where_it_bears
from roundtui.store.rows import Entry
from roundtui.store.session import Session

_SHOWN = 40
CORRECTABLE = (Visit, StageSeen)
"""Kinds of entries that are typed anew here; others are taken back, and entered where they come from."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the lines of a correction."""

    said: str
    """A visit in the tally notation, or a fruit stage."""
    trap: str = ""
    """Trap it should have been."""
    read_on: date | None = None
    """Day it should have been."""
    reason: str = ""
    """Why."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the record, ready to be made."""

    about: JournalRow
    """The entry that stands and is changed."""
    entry: Entry | None
    """What takes its place; None: nothing does."""
    reason: str
    """Why."""


def standing_row(session: Session, row: JournalRow) -> JournalRow:
    """The entry that stands where a replayed one was made; the same one, unless it was corrected.

    Args:
        session: Who, where and when.
        row: The entry.

    Raises:
        RefusedError: Nothing stands in its place any more, or two entries do.
    """
    rows = session.chain_of(row.id)
    found = [one for one in rows if one.present and not isinstance(one.entry, Withdrawal)]
    if any(one.id == row.id for one in found):
        return next(one for one in found if one.id == row.id)
    if len(found) > 1:
        raise RefusedError("two corrections of this entry stand", "settle the conflict first: o lists the open ones")
    if not found:
        raise RefusedError("the entry was withdrawn and not replaced", "enter it again")
    return found[0]


def corrected(session: Session, row: JournalRow, typed: Typed) -> Change:
    """A correction as typed.

    Args:
        session: Who, where and when.
        row: The entry, which stands.
        typed: What it should have said, and why.

    Raises:
        RefusedError: It says what stood already, or no reason is given, or the entry does not stand any more.
        ProblemsError: It cannot be read, or cannot be.
    """
    old = row.entry
    if isinstance(old, Visit):
        draft, problems = parse_tally(typed.said)
        if draft is None:
            raise ProblemsError("the entry cannot be read", problems)
        new: Entry = correction(
            session.conn,
            session.programme,
            old.id,
            draft,
            reason=typed.reason,
            scout=session.scout,
            today=session.on,
            trap=in_case(typed.trap, session.programme.hangings),
            read_on=typed.read_on,
        )
    elif isinstance(old, StageSeen):
        new = _stage(session, old, typed)
    else:
        raise RefusedError(f"a {row.kind} cannot be corrected here", "withdraw it, and enter it again")
    same = replace(new, scout=old.scout, replaces=old.replaces, reason=old.reason)
    if same == replace(old, id="", recorded_at=None, device=""):
        raise RefusedError("that is recorded already", "type the right value, or press Escape")
    return Change(row, new, typed.reason)


def _stage(session: Session, old: StageSeen, typed: Typed) -> StageSeen:
    block = session.programme.blocks.get(old.block)
    found = stages.find(block.crop if block else "", typed.said)
    if found is None:
        raise RefusedError(f"{plain(typed.said, _SHOWN)} is no stage of this crop", "two digits, as 65, or its name")
    if not typed.reason.strip():
        raise RefusedError("correcting an entry needs a reason", "say why")
    day = typed.read_on or old.seen_on
    if day > session.on:
        raise RefusedError(f"{day} is still to come", "correct the day")
    return StageSeen(block=old.block, seen_on=day, code=found.code, replaces=old.id, reason=typed.reason.strip())


def taken_back(session: Session, row: JournalRow, reason: str, *, put_back: bool) -> Change:
    """That an entry is taken back.

    Args:
        session: Who, where and when.
        row: The entry, which stands.
        reason: Why.
        put_back: Where it is a correction, put what it had replaced in its place again.

    Raises:
        RefusedError: No reason is given, the entry does not stand any more, or a count hangs on it.
    """
    if not reason.strip():
        raise RefusedError("withdrawing an entry needs a reason", "say why")
    becomes = None
    if put_back and row.entry.replaces is not None:
        becomes = replace(before_correction(session.conn, row.id), reason=reason.strip())
    refuse_where_it_bears(session.programme, row.entry, becomes)
    return Change(row, becomes, reason.strip())


def effects_of(session: Session, change: Change) -> tuple[Consequence, ...]:
    """What a change would change in what people act on; nothing is recorded.

    Args:
        session: Who, where and when.
        change: The change.

    Raises:
        RoundtuiError: It would be refused.
    """
    new = change.entry
    days = {change.about.read_on}
    days |= {getattr(new, name) for name in ("read_on", "seen_on") if hasattr(new, name)}
    traps = {trap for trap in (change.about.trap, getattr(new, "trap", None)) if trap}
    return tried_out(session, lambda: write(session, change), days, traps)


def tried_out(
    session: Session, write: Callable[[], object], days: Collection[date], traps: Collection[str]
) -> tuple[Consequence, ...]:
    """What writing something would change in what people act on; nothing is recorded.

    Args:
        session: Who, where and when.
        write: Writes to the session's store.
        days: Days it is about; the day of the session and the newest on record are looked at as well.
        traps: Traps it is about.

    Raises:
        RoundtuiError: It would be refused.
    """
    newest = read.newest_read_on(session.conn)
    looked_at = {*days, session.on} | ({newest} if newest is not None and newest <= session.on else set())
    found = effects(session.conn, session.folder, session.office, write, days=looked_at, traps=traps)
    return once_each(found)


def once_each(found: Sequence[Consequence]) -> tuple[Consequence, ...]:
    """Consequences without those that are the same on several days, what needs a word first."""
    newest = {(one.kind, one.what, one.before, one.after): one for one in found}
    return tuple(sorted(newest.values(), key=lambda one: not one.needs_a_word))


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
    write(session, change)
    session.forget()
    about = plain(change.about.trap or change.about.block or change.about.kind, _SHOWN)
    did = "corrected" if change.entry is not None else "withdrawn"
    return f"Saved: {about} {did} by {plain(session.scout, 24)}"


def write(session: Session, change: Change) -> None:
    """Write a change, for a trial or for good.

    Args:
        session: Who, where and when.
        change: The change.
    """
    author = session.author
    if change.entry is not None:
        journal.record(session.conn, [change.entry], author, session.clock())
    else:
        journal.withdraw(session.conn, change.about.id, change.reason, author, session.clock())


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
    return f"Saved: question {says.value} by {plain(session.scout, 24)}"


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

    def came_from(self, conflict: OpenConflict) -> list[JournalRow]:
        """The entries of a conflict with all that they corrected."""
        return [row for one in conflict.entries for row in self.session.chain_of(one.id)]

    def settle(self, conflict: OpenConflict, keep: int | None, *, recounts: bool) -> None:
        """Keep one of the entries. When this returns it is on the disk.

        Args:
            conflict: The conflict.
            keep: Its number, from 1; None: none of them holds.
            recounts: Whether the others stay as recounts of the same catch, instead of being taken back.

        Raises:
            RoundtuiError: Nothing was changed.
        """
        try:
            if not self.session.scout:
                raise RefusedError("your name is not known", "enter your name at the desk first")
            self._try(conflict, keep, recounts=recounts)
            self.session.forget()
        finally:
            self.read()

    def effects(self, conflict: OpenConflict, keep: int | None, *, recounts: bool) -> tuple[Consequence, ...]:
        """What keeping an entry would change; nothing is recorded."""
        days = {row.read_on for row in conflict.entries}
        traps = {row.trap for row in conflict.entries if row.trap}
        return tried_out(self.session, lambda: self._try(conflict, keep, recounts=recounts), days, traps)

    def _try(self, conflict: OpenConflict, keep: int | None, *, recounts: bool) -> None:
        session = self.session
        entry = None if keep is None else conflict.entries[keep - 1].entry
        kept = None if isinstance(entry, Withdrawal) else entry
        author = journal.Author(session.scout or "?", session.device)
        settle(session.conn, conflict, kept, author, session.clock(), recounts=recounts)
