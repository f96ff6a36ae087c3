"""One person at one scouting folder on one day: what stands, and putting on record what is entered."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, nullcontext, suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.entries import Notified, StageSeen, Visit
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.programme.rounds import OPEN_DAYS, RoundState, current_round, traps_to_walk
from roundtui.errors import Problem, RefusedError, RoundtuiError
from roundtui.store.connect import HEED, open_store
from roundtui.store.office import read_office
from roundtui.store.record import read

if TYPE_CHECKING:
    import sqlite3
    from fractions import Fraction

    from roundtui.domain.figures.history import History
    from roundtui.domain.figures.integrity import Integrity
    from roundtui.domain.figures.learned import Learned, Place, Read
    from roundtui.domain.figures.rules import Office
    from roundtui.domain.round.entry import Asked, TrapEntry
    from roundtui.domain.round.walk import DueItem
    from roundtui.store.figures.summary import DaySummary
    from roundtui.store.hub.regular import Regular
    from roundtui.store.record.chains import Mark
    from roundtui.store.record.journal import Author

SCOUT = "scout"
"""Setting that keeps the scout's name."""
THEME = "theme"
"""Setting that keeps the theme."""


class Session:
    """What the screens ask and tell.

    Args:
        folder: The scouting folder.
        conn: Its store.
        on: The day the app stands on.
        scout: Who is at the keys; empty: the one kept from before.
        device: Name of this laptop.
        office: Reads the office's rules when they are first needed.
        clock: Gives the instant.
        ticks: Gives seconds that only ever run forward.
    """

    def __init__(
        self,
        folder: Path,
        conn: sqlite3.Connection,
        *,
        on: date,
        device: str,
        office: Callable[[], Office],
        scout: str = "",
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        ticks: Callable[[], float] = time.monotonic,
    ) -> None:
        self.folder = folder
        self.conn = conn
        self.on = on
        self.device = device
        self.clock = clock
        self.ticks = ticks
        self._programme: Programme | None = None
        self._today: Programme | None = None
        self.traps = 0
        """How many traps there are, those included that are down; known with ``today``."""
        self.scout = scout.strip() or read.setting(conn, SCOUT) or ""
        self.said_who = bool(scout.strip())
        """Whether somebody said who is at the keys, at the start or since; else it is the name kept from before."""
        self._read_office = office
        self._office: Office | None = None
        self._history: History | None = None
        self.due: Mapping[str, Sequence[DueItem]] = {}
        """What is due or wrong at each trap, as the desk last read it."""
        self.next_visits: Mapping[str, date] = {}
        """Day by which a trap is to be visited, where the office asks for an interval, as the desk last read it."""
        self.thresholds: Mapping[tuple[str, str], tuple[Fraction, Fraction]] = {}
        """Lower and upper threshold by block and species where the rule looks at one week, as the desk last read it."""
        self.meet: Callable[[], None] = lambda: None
        """Exchanges with other laptops, where the folder does so by itself."""
        self.grown = False
        """Whether an exchange took something in that is not shown yet."""
        self.changes = 0
        """How often the record was changed or given up in this session."""
        self._visits: dict[str, list[Visit]] = {}
        self._stages: dict[str, StageSeen] = {}
        self.learned: dict[int, Mapping[str, Learned]] = {}
        """What rounds taught up to a week, since the desk last read what is due."""
        self._read: dict[tuple[str, int], list[tuple[Place, Read]]] = {}
        self._found: Integrity | None = None
        if scout.strip() and read.setting(conn, SCOUT) is None:
            self.keep(SCOUT, self.scout)

    @property
    def author(self) -> Author:
        """Who is at the keys, and on which laptop."""
        from roundtui.store.record.journal import Author

        return Author(self.scout, self.device)

    def named(self) -> Author:
        """The same, where there is somebody.

        Raises:
            RefusedError: Nobody is named, so nothing can be put on record.
        """
        if not self.scout:
            raise RefusedError("your name is not known", "enter your name at the desk first")
        return self.author

    def connection(self) -> closing[sqlite3.Connection]:
        """A connection of its own for a thread, closed when it is left."""
        return closing(open_store(self.folder, now=self.clock()))

    def close(self) -> None:
        """Let go of the store."""
        self.conn.close()

    # --- settings ----------------------------------------------------------------------------------------------------

    def keep(self, key: str, value: str) -> None:
        """Keep a setting of this folder; a store that cannot be written now only forgets it."""
        with suppress(RoundtuiError):
            read.put_setting(self.conn, key, value)

    def kept(self, key: str) -> str:
        """A setting of this folder; empty where there is none."""
        return read.setting(self.conn, key) or ""

    def name_scout(self, name: str) -> None:
        """Say who is at the keys, and keep it."""
        self.scout, self.said_who = name, True
        self.keep(SCOUT, name)

    # --- what is set up ----------------------------------------------------------------------------------------------

    @property
    def programme(self) -> Programme:
        """What is set up, with the hangings of all years; read when it is first asked for, by whatever thread."""
        if self._programme is None:
            with self.connection() as conn:
                self._programme = read.programme(conn)
        return self._programme

    @programme.setter
    def programme(self, known: Programme | None) -> None:
        self._programme, self._today = known, None

    @property
    def today(self) -> Programme:
        """The same without the hangings that were over before the day: all that a round of it needs."""
        if self._today is None:
            self._today = self._programme or read.programme_on(self.conn, self.on)
            self.traps = self.conn.execute("SELECT count(DISTINCT trap) FROM traps").fetchone()[0]
        return self._today

    # --- the record --------------------------------------------------------------------------------------------------

    @property
    def office(self) -> Office:
        """The office's rules and season."""
        if self._office is None:
            self._office = self._read_office()
        return self._office

    @property
    def history(self) -> History:
        """The record up to the day; entries made since are in ``visits`` and ``stage``."""
        if self._history is None:
            from roundtui.store.figures.history import history

            found = history(self.conn, self.programme, self.on, self.office)
            self._take(found)
            return found
        return self._history

    def forget(self, *, set_up: bool = False) -> None:
        """Read record and rules anew when they are next needed: another laptop or process may have changed them.

        Args:
            set_up: What is set up as well.
        """
        self._history = self._office = self._found = None
        if set_up:
            self.programme = None
        self.changes += 1

    @property
    def regular(self) -> Regular | None:
        """Where the folder meets others by itself; None where nobody asked for it."""
        from roundtui.store.hub.regular import regular_of

        return regular_of(self.conn)

    def take_in(self) -> None:
        """Read set-up and record anew where other laptops added to them."""
        if self.grown:
            self.grown = False
            self.forget(set_up=True)

    @property
    def reads_long(self) -> bool:
        """Whether whoever needs the record now waits for it."""
        # The record of fewer traps takes less than a key when a round is opened.
        return self._history is None and len(self.programme.hangings) >= 150

    def read_history(self) -> Callable[[], None]:
        """For a thread: read the record; gives what takes it over."""
        changes = self.changes
        from roundtui.store.figures.history import history

        with self.connection() as conn:
            return partial(self.take_over, history(conn, self.programme, self.on, self.office), changes)

    def take_over(self, history: History, changes: int) -> None:
        """Take over a record read beside the app, unless there were changes since."""
        if self._history is None and self.changes == changes:
            self._take(history)

    def _take(self, history: History) -> None:
        self._history = history
        self._visits = {trap: list(visits) for trap, visits in history.visits.items()}
        self._stages = dict(history.stages)
        self._read = {}

    def visits(self, trap: str) -> Sequence[Visit]:
        """Present visits of a trap this season, in order."""
        _ = self.history
        return self._visits.get(trap, ())

    @property
    def present_history(self) -> History:
        """The record of the season with the visits that are present now."""
        return replace(self.history, visits=self._visits)

    def stage(self, block: str) -> StageSeen | None:
        """The fruit stage seen last in a block this season."""
        _ = self.history
        return self._stages.get(block)

    def has_entries(self) -> bool:
        """Whether anything was ever entered in this folder."""
        return read.newest_read_on(self.conn) is not None

    def round_of(self, route: str) -> RoundState:
        """How far the round of a route has come."""
        traps = traps_to_walk(self.today, route, self.on)
        return self._round(traps, self._visits if self._history is not None else self._newest(traps))

    def rounds(self) -> dict[str, RoundState]:
        """The same of every route; what stands of each trap is no more than whether it was read."""
        visits = self._visits if self._history is not None else self._newest(None)
        known, on = self.today, self.on
        return {route: self._round(traps_to_walk(known, route, on), visits) for route in known.routes}

    def _newest(self, traps: Sequence[str] | None) -> Mapping[str, Sequence[Visit]]:
        return read.visits_by_trap(self.conn, traps, self.on - timedelta(days=2 * OPEN_DAYS + 1), self.on)

    def _round(self, traps: Sequence[str], visits: Mapping[str, Sequence[Visit]]) -> RoundState:
        later = frozenset(trap for trap in traps if self.next_visits.get(trap, self.on) > self.on)
        return replace(current_round(traps, visits, self.on), later=later)

    def day_summary(
        self, on: date | None = None, route: str | None = None, mark: Mark | None = None, *, how_sure: bool = True
    ) -> DaySummary:
        """A summary with what it was made from, read over a connection of its own, so that a thread can.

        Args:
            on: The day; None: the session's.
            route: Only the blocks of this route.
            mark: From the record as it stood at this mark; None: as it stands.
            how_sure: Whether its rounds are learned from.
        """
        from roundtui.store.figures.summary import summary_of
        from roundtui.store.record.chains import as_recorded

        programme = self.programme if mark is None and on in (None, self.on) else None
        with self.connection() as conn, nullcontext() if mark is None else as_recorded(conn, mark):
            return summary_of(conn, self.office, on or self.on, route=route, programme=programme, how_sure=how_sure)

    def chain_of(self, entry: str) -> tuple[read.JournalRow, ...]:
        """All that an entry corrected and that corrected it, in the order recorded."""
        from roundtui.store.record.chains import chain

        return tuple(chain(self.conn, entry))

    def newest_entry(self, trap: str) -> read.JournalRow | None:
        """The newest present entry about a trap this season; None where there is none."""
        visits = self.visits(trap)
        return next((row for row in self.chain_of(visits[-1].id) if row.id == visits[-1].id), None) if visits else None

    def hanging(self, trap: str) -> Trap | None:
        """The hanging of a trap on the day."""
        return self.today.hanging(trap, self.on)

    def slip(self, visit: Visit) -> str:
        """Why a count that was recorded is unlikely, in words; empty where it is not."""
        from roundtui.domain.figures.figures import series
        from roundtui.domain.figures.learned import NOTHING, placed_of, week_of
        from roundtui.domain.round.walk import remarkable
        from roundtui.store.figures.learned import learned_by, troubles_of

        hanging = self.programme.hanging(visit.trap, visit.read_on)
        if hanging is None or visit.count is None:
            return ""
        week = week_of(visit.read_on)
        if week not in self.learned:
            self.learned[week] = learned_by(self.conn, self.programme, self.office, self.on)(week)
        known = self.learned[week].get(hanging.species, NOTHING)
        others: list[tuple[Place, Read]] = []
        if self._found is None:
            self._found, self._read = troubles_of(self.conn, self.programme, self.on), {}
        for at, its in self.programme.hangings.items():
            if at != visit.trap and its[-1].species == hanging.species:
                if (at, week) not in self._read:
                    every = series(its, self.visits(at), self._found)
                    placed = placed_of(every, self.programme.blocks, week, week)
                    self._read[at, week] = placed.get(hanging.species, {}).get(week, [])
                others += self._read[at, week]
        found = remarkable(known, hanging, self.visits(visit.trap), visit, others)
        return "" if found is None else found.words(visit.count)

    # --- entering ----------------------------------------------------------------------------------------------------

    def asked(self, trap: str | None, state: RoundState, *, ask_stage: bool) -> Asked:
        """What an entry about a trap can say, and what stands already.

        Args:
            trap: The trap; None: the round is done.
            state: The round.
            ask_stage: Whether the stage is asked for where nobody has looked at it.
        """
        from roundtui.domain.round.agenda import found_choices, lure_choices, stage_choices
        from roundtui.domain.round.entry import Asked

        hanging = self.hanging(trap) if trap is not None else None
        if trap is None or hanging is None:
            return Asked(draft=Visit(trap=trap or "", read_on=self.on), finished=True)
        block = self.programme.blocks.get(hanging.block)
        seen = self.stage(hanging.block)
        return Asked(
            draft=Visit(trap=trap, read_on=self.on),
            lures=lure_choices(self.programme, hanging, self.on, self._lot_in(hanging), self._lot_used(hanging, state)),
            found=found_choices(self.programme, hanging),
            stages=stage_choices(block.crop) if block else (),
            stage_before=seen.code if seen else None,
            # Nobody has looked at it in this round.
            ask_stage=ask_stage and (seen is None or seen.seen_on < (state.started_on or self.on)),
            standing=self.standing(trap, state),
            theirs=self.theirs(trap),
        )

    def standing(self, trap: str, state: RoundState) -> Visit | None:
        """The entry that a further one about a trap would have to corrected; another scout's of today is not it."""
        from roundtui.domain.round.checks import same_scout

        own = [visit for visit in self._of_today(trap) if same_scout(visit.scout, self.scout)]
        if mine := [*own, *self.recounted(trap)]:
            return mine[-1]
        done = state.done.get(trap)
        return done if done is not None and done.read_on < self.on else None

    def recounted(self, trap: str) -> list[Visit]:
        """Recounts of a trap that whoever is at the keys made today."""
        from roundtui.domain.round.checks import same_scout

        today = (one for one in self.visits(trap) if one.read_on == self.on and one.recount)
        return [one for one in today if same_scout(one.scout, self.scout)]

    def theirs(self, trap: str) -> Visit | None:
        """What somebody else read at a trap today, the newest; None where nobody did."""
        from roundtui.domain.round.checks import same_scout

        newest = (one for one in reversed(self._of_today(trap)) if one.count is not None or one.no_reading)
        return next((one for one in newest if not same_scout(one.scout, self.scout)), None)

    def _of_today(self, trap: str) -> list[Visit]:
        return [visit for visit in self.visits(trap) if visit.read_on == self.on and not visit.recount]

    def problems(self, visit: Visit) -> tuple[Problem, ...]:
        """What makes an entry impossible."""
        from roundtui.domain.round.checks import check_visit

        same_day = read.same_day(self.conn, visit.trap, visit.read_on)
        return check_visit(replace(visit, scout=self.scout), self.programme, today=self.on, same_day=same_day, where="")

    def see_stage(self, now: TrapEntry) -> None:
        """Put the stage that was just answered on record. When this returns it is on the disk.

        Args:
            now: The entry above whose count it was answered; the entry itself is not recorded.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        from roundtui.store.record import journal

        hanging = self.programme.hanging(now.draft.trap, now.draft.read_on)
        if hanging is None:
            return
        before = self.stage(hanging.block)
        seen = now.seen(hanging.block, before)
        if seen is None:
            return
        self.changes += 1
        (recorded,) = journal.record(self.conn, [seen], self.author, self.clock())
        if before is None or before.seen_on <= recorded.seen_on:
            self._stages[hanging.block] = recorded

    def record(self, visits: Sequence[Visit]) -> tuple[Visit, ...]:
        """Put visits on record, all or none. When this returns they are on the disk.

        Args:
            visits: What was entered, checked before.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        from roundtui.store.record import journal

        recorded = journal.record(self.conn, visits, self.author, self.clock())
        self.changes += 1
        for visit in recorded:
            self._add(visit)
        return recorded

    def tell(self, notified: Sequence[Notified]) -> None:
        """Put on record who was told."""
        from roundtui.store.record import journal

        journal.record(self.conn, list(notified), self.author, self.clock())
        self.forget()

    def _add(self, visit: Visit) -> None:
        others = [one for one in self._visits.get(visit.trap, ()) if one.id != visit.replaces]
        self._visits[visit.trap] = sorted([*others, visit], key=lambda one: one.order)
        self._read = {key: found for key, found in self._read.items() if key[0] != visit.trap}
        if self.conn.execute("SELECT 1 FROM suspect_traps WHERE trap = ?", (visit.trap,)).fetchone():
            self._found = None

    def _lot_used(self, hanging: Trap, state: RoundState) -> str:
        """Lot of a trap's species that was put out last in a round; empty where none was."""
        own = {lot.lot for lot in self.programme.lots.values() if lot.species == hanging.species}
        used = [one for one in state.done.values() if one.lure in own]
        newest = max(used, key=lambda one: (str(one.recorded_at), one.id), default=None)
        return (newest.lure or "") if newest is not None else ""

    def _lot_in(self, hanging: Trap) -> str:
        """Lot of the lure in a trap, as far as it is on record."""
        for visit in reversed(self.visits(hanging.trap)):
            if visit.lure in self.programme.lots and hanging.hangs_on(visit.read_on):
                return visit.lure or ""
        service: Mapping[str, Visit] = self.history.last_service.get(hanging.trap, {})
        return (service["lot"].lure if "lot" in service else hanging.lot) or ""


@contextmanager
def reading_session(folder: Path, on: date) -> Iterator[Session]:
    """A session that only reads, for a thread or process of its own, in a folder that is open already.

    Args:
        folder: The scouting folder.
        on: The day to stand on.
    """
    with closing(open_store(folder, now=datetime.now(UTC))) as conn:
        yield Session(folder, conn, on=on, device="", office=partial(read_office, folder))


@contextmanager
def heeding(heed: Callable[[str], bool]) -> Iterator[None]:
    """Work in a thread that is told of, and can be stopped.

    Args:
        heed: As ``HEED``: told how far the work has come, says whether it is to stop.
    """
    before = HEED.set(heed)
    try:
        yield
    finally:
        HEED.reset(before)


def open_session(folder: Path, *, on: date | None, scout: str | None) -> tuple[Session, tuple[Problem, ...]]:
    """A session on a folder, with what kept newer set-up files from being loaded.

    Args:
        folder: The scouting folder.
        on: The day to stand on; None: today.
        scout: Who is at the keys; None: the one kept from before.

    Raises:
        RoundtuiError: The folder or its store cannot be used.
    """
    from roundtui.store.folder import open_folder
    from roundtui.store.record.lanes import device_name

    opened = open_folder(folder, now=datetime.now(UTC), daily_check=True, tolerant=True)
    day = on or date.today()  # noqa: DTZ011
    try:
        office = partial(read_office, folder)
        session = Session(folder, opened.conn, on=day, device=device_name(), office=office, scout=scout or "")
        return session, tuple(opened.problems)
    except BaseException:
        opened.conn.close()
        raise
