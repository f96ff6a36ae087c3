"""A season's end as a page and as a text, from the templates that letters are made of.

A season's end written to disk: each report as text, page and JSON.

The end of a season: traps that hang, parts that are about, and what becomes of each.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from roundtui.domain.entries import PartKind, PartNoted, PartState, Recorded
from roundtui.domain.figures.integrity import Held
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.domain.round.recounts import agreement
from roundtui.domain.season.years import SeasonEnd, YearOf, Years
from roundtui.domain.text import listed, sanitize, several
from roundtui.domain.traps.assembly import Part, Whereabouts
from roundtui.domain.traps.season_close import ToTakeDown, not_put_away, to_discard
from roundtui.errors import RefusedError
from roundtui.report.letters.files import file_stems
from roundtui.report.letters.template import Templates
from roundtui.report.round.recounts import season_lines
from roundtui.report.season.years import season_end_json
from roundtui.report.text import NONE, Names, as_name, figure
from roundtui.report.traps.parts import parts_lines, scented_words
from roundtui.store.db import transaction
from roundtui.store.files import write_whole
from roundtui.store.record import journal
from roundtui.store.session import Session
from roundtui.store.set_up.register import TRAPS, carry_out, never_down, row_of, taken_down
from roundtui.store.traps.parts import read_close

_REASONS = {"down": "found down", "damaged": "found damaged", "missing": "found missing", "closed": "block closed"}
_NAMED = 3


def season_end_page(end: SeasonEnd, programme: Programme, templates: Templates, ending: str) -> str:
    """A season's end as a page that prints well and needs no other file, or as a text.

    Args:
        end: The season.
        programme: For names.
        templates: The office's templates, and those that ship.
        ending: ``html`` or ``txt``.

    Raises:
        TemplateError: The office's template is faulty.
    """
    return templates.page(f"season-end.{ending}", values(end, programme))


def values(end: SeasonEnd, programme: Programme) -> dict[str, Any]:
    """What the templates may use: harmless words, none of which is markup.

    Args:
        end: The season.
        programme: For names.
    """
    names = Names(programme)
    place = names.farm(end.farm) if end.farm else "The programme"
    return {
        "end": {
            "title": f"{place}: season {end.season}",
            "span": f"{end.first.isoformat()} to {end.last.isoformat()}",
            "work": _work(end),
            "upkeep": [*_upkeep(end), *parts_lines(end)],
            "lost": [f"{as_name(trap)}, found missing on {on.isoformat()}" for trap, on in end.lost]
            + [scented_words(part) for part in end.to_discard],
            "blocks": [_block(row, row.now, names, named=not end.farm) for row in end.blocks if row.now],
            "notes": [note for row in end.blocks if (note := _note(row, names))],
        }
    }


def _work(end: SeasonEnd) -> list[str]:
    routes = [f"{as_name(route) if route else 'on no route'} {number}" for route, number in end.rounds]
    by = f" by {listed(as_name(name) for name in end.scouts)}" if end.scouts else ""
    lines = [
        f"{several(end.rounds_walked, 'round')} walked{by}" + (f": {listed(routes)}." if len(routes) > 1 else "."),
        f"{several(end.traps, 'trap')}, {several(end.readings, 'reading')}, {several(end.moths, 'moth')} counted.",
    ]
    missed = [f"{_REASONS.get(reason.value, reason.value)} {number}" for reason, number in end.not_read]
    if missed:
        lines.append(f"Visits without a count: {listed(missed)}.")
    if end.estimated:
        lines.append(f"{several(end.estimated, 'count is an estimate', 'counts are estimates')}.")
    lines.append(f"{several(end.weeks_over, 'week')} over the threshold, all blocks together.")
    return [*lines, *season_lines(agreement(end.second_counts))]


def _upkeep(end: SeasonEnd) -> list[str]:
    lots = [
        f"{sanitize(species, 20)} {used} ({'lot ' + as_name(lot) if lot else 'lot not on record'})"
        for species, lot, used in end.lures
    ]
    used = sum(number for _, _, number in end.lures)
    lines = [f"{several(used, 'lure')} put out" + (f": {listed(lots)}." if lots else ".")]
    changed = [(end.liners, "liner"), (end.kill_strips, "kill strip")]
    said = [several(number, what) for number, what in changed if number]
    said += [several(end.bodies, "trap body", "trap bodies")] if end.bodies else []
    if said:
        lines.append(f"{listed(said)} replaced.")
    return lines


def _block(row: Years, now: YearOf, names: Names, *, named: bool) -> dict[str, str]:
    peak, first = now.peak, now.caught.first
    before = figure(row.last_total) + (" *" if row.why_not and row.last_total is not None else "")
    return {
        "block": names.place(row.block) if named else names.block(row.block),
        "species": sanitize(row.species, 20),
        "traps": str(len(now.traps)),
        "first": first.isoformat() if first else NONE,
        "peak": f"{figure(peak.per_week)} on {peak.on.isoformat()}" if peak else NONE,
        "total": figure(now.total),
        "before": before,
        "over": f"{now.weeks_over} of {now.weeks_judged}" if now.weeks_judged else NONE,
    }


def _note(row: Years, names: Names) -> str:
    """Why a block cannot be compared with the season before."""
    if not row.why_not or row.last_total is None:
        return ""
    words = listed((sanitize(words, 160) for words in row.why_not), _NAMED)
    return f"{names.block(row.block)}, {sanitize(row.species, 20)}: {words}."


def write_season_ends(ends: Iterable[SeasonEnd], programme: Programme, templates: Templates, to: Path) -> str:
    """Write reports, each whole or not at all.

    Args:
        ends: The programme's, and those of farms.
        programme: For names.
        templates: The office's templates, and those that ship.
        to: Folder to write into.

    Returns:
        How many there are, in a few words.

    Raises:
        RoundtuiError: A template is faulty, or a file cannot be written.
    """
    done, stems = 0, {"": "programme", **file_stems(programme.farms)}
    for end in ends:
        name = f"season-{end.season}-{stems[end.farm]}"
        for ending in ("txt", "html"):
            write_whole(to / f"{name}.{ending}", season_end_page(end, programme, templates, ending))
        write_whole(to / f"{name}.json", json.dumps(season_end_json(end), indent=2) + "\n")
        done += 1
    return f"{done} {'report' if done == 1 else 'reports'}, each as text, page and JSON"


SEASON_END = "season-end"
"""Folder, within the scouting folder, that the season's end is written into."""
PLACE = "parts-place"
"""Setting that keeps where parts are put away."""


class CloseRow(Frozen):
    """A trap that hangs, or a part that is about."""

    parts: tuple[Part, ...]
    """Its labelled parts, or the part."""
    hung: ToTakeDown | None = None
    """The trap, with its place; None for a part alone."""

    @property
    def trap(self) -> str:
        """Label of the trap; empty for a part alone."""
        return self.hung.hanging.trap if self.hung else ""

    @property
    def name(self) -> str:
        """What it is called."""
        return sanitize(self.trap or self.parts[0].label, 24)

    @property
    def scented(self) -> tuple[Part, ...]:
        """Bodies that smell of another species."""
        return tuple(part for part in self.parts if part.foreign)


class CloseDesk:
    """Traps that hang, parts that are about.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.place = session.kept(PLACE)
        """Where parts are put away."""
        self.last: tuple[str, str, tuple[Recorded, ...]] | None = None
        """Name, trap and notes of what was noted last here, as long as it can be withdrawn."""
        self.rows: tuple[CloseRow, ...] = ()
        """Traps to take down, then parts that are about; none before they are read."""
        self.hanging = self.down = 0
        """How many traps hang, and how many were taken down this season."""

    def read(self) -> None:
        """Read what hangs and what is known of parts, in a thread."""
        session = self.session
        with session.connection() as conn:
            close = read_close(conn, session.office, session.on)
        self.known, hanging = close.known, close.hanging
        every = self.known.parts.values()
        about = [part for part in not_put_away(every) if not part.foreign]
        loose = [part for part in to_discard(every) if part.state is not Whereabouts.HUNG]
        self.hanging = len(hanging)
        ends = [rows[-1].down_on for rows in self.known.programme.hangings.values()]
        self.down = sum(1 for end in ends if end and close.first <= end <= close.on)
        self.rows = (*(CloseRow(one.parts, one) for one in hanging), *(CloseRow((one,)) for one in (*about, *loose)))

    def held(self, part: Part) -> tuple[Held, ...]:
        """What a body has held."""
        return next((past.held for past in self.known.bodies if past.label == part.label), ())

    def keep_place(self, place: str) -> None:
        """Say where parts are put away, and keep it."""
        self.place = place
        self.session.keep(PLACE, place)

    def note(self, row: CloseRow, state: PartState) -> int:
        """Take a trap down and say what became of its parts, all or nothing; on the disk when this returns.

        Args:
            row: The trap, or the part.
            state: Stored, lost or discarded; of a trap discarded the body alone is, and the rest is put away.

        Returns:
            How many parts were noted.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session = self.session
        author, now = session.named(), session.clock()
        notes = [self._noted(part, state) for part in row.parts]
        with transaction(session.conn):
            if row.trap:
                down = taken_down(row_of(session.conn, TRAPS, row.trap), session.on, f"close of season: {state.value}")
                carry_out(session.conn, down, author, now)
            noted = journal.record(session.conn, notes, author, now) if notes else ()
        self.last = (row.name, row.trap, tuple(noted))
        session.forget(set_up=True)
        return len(notes)

    def undo(self) -> str:
        """Withdraw what was noted last: the trap hangs as before, in one series, and its parts are where they were.

        Returns:
            What it was about.

        Raises:
            RoundtuiError: Nothing was noted here, or it cannot be withdrawn.
        """
        session = self.session
        if self.last is None:
            raise RefusedError("nothing was noted here", "the register's history reverts older changes")
        name, trap, notes = self.last
        author, now, why = session.named(), session.clock(), "taken down by mistake"
        with transaction(session.conn):
            if trap:
                carry_out(session.conn, never_down(row_of(session.conn, TRAPS, trap), session.on, why), author, now)
            for one in notes:
                journal.withdraw(session.conn, one.id, why, author, now)
        self.last = None
        session.forget(set_up=True)
        return name

    def write_end(self) -> str:
        """Write the season's end as ``season-end --to`` does, over a connection of its own, so that a thread can.

        Returns:
            What was written, in a few words.

        Raises:
            RoundtuiError: Nothing can be said of the season, or a file cannot be written.
        """
        # Puts whole seasons together, which nothing else in the app does at the close.
        from roundtui.store.season.years import YearsRecord

        session = self.session
        with session.connection() as conn:
            record = YearsRecord(conn, session.folder, session.on, session.office)
            known = record.now.programme
            if not record.now.series:
                raise RefusedError(f"no trap hung in the season {record.now.season}", "there is nothing to report")
            ends = record.ends(["", *sorted(known.farms)])
        return f"{SEASON_END}: {write_season_ends(ends, known, Templates(session.folder), session.folder / SEASON_END)}"

    def _noted(self, part: Part, state: PartState) -> PartNoted:
        if state is PartState.DISCARDED and part.part is not PartKind.BODY and part.state is Whereabouts.HUNG:
            state = PartState.STORED
        scent = f"smells of {part.foreign[-1]}" if part.foreign else ""
        noted = PartNoted(
            label=part.label, part=part.part, species=part.species, state=state, noted_on=self.session.on, note=scent
        )
        return replace(noted, place=self.place) if state is PartState.STORED else noted
