"""What a treatment entered, corrected or withdrawn changes: verdicts, sums, what was told, letters, watches.

Treatments and the watch after them: the section of a summary, the tables of their command, and its JSON.
Treatments that growers spoke of: what was typed as an entry, what it changes, and putting it on record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from roundtui.domain.entries import TreatmentSaid
from roundtui.domain.figures import treatments
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import Consequence, ConsequenceKind
from roundtui.domain.figures.untreated import READINGS
from roundtui.domain.programme.cautions import AFTER_TREATMENT, BLOOM, INTERVALS, LABEL
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import in_case
from roundtui.domain.text import HINT, listed, parse_short_day, sanitize, several
from roundtui.errors import RefusedError
from roundtui.report import text as numbers
from roundtui.report.figures.changes import consequence_words
from roundtui.report.text import Names, Section, figure, json_of, paragraph, titled
from roundtui.store.figures.summary import DaySummary
from roundtui.store.figures.treatments import days_touched, read_treated, record_treatment, treatment_said
from roundtui.store.round.changes import Change, effects, preview, write
from roundtui.store.session import Session


class TreatmentChanges(Frozen):
    """What is different with a change of a treatment."""

    found: tuple[Consequence, ...]
    """Statuses, sums and what growers were told, on every day since on which the block was read."""
    letters: tuple[tuple[str, bool], ...]
    """Letters already written that do not hold any more, a sentence each, and whether they held until now."""
    watches: tuple[str, ...]
    """Watches after the block's treatments as they will stand, a sentence each."""

    def lines(self) -> tuple[tuple[str, bool], ...]:
        """Sentences, and whether each is to be said before the change is accepted; those first."""
        said = [(consequence_words(one), one.needs_a_word) for one in self.found]
        said += self.letters
        said += [(words, False) for words in self.watches]
        return tuple(sorted(said, key=lambda pair: not pair[1]))


def treatment_changes(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    about: tuple[TreatmentSaid, ...],
    on: date,
) -> TreatmentChanges:
    """Try a change of a treatment out, and say what it changes; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: Its rules and season.
        change: Writes through ``conn``: records, corrects or withdraws.
        about: The treatment as it will be said, and as it was said before where it is corrected or withdrawn.
        on: Last day that is looked at.

    Raises:
        RefusedError: The change would be refused.
        RoundtuiError: A file of the office cannot be used.
        StoreError: The store cannot be written.
    """
    days = {day for one in about for day in days_touched(conn, office, one, on)}
    blocks = {one.block for one in about}
    keys = {(one.block, one.species) for one in about}
    found = effects(conn, folder, office, change, days=days, keys=keys) if days else ()
    since = min(one.treated_on for one in about)
    (_, farms), (after, _) = preview(conn, change, lambda: read_treated(conn, office, on, blocks=blocks))
    from roundtui.report.letters.files import letters_outdated, outdated_words

    letters = letters_outdated(conn, folder, office, change, farms=farms, since=since, on=on)
    return TreatmentChanges(
        _once_each(found),
        tuple(zip(outdated_words(conn, letters), (held for _, held in letters), strict=True)),
        tuple(
            f"{sanitize(seen.block, 20)} {sanitize(seen.species, 12)}, treated {seen.treated_on}: {catch_words(seen)}"
            for seen in (one.watch for one in after)
            if (seen.block, seen.species) in keys
        ),
    )


def _once_each(found: tuple[Consequence, ...]) -> tuple[Consequence, ...]:
    """Each status that changes; of the rest what is the same on several days once, on the first of them."""
    firsts = {
        (one.kind, one.what, one.before, one.after, one.mean_before, one.mean_after): one for one in reversed(found)
    }
    return tuple(one for one in found if one.kind is ConsequenceKind.STATUS or one in firsts.values())


TITLE = "Post-treatment check"
MARKS = {treatments.WatchVerdict.DOWN: "- ", treatments.WatchVerdict.NOT_DOWN: "! "}
"""A mark for a verdict, beside its words; the others have a question mark, as whatever nobody can tell."""
_MOST_TRAPS = 6


def treatment_section(asked: DaySummary) -> Section:
    """Treatments of the last weeks with the catch before and after.

    Args:
        asked: What it is made from.
    """
    on = asked.summary.on
    observations = asked.observations
    found = treatments.treated_in(
        asked.programme,
        asked.history,
        observations.treatments,
        on,
        against=observations.untreated,
        days=treatments.NOTIFIED_DAYS,
    )
    return titled(TITLE, [*_lines(found, Names(asked.programme)), AFTER_TREATMENT]) if found else []


def treatments_tables(
    found: Sequence[treatments.Treated], programme: Programme, again: Sequence[treatments.GroupAgain] = ()
) -> Section:
    """All treatments of a season, block by block.

    Args:
        found: The treatments.
        programme: Names of farms and blocks.
        again: Groups noted against two generations running.
    """
    if not found:
        return [numbers.heading("No treatment is on record this season.")]
    names, source = Names(programme), [f"Source: {treatments.GROUP_SOURCE}."] if again else []
    groups = [
        f"{names.place(one.block)}, {sanitize(one.species, 12)}: group {one.group} of {one.later} was already "
        f"noted for the generation before, on {one.earlier}. Labels and local advice decide."
        for one in again
    ]
    return numbers.stacked(
        [
            titled(TITLE, _lines(found, names)),
            titled("Mode-of-action groups", [*groups, *source]),
            titled("Before anything is done", (f"- {words}" for words in (AFTER_TREATMENT, LABEL, INTERVALS, BLOOM))),
        ]
    )


def _lines(found: Iterable[treatments.Treated], names: Names) -> list[numbers.Line]:
    lines = []
    for one in found:
        seen = one.watch
        mark = MARKS.get(seen.verdict, "? ")
        lines.append(paragraph(f"{mark}{names.place(seen.block)}: {said_words(one)}"))
        lines.append(paragraph(f"{catch_words(seen)} {watch_words(seen)}", 4))
    return lines


def said_words(one: treatments.Treated) -> str:
    """What was said: against what, when, in which words, by whom.

    Args:
        one: The treatment.
    """
    words = f" ({sanitize(one.words, numbers.NOTE_WIDTH)})" if one.words else ""
    by = f", said by {sanitize(one.said_by, numbers.NAME_WIDTH)}" if one.said_by else ""
    return f"treated against {sanitize(one.watch.species, 12)} on {one.watch.treated_on}{words}{by}"


def catch_words(seen: treatments.Watch) -> str:
    """The verdict with the figures it rests on.

    Args:
        seen: The watch.
    """
    words = seen.why if seen.verdict is treatments.WatchVerdict.ALONE else f"{seen.said}: {seen.why}"
    head = f"{words[:1].upper()}{words[1:]}."
    if not seen.traps:
        return head
    since = "since"
    if seen.over and seen.last_read is not None:
        since = f"from {seen.treated_on} to {seen.last_read}"
    words = (
        f"{head} {figure(seen.before.per_week)} a trap a week before ({_side(seen.before)}), "
        f"{figure(seen.after.per_week)} {since} ({_side(seen.after)}), in {several(len(seen.traps), 'trap')}."
    )
    if seen.back_at is not None:
        words += f" The catch was {figure(seen.back_at[1])} on {seen.back_at[0]}."
    return words


def _side(side: treatments.Side) -> str:
    return f"{several(side.moths, 'moth')}, {several(side.trap_days, 'trap-day')}"


def watch_words(seen: treatments.Watch) -> str:
    """What else bears on it: readings awaited and left out, lures, other treatments, a flight that may be ending.

    Args:
        seen: The watch.
    """
    return " ".join(f"{words[:1].upper()}{words[1:]}." for words in _notes(seen))


def _notes(seen: treatments.Watch) -> Iterable[str]:
    if not seen.over:
        yield f"{several(seen.awaited, 'reading')} of {READINGS} still awaited, until {seen.until} at the latest"
    if seen.following is not None:
        yield f"a further treatment on {seen.following} began a check of its own"
    if seen.earlier is not None:
        yield f"an earlier treatment, on {seen.earlier}, reaches into the catch before"
    if seen.lures:
        changed = _some([f"{trap} on {on}" for trap, on in seen.lures])
        yield f"lure changed since: {changed}; a fresh lure raises the catch"
    if seen.may_end_by_itself:
        yield "it was falling before the treatment: the flight may be ending by itself"
    if seen.straddling:
        yield f"{several(seen.straddling, 'reading')} across the day of the treatment, left out"
    if seen.set_aside:
        yield f"{several(seen.set_aside, 'reading')} suspect, in conflict or without days, left out"
    if seen.untreated:
        yield f"untreated blocks of the same rounds: {_some(seen.untreated)}"
    if seen.traps:
        yield "the last reading before the treatment is left out: it led to the treatment"
    if seen.left_out:
        yield f"left out, without a reading on both sides: {_some(seen.left_out)}"
    if seen.traps and seen.thin:
        yield "fewer than three traps: the figures say little"


def _some(names: Sequence[str]) -> str:
    return listed((sanitize(name, 24) for name in names), _MOST_TRAPS)


def treatments_json(found: Sequence[treatments.Treated], programme: Programme) -> list[dict[str, Any]]:
    """What ``treatments --json`` prints: exact inside, floats on the way out, null where a figure does not exist.

    Args:
        found: The treatments.
        programme: What is set up.
    """
    return [_json(one, programme) for one in found]


def _json(one: treatments.Treated, programme: Programme) -> dict[str, Any]:
    seen = one.watch
    back = {"on": seen.back_at[0].isoformat(), "per_week": numbers.plain(seen.back_at[1])} if seen.back_at else None
    return {
        "farm": programme.farm_of(seen.block),
        **json_of(seen, "block species treated_on"),
        **json_of(one, "words said_by"),
        "entries": [entry.id for entry in one.said],
        **json_of(seen, "verdict why"),
        "before": _side_json(seen.before),
        "after": _side_json(seen.after),
        **json_of(seen, "traps left_out awaited until over untreated share=against.share"),
        "share_low": seen.against.interval[0] if seen.against else None,
        "share_high": seen.against.interval[1] if seen.against else None,
        **json_of(seen, "expected=against.expected chance=against.by_luck fell_before straddling set_aside"),
        "lures": [{"trap": trap, "changed_on": on.isoformat()} for trap, on in seen.lures],
        **json_of(seen, "earlier following last_read"),
        "back_at": back,
    }


def _side_json(side: treatments.Side) -> dict[str, Any]:
    return asdict(side) | {"per_week": numbers.plain(side.per_week)}


class TreatmentReady(Frozen):
    """A treatment ready to be put on record."""

    entry: TreatmentSaid
    """The treatment."""
    no_entry_before: date | None
    """Day from which its block may be entered; None: not said."""


class TreatmentDesk:
    """What the dialog asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session

    def day(self, text: str) -> date | None:
        """The day a text stands for."""
        return parse_short_day(text, self.session.on)

    def treated_on(self, text: str) -> date:
        """The day of the treatment that a text stands for; blank: today.

        Raises:
            RefusedError: It is no day, or one still to come.
        """
        day = self.day(text)
        if day is None:
            raise RefusedError(f"{sanitize(text, 20)} is no day", HINT)
        if day > self.session.on:
            raise RefusedError(f"{day} is still to come", "enter it once it is done")
        return day

    def grower(self, block: str) -> str:
        """Name of the grower of a block; empty where it is not on record."""
        programme = self.session.programme
        farms, farm = programme.farms, programme.farm_of(in_case(block, programme.blocks))
        return farms[farm].grower if farm in farms else ""

    def ready(self, typed: Mapping[str, str], old: TreatmentSaid | None = None) -> TreatmentReady:
        """What was typed, as an entry.

        Args:
            typed: The lines of the dialog by name; ``reason`` only where an entry is corrected.
            old: The entry that it corrects.

        Raises:
            RefusedError: A line cannot be so, or it says what stands already.
            ProblemsError: There is no such block or species.
        """
        session = self.session
        session.named()
        day = self.treated_on(typed["day"])
        said = {**typed, "said_by": typed["by"]}
        entry = treatment_said(session.conn, session.programme, said, day, session.on)
        if old is not None:
            if not typed["reason"].strip():
                raise RefusedError("correcting an entry needs a reason", "say why")
            entry = replace(entry, replaces=old.id, reason=typed["reason"].strip())
        return TreatmentReady(entry, self._entry_day(typed["entry"], day))

    def _entry_day(self, text: str, treated_on: date) -> date | None:
        """The day of entry may lie ahead: without its year it is the first one from the treatment on."""
        if not text:
            return None
        written = [text, *(f"{year}-{text:0>5}" for year in (treated_on.year, treated_on.year + 1))]
        for one in written:
            try:
                found = date.fromisoformat(one)
            except ValueError:
                continue
            if found >= treated_on:
                return found
        raise RefusedError(f"{sanitize(text, 20)} is no day from the treatment on", "as 2031-06-03 or 06-03")

    def ahead(self, ready: TreatmentReady, old: TreatmentSaid | None = None) -> TreatmentChanges:
        """What it changes, looked up over a connection of its own, so that a thread can; nothing is recorded.

        Args:
            ready: The treatment.
            old: The entry that it corrects.
        """
        # Puts letters together, which nothing else in a round does.

        return _tried_out(self.session, partial(self._write, ready), (ready.entry, *([old] if old is not None else [])))

    def record(self, ready: TreatmentReady) -> str:
        """Put it on record. When this returns it is on the disk.

        Args:
            ready: The treatment.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session, entry = self.session, ready.entry
        self._write(ready, session.conn)
        session.forget(set_up=ready.no_entry_before is not None)
        until = f", no entry before {ready.no_entry_before}" if ready.no_entry_before is not None else ""
        what = f"{sanitize(entry.block, 12)} treated against {sanitize(entry.species, 8)} on {entry.treated_on}"
        return f"Saved: {what}{until}"

    def _write(self, ready: TreatmentReady, conn: sqlite3.Connection) -> None:
        author, now = self.session.author, self.session.clock()
        record_treatment(conn, ready.entry, author, now, no_entry_before=ready.no_entry_before)


def changes_of(session: Session, change: Change) -> TreatmentChanges:
    """What a treatment that is withdrawn, or gives way to another, changes; nothing is recorded.

    Args:
        session: Who, where and when.
        change: The change.
    """
    about = tuple(one for one in (change.about.entry, change.entry) if isinstance(one, TreatmentSaid))
    return _tried_out(session, partial(write, session, change), about)


def _tried_out(
    session: Session, write: Callable[[sqlite3.Connection], object], about: tuple[TreatmentSaid, ...]
) -> TreatmentChanges:
    with session.connection() as conn:
        return treatment_changes(conn, session.folder, session.office, partial(write, conn), about=about, on=session.on)
