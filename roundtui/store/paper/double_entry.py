"""Two keyings of one paper sheet: what stands on record, what was keyed the second time, and what the paper shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.figures.summary import Consequence
from roundtui.domain.paper.double_entry import Comparison, Difference, KeyedRow, Statistics, compare, statistics
from roundtui.domain.paper.sheet import plainly_lured
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.rounds import OPEN_DAYS
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.domain.visits import Draft, Visit
from roundtui.errors import ProblemsError
from roundtui.store import read
from roundtui.store.paper import sheets
from roundtui.store.round.changes import tried_out

if TYPE_CHECKING:
    from roundtui.store.session import Session


@dataclass(frozen=True, slots=True)
class Keyer:
    """One of the two keyings."""

    who: str
    """Who keyed it; several names where there were several."""
    found: Statistics
    """How it went."""


class TwoKeyings:
    """A sheet on record, held against its second keying.

    Args:
        session: Who, where and when.
        route: Name of the sheet's route.
    """

    def __init__(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.read_anew()

    def read_anew(self) -> None:
        """Hold the two against each other as they stand on the disk."""
        session = self.session
        state = session.round_of(self.route)
        since = state.started_on or session.on - timedelta(days=OPEN_DAYS)
        self._since, self._traps = since, state.traps
        visits = [
            visit
            for trap in state.traps
            for visit in session.visits(trap)
            if since <= visit.read_on <= session.on and not visit.recount
        ]
        visits.sort(key=lambda visit: (str(visit.recorded_at), visit.id))
        seconds = sheets.second_rows(session.conn, self.route, since, session.on)
        newest = {(row.trap, row.read_on): row for row in seconds}
        self.first = [self._keyed(visit) for visit in visits]
        self.second = [
            replace(row.keyed, draft=self._lured(row.draft, row.trap, row.read_on))
            for row in seconds
            if newest[(row.trap, row.read_on)] is row
        ]
        self.found: Comparison = compare(self.first, self.second)
        self._settlements = sheets.settlements(session.conn, self.route, since, session.on)
        self.settled = {(one.entry, one.keying): one for one in self._settlements}
        """What was settled, by the entry and the second row that it left."""
        self.names = (_names(visit.scout for visit in visits), _names(row.scout for row in seconds))

    @property
    def open(self) -> tuple[Difference, ...]:
        """Differences nobody settled yet."""
        return tuple(one for one in self.found.differences if _ids(one) not in self.settled)

    @property
    def differed(self) -> int:
        """Rows on which the two keyings disagreed, those settled since included."""
        return len(self.open) + len(self._settled_places())

    @property
    def settled_words(self) -> str:
        """How the differences were settled, in words."""
        kept = list(self._settled_places().values())
        return ", ".join(f"{kept.count(one)} {words}" for one, words in _SHORT.items() if one in kept) or "none yet"

    def _settled_places(self) -> dict[tuple[str, date], str]:
        """What holds, by trap and day; of two words on one the later."""
        still_open = {(one.row.trap, one.row.read_on) for one in self.open}
        places = {(one.trap, one.read_on): one.kept for one in self._settlements}
        return {place: kept for place, kept in places.items() if place not in still_open}

    @property
    def keyers(self) -> tuple[Keyer, Keyer]:
        """Who keyed, and how it went. Keys of the first are the fewest that could have typed it."""
        return (
            Keyer(self.names[0], statistics(self._as_first_keyed())),
            Keyer(self.names[1], statistics(self.second)),
        )

    def _as_first_keyed(self) -> list[KeyedRow]:
        """The entries before any correction, in the order recorded."""
        rows = read.journal_rows(self.session.conn, self._since, self.session.on, frozenset(self._traps), frozenset())
        entries = [row.entry for row in rows if isinstance(row.entry, Visit)]
        return [self._keyed(entry) for entry in entries if entry.replaces is None and not entry.recount]

    def changes(self, difference: Difference, kept: str, typed: Draft | None = None) -> list[Consequence]:
        """What settling a difference changes that is to be said first.

        Args:
            difference: The difference.
            kept: first, second, neither or none.
            typed: What the paper shows where neither is right.

        Raises:
            RoundtuiError: It cannot be settled so.
        """
        row = difference.row
        found = tried_out(self.session, lambda: self._settle(difference, kept, typed), {row.read_on}, {row.trap})
        return [one for one in found if one.needs_a_word]

    def settle(self, difference: Difference, kept: str, typed: Draft | None = None) -> None:
        """Put on record what the paper shows, and who looked.

        Args:
            difference: The difference.
            kept: first, second, neither or none.
            typed: What the paper shows where neither is right.

        Raises:
            RoundtuiError: It cannot be settled so; nothing was changed.
        """
        self._settle(difference, kept, typed)
        self.session.forget()
        self.read_anew()

    def _settle(self, difference: Difference, kept: str, typed: Draft | None) -> None:
        session = self.session
        standing, keying = _ids(difference)
        row = {"first": difference.first, "second": difference.second}.get(kept, difference.row)
        draft = typed if kept == "neither" else row.draft if row is not None and kept != "none" else None
        holds = self._visit(difference, draft, standing) if draft is not None and kept != "first" else None
        sheets.settle(
            session.conn,
            sheets.Sheet(self.route, session.on),
            (difference.row.trap, difference.row.read_on),
            standing=standing,
            keying=keying,
            holds=holds,
            kept=kept,
            why=f"two entries compared with the paper by {session.scout}: {_WHY[kept]}",
            author=session.author,
            now=session.clock(),
        )

    def _visit(self, difference: Difference, draft: Draft, standing: str | None) -> Visit:
        session, row = self.session, difference.row
        visit = as_registered(
            draft.visit(row.trap, row.read_on, scout=session.scout, replaces=standing), session.programme
        )
        there = read.same_day(session.conn, row.trap, row.read_on)
        problems = check_visit(visit, session.programme, today=session.on, same_day=there, where="")
        if problems:
            raise ProblemsError(str(problems[0]), problems, "look at the paper again, or settle it another way")
        return visit

    def _keyed(self, visit: Visit) -> KeyedRow:
        draft = draft_of(visit)
        return KeyedRow(
            trap=visit.trap,
            read_on=visit.read_on,
            draft=self._lured(draft, visit.trap, visit.read_on),
            at=visit.recorded_at,
            keys=len(format_tally(draft).replace(" ", "")) + 1,
            id=visit.id,
        )

    def _lured(self, draft: Draft, trap: str, on: date) -> Draft:
        programme = self.session.programme
        return plainly_lured(draft, programme, programme.hanging(trap, on), on)


_WHY = {
    "first": "the first holds",
    "second": "the second holds",
    "neither": "neither holds",
    "none": "no such row",
}

_SHORT = {"first": "first", "second": "second", "neither": "neither", "none": "no such row"}


def _ids(difference: Difference) -> tuple[str | None, str | None]:
    first, second = difference.first, difference.second
    return (first.id if first else None, second.id if second else None)


def _names(scouts: Iterable[str]) -> str:
    return ", ".join(sorted(set(scouts), key=natural_key))
