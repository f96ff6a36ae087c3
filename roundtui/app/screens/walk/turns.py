"""What a lure that was found changes, worked out while the entry is keyed; nothing is read until a lure is found.

Whose turn it is in a round, and what is asked there: what the Walk knows without a widget.
What a round's keys open beside the count: what else was in the trap, an estimate, a treatment told of.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from roundtui.domain.programme.rounds import last_recorded, neighbour, next_trap
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.round.entry import Asked, Keying, Mode, Want, begin, correction
from roundtui.domain.round.recounts import asked_in
from roundtui.domain.text import plain
from roundtui.domain.visits import Visit
from roundtui.errors import RoundtuiError
from roundtui.report.figures.changes import found_mark, found_words
from roundtui.store.figures.found_lures import found_lure

if TYPE_CHECKING:
    from textual.screen import Screen

    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.domain.figures.found_lures import FoundChange, FoundLure
    from roundtui.domain.programme.rounds import RoundState
    from roundtui.domain.round.entry import Keying

UNKNOWN = "what this changes is not known yet: the summary will show it"
"""Said where the record cannot be looked at; the entry goes on all the same."""


class FoundLook:
    """Looks at the lures found in a round. The record is looked at once for each find, and for no other entry.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._key: tuple[object, ...] = ()
        self._lure: FoundLure | None = None

    def words(self, visit: Visit) -> str:
        """What an entry that found a lure would change, for the line under the field.

        Args:
            visit: The entry as it would be recorded.
        """
        change = self._change(visit)
        return found_words(change) if change is not None else UNKNOWN

    def mark(self, visit: Visit) -> str:
        """The same in the few words that the next prompt has room for; empty where it changes nothing."""
        change = self._change(visit)
        return found_mark(change) if change is not None else UNKNOWN

    def _change(self, visit: Visit) -> FoundChange | None:
        session = self.session
        # Count, reason and other flags may change with every key; what was found, put in and hung is looked at once.
        key = (session.changes, visit.trap, visit.read_on, visit.lure_found, visit.lure, visit.body, visit.replaces)
        try:
            if self._lure is None or key != self._key:
                self._lure = found_lure(
                    session.conn,
                    session.programme,
                    session.history,
                    session.office,
                    on=session.on,
                    visit=visit,
                    visits=session.present_visits,
                )
                self._key = key
            return self._lure.change(visit)
        except RoundtuiError:
            return None


class WalkTurns:
    """A round under way. It draws nothing; the screen of the round is one of these."""

    def _set_out(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.state = self.session.round_of(route)
        self.asked_again = frozenset(asked_in(route, self.state, session.on))
        """Traps that somebody else is asked to count a second time."""
        self.home: str | None = next_trap(self.state, None)
        """Trap whose turn it is; None: the round is done."""
        self.at = self.home
        """Trap that is shown."""
        self.recorded: tuple[Visit | None, Visit | None] = (last_recorded(self.state), None)
        """Entry made just before, and the one it set right."""
        self.unlikely = self._slip()
        self.found = ""
        """What the lure found on the entry just before has changed."""
        self._found_look: FoundLook | None = None
        self.declined: set[str] = set()
        """Blocks in which an entry was made with the stage line in sight and unanswered."""
        self.now: Keying = begin(self._asked())

    @property
    def _here(self) -> str | None:
        """The trap that somebody stands at: when the round is done, the one recorded last."""
        last = self.recorded[0]
        return self.at if self.at is not None or last is None else last.trap

    def _read_anew(self) -> None:
        """Something else may have written: what is shown next comes from the disk."""
        try:
            self.session.forget()
            self.state = self.session.round_of(self.route)
        except RoundtuiError:
            return

    def _passed(self, trap: str) -> str:
        """A word when the way goes back to traps that were passed over."""
        upcoming = next_trap(self.state, trap)
        if upcoming is None or trap not in self.state.traps:
            return ""
        back = self.state.traps.index(upcoming) < self.state.traps.index(trap)
        return "Back to a trap that was skipped" if back else ""

    def _turn(self, trap: str | None, passed: str = "") -> None:
        self.home = trap if trap is None or trap not in self.state.done else next_trap(self.state, None)
        self._ask(self.home, passed)

    def _ask(self, trap: str | None, said: str = "", *, looked: bool = False, went: bool = False) -> None:
        self.at = trap
        self.now = begin(self._asked(ask_stage=went or trap == self.home), said, looked=looked)

    def _look(self, step: int, said: str) -> None:
        beside = neighbour(self.state, self.at, step)
        if beside is None and not (step > 0 and self.home is None and self.at is not None):
            end = "the first" if step < 0 else "the last"
            self._ask(self.at, said or f"This is {end} trap of the round", looked=True)
            return
        self._ask(beside, said, looked=True)

    def _go_to(self, now: Keying) -> None:
        label = in_case(now.line.strip(), self.state.traps)
        if label in self.state.traps:
            self._ask(label, now.said, went=True)
            return
        known = label in self.session.programme.hangings
        hint = "it is not on this round" if known else nearest(label, self.state.traps) or "see the labels left below"
        self._say(f"Not gone: {plain(label, 20)}, {hint}" if known else f"No trap {plain(label, 20)}: {hint}")

    def _set_right(self, now: Keying) -> None:
        old = last_recorded(self.state, now.asked.old)
        if old is None:
            earlier = "No earlier entry in this round" if now.asked.old else "Nothing recorded in this round yet"
            self._say(earlier)
            return
        self.at = old.trap
        day = "" if old.read_on == self.session.on else f" of {old.read_on.isoformat()}"
        said = now.said or f"Correcting {old.trap}{day}: type the right value, Escape goes on"
        self.now = saying(correction(self._asked(), old), said)

    def _asked(self, *, ask_stage: bool = True) -> Asked:
        hanging = self.session.hanging(self.at) if self.at is not None else None
        declined = hanging is not None and hanging.block in self.declined
        return self.session.asked(self.at, self.state, ask_stage=ask_stage and not declined)

    def _slip(self) -> str:
        return self.session.slip(self.recorded[0]) if self.recorded[0] else ""

    def _look_at_found(self) -> FoundLook:
        """What looks at lures found, made when the first one is."""
        if self._found_look is None:
            self._found_look = FoundLook(self.session)
        return self._found_look

    def _found_words(self) -> str:
        visit = self.now.visit
        if visit.lure_found is None or self.now.mode is not Mode.COUNT:
            return ""
        return self._look_at_found().words(visit)

    def _say(self, words: str) -> None:
        self.now = saying(self.now, words)


def saying(now: Keying, words: str) -> Keying:
    """An entry with a word under its field, and nothing wanted of the screen.

    Args:
        now: The entry.
        words: The word.
    """
    return replace(now, said=words, want=Want.NOTHING)


def open_specimen(
    screen: Screen[None], session: Session, state: RoundState, now: Keying, done: Callable[[str | None], None]
) -> None:
    """Ask what else was in the trap that is shown.

    Args:
        screen: The round.
        session: Who, where and when.
        state: How far the round has come.
        now: The entry under way.
        done: Told what is on record now, in a few words, or None where nothing was recorded.
    """
    from roundtui.app.dialogs.specimen import SpecimenDialog
    from roundtui.app.screens.vials.specimens import SpecimenDesk

    trap = now.draft.trap
    standing = now.asked.old or now.asked.standing or state.done.get(trap)
    typed = int(now.text) if now.text else None
    day = standing.read_on if standing is not None else now.draft.read_on
    dialog = SpecimenDialog(SpecimenDesk(session), trap, day, typed)
    cast("RoundtuiApp", screen.app).push_screen(dialog, done)


def open_treatment(
    screen: Screen[None], session: Session, trap: str | None, done: Callable[[str | None], None]
) -> None:
    """Ask for a treatment of this block that the grower spoke of.

    Args:
        screen: The round.
        session: Who, where and when.
        trap: The trap whose block it is; None: block and species are typed.
        done: Told what is on record now, in a few words, or None where nothing was recorded.
    """
    from roundtui.app.dialogs.treatment import TreatmentDialog

    hanging = session.hanging(trap) if trap is not None else None
    block, species = (hanging.block, hanging.species) if hanging is not None else ("", "")
    cast("RoundtuiApp", screen.app).push_screen(TreatmentDialog(session, block, species), done)


def open_grid(
    screen: Screen[None], session: Session, now: Keying, done: Callable[[tuple[int, str] | None], None]
) -> None:
    """Ask for the squares of a grid.

    Args:
        screen: The round.
        session: Who, where and when.
        now: The entry under way.
        done: Told the count and the note about it, or None.
    """
    from roundtui.app.dialogs.grid import GridDialog

    cast("RoundtuiApp", screen.app).push_screen(GridDialog(session, plain(now.draft.trap, 20)), done)
