"""A paper sheet beside the record: which rows it has, what stands in them, and how what is typed gets on record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from roundtui.app.changes import tried_out
from roundtui.domain.checks import as_registered, check_visit, same_scout
from roundtui.domain.choices import found_choices, lure_choices, stage_choices
from roundtui.domain.consequences import Consequence
from roundtui.domain.plain import plain
from roundtui.domain.right_sheet import Alike, alike
from roundtui.domain.rounds import OPEN_DAYS
from roundtui.domain.second_keying import KeyedRow
from roundtui.domain.sheet import SheetRow, in_order, moved, plainly_lured
from roundtui.domain.stages import runs_backward
from roundtui.domain.tally import draft_of
from roundtui.domain.visits import Draft, StageSeen, Visit
from roundtui.store import journal, read, sheets
from roundtui.store.connect import transaction

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.errors import Problem

SET_RIGHT = "set right on the tally sheet"
"""Reason kept with a correction made by typing over a row."""
TAKEN_BACK = "keyed from another sheet, or pasted by mistake"
"""Reason kept with rows that are taken back together."""
LAST_WEEKS = "last week's of this sheet"


class SheetKeeper:
    """What the tally sheet asks and tells.

    Args:
        session: Who, where and when.
        route: Name of the route.
        second: Whether the sheet is keyed the second time, without sight of the first.
    """

    def __init__(self, session: Session, route: str, *, second: bool = False) -> None:
        self.session = session
        self.route = route
        self.second = second
        state = session.round_of(route)
        self.traps = state.traps
        self.since = state.started_on or session.on - timedelta(days=OPEN_DAYS)
        """First day that belongs to this sheet's round."""
        self.sitting: list[KeyedRow] = []
        """Rows keyed since the sheet was opened, with the keys they took."""
        self.undo: list[str] = []
        """Ids of the rows that can be taken back together."""
        self._done = {trap: visit.read_on for trap, visit in state.done.items()}
        self._keyed = {(row.trap, row.read_on): row for row in self._second_rows()} if second else {}
        order = in_order(state.traps, sheets.layout(session.conn, route))
        self.rows = [self._row(trap, self._first_day(trap)) for trap in order]

    # --- rows --------------------------------------------------------------------------------------------------------

    @property
    def author(self) -> journal.Author:
        """Who is at the keys, and on which laptop."""
        return journal.Author(self.session.scout, self.session.device)

    @property
    def sheet(self) -> sheets.Sheet:
        """The sheet."""
        return sheets.Sheet(self.route, self.session.on)

    def _first_day(self, trap: str) -> date:
        if not self.second:
            return self._done.get(trap, self.session.on)
        return next((row.read_on for row in self._keyed.values() if row.trap == trap), self.session.on)

    def _second_rows(self) -> tuple[sheets.SecondRow, ...]:
        return sheets.second_rows(self.session.conn, self.route, self.since, self.session.on)

    def _row(self, trap: str, on: date) -> SheetRow:
        if self.second:
            keyed = self._keyed.get((trap, on))
            if keyed is None:
                return SheetRow(trap=trap, read_on=on)
            return SheetRow(trap=trap, read_on=on, draft=keyed.draft, id=keyed.id, scout=keyed.scout)
        visit = self.standing(trap, on)
        if visit is None:
            return SheetRow(trap=trap, read_on=on)
        return SheetRow(trap=trap, read_on=on, draft=draft_of(visit), id=visit.id, scout=visit.scout)

    def standing(self, trap: str, on: date) -> Visit | None:
        """The entry of a row: of whoever is at the keys, else of another."""
        visits = [visit for visit in self.session.visits(trap) if visit.read_on == on and not visit.recount]
        own = [visit for visit in visits if same_scout(visit.scout, self.session.scout)]
        found = own or visits
        return found[-1] if found else None

    def refresh(self, at: int) -> None:
        """Show in a row what stands."""
        self.rows[at] = self._row(self.rows[at].trap, self.rows[at].read_on)

    def read_anew(self) -> None:
        """Something else may have written: what is shown comes from the disk."""
        self.session.forget()
        for at in range(len(self.rows)):
            self.refresh(at)

    def date_from(self, at: int, on: date) -> None:
        """Give a day to a row and to all that follow and are still blank."""
        for place in range(at, len(self.rows)):
            if place == at or self.rows[place].draft is None:
                self.rows[place] = self._row(self.rows[place].trap, on)

    def place(self, trap: str, at: int) -> None:
        """Put a trap's row where it stands on the paper, and keep that order with who and when."""
        order = moved([row.trap for row in self.rows], trap, at)
        sheets.keep_layout(self.session.conn, self.route, order, self.author, self.session.clock())
        rows = {row.trap: row for row in self.rows}
        self.rows = [rows[label] for label in order]

    def see_stage(self, row: SheetRow, code: str) -> str:
        """Record the fruit stage of a row's block on the row's day; a further one that day sets it right.

        Returns:
            A word: what was recorded, or why nothing was.
        """
        session = self.session
        hanging = session.programme.hanging(row.trap, row.read_on)
        block = session.programme.blocks.get(hanging.block) if hanging else None
        known = {stage.value: stage.words for stage in stage_choices(block.crop)} if block else {}
        if block is None or code not in known:
            return f"{plain(code, 20)} is no stage of {plain(block.crop if block else 'any block', 20)}: two digits"
        before = session.stage(block.block)
        same_day = before if before is not None and before.seen_on == row.read_on else None
        name = f"Block {plain(block.block, 12)} {row.read_on:%m-%d}: stage {code}, {known[code]}"
        if same_day is not None and same_day.code == code:
            return f"{name}, as it stands"
        seen = StageSeen(
            block=block.block,
            seen_on=row.read_on,
            code=code,
            unchanged=same_day is None and before is not None and before.code == code,
            replaces=same_day.id if same_day else None,
            reason=SET_RIGHT if same_day else "",
        )
        journal.record(session.conn, [seen], self.author, session.clock())
        session.forget()
        if before is not None and same_day is None and runs_backward(before.code, code):
            return f"{name}. That is before {before.code}, and stages do not run backward: look again"
        return name

    @cached_property
    def past(self) -> dict[str, Visit]:
        """What each trap showed in the round before."""
        found = {}
        for trap in self.traps:
            before = [
                visit
                for visit in self.session.visits(trap)
                if visit.read_on < self.since
                and not visit.recount
                and (visit.count is not None or visit.no_reading is not None)
            ]
            if before:
                found[trap] = before[-1]
        return found

    # --- one row on record -------------------------------------------------------------------------------------------

    def visit(self, row: SheetRow, draft: Draft) -> tuple[Visit, tuple[Problem, ...]]:
        """An entry ready to record, and what makes it impossible.

        Args:
            row: The row; what stands in it by the same scout is what the entry sets right.
            draft: What was typed.
        """
        session = self.session
        said = plainly_lured(draft, session.programme, session.programme.hanging(row.trap, row.read_on), row.read_on)
        own = row.id and same_scout(row.scout, session.scout) and not self.second
        visit = as_registered(
            said.visit(
                row.trap,
                row.read_on,
                scout=session.scout,
                replaces=row.id if own else None,
                reason=SET_RIGHT if own else "",
            ),
            session.programme,
        )
        there = () if self.second else read.same_day(session.conn, row.trap, row.read_on)
        return visit, check_visit(visit, session.programme, today=session.on, same_day=there, where="")

    def keep(self, places: Sequence[int], visits: Sequence[Visit], keys: Sequence[int]) -> list[Visit]:
        """Put rows on the disk, all or none: as entries, or as rows of the second keying.

        Args:
            places: Where they stand.
            visits: What they say, checked before.
            keys: Keys pressed for each.

        Returns:
            The entries as recorded.

        Raises:
            RoundtuiError: Nothing was kept.
        """
        session = self.session
        if self.second:
            now = session.clock()
            rows = [
                sheets.SecondRow(
                    trap=visit.trap,
                    read_on=visit.read_on,
                    draft=draft_of(visit),
                    keys=pressed,
                    replaces=self.rows[at].id or None,
                )
                for at, visit, pressed in zip(places, visits, keys, strict=True)
            ]
            for row in sheets.keep_second_rows(session.conn, self.sheet, rows, self.author, now):
                self._keyed[(row.trap, row.read_on)] = row
            recorded = [replace(visit, recorded_at=now) for visit in visits]
        else:
            recorded = list(session.record(visits))
        for at, visit, pressed in zip(places, recorded, keys, strict=True):
            self.refresh(at)
            self.sitting.append(
                KeyedRow(
                    trap=visit.trap, read_on=visit.read_on, draft=draft_of(visit), at=visit.recorded_at, keys=pressed
                )
            )
        if not self.second:
            corrected = {visit.replaces: visit.id for visit in recorded if visit.replaces}
            self.undo = [corrected.get(entry, entry) for entry in self.undo]
            self.undo += [visit.id for visit in recorded if visit.replaces is None]
        return recorded

    def take_back(self, ids: Sequence[str]) -> None:
        """Take entries back together; they stay on record as taken back."""
        session = self.session
        with transaction(session.conn):
            for entry in ids:
                journal.withdraw(session.conn, entry, TAKEN_BACK, self.author, session.clock())
        self.undo = [entry for entry in self.undo if entry not in ids]
        self.read_anew()

    def consequences(self, visit: Visit) -> list[Consequence]:
        """What a correction changes that is to be said before it is accepted."""
        session = self.session
        was = next((one for one in self.session.visits(visit.trap) if one.id == visit.replaces), visit)
        found = tried_out(
            session,
            lambda: journal.record(session.conn, [visit], self.author, session.clock()),
            {visit.read_on, was.read_on},
            {visit.trap},
        )
        return [one for one in found if one.needs_a_word]

    def effect(self, visit: Visit) -> str:
        """What a lure put in, or found, does beyond the plain; empty where there is nothing to say."""
        programme = self.session.programme
        hanging = programme.hanging(visit.trap, visit.read_on)
        if hanging is None or (visit.lure is None and visit.lure_found is None):
            return ""
        choices = (
            *(one for one in lure_choices(programme, hanging, visit.read_on) if one.value == visit.lure),
            *(one for one in found_choices(programme, hanging) if one.value == visit.lure_found),
        )
        return "; ".join(one.effect for one in choices if one.effect)

    # --- the right sheet ---------------------------------------------------------------------------------------------

    @cached_property
    def neighbours(self) -> dict[str, list[int | None]]:
        """Counts of this round on the other sheets, each in its own order; sheets that share a trap are none."""
        found = {}
        for route in self.session.programme.routes:
            state = self.session.round_of(route)
            if route != self.route and not set(state.traps) & set(self.traps):
                order = in_order(state.traps, sheets.layout(self.session.conn, route))
                counts = [state.done[trap].count if trap in state.done else None for trap in order]
                if any(count is not None for count in counts):
                    found[f"those of sheet {route}"] = counts
        return found

    def alike(self, at: int) -> Alike | None:
        """The sheet that the rows up to a place read like."""
        keyed = [row.draft.count if row.draft else None for row in self.rows[: at + 1]]
        before = [self.past[row.trap].count if row.trap in self.past else None for row in self.rows]
        return alike(keyed, {LAST_WEEKS: before}, self.neighbours)
