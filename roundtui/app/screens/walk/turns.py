"""Whose turn it is in a round, and what is asked there: what the Walk knows without a widget."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.programme.rounds import asked_in, last_recorded, neighbour, next_trap
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.round.entry import Asked, Mode, TrapEntry, Want, ask_for, begin, correction
from roundtui.domain.text import sanitize, spoken_day

if TYPE_CHECKING:
    from collections.abc import Callable

    from roundtui.domain.figures.found_lures import FoundChange
    from roundtui.domain.programme.farm import Trap
    from roundtui.store.figures.found_lures import FoundInRound
    from roundtui.store.session import Session

UNKNOWN = "what this changes is not known yet: the summary will show it"
"""Said where the record cannot be looked at; the entry goes on all the same."""


class WalkedRound:
    """A round under way: whose turn it is, and what is asked there. It draws nothing.

    Args:
        session: Who, where and when.
        route: Name of the route.
    """

    def __init__(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.state = self.session.round_of(route)
        resumed = self._resume()
        self.asked_again = frozenset(asked_in(route, self.state, session.on))
        """Traps that somebody else is asked to count a second time."""
        self.home: str | None = next_trap(self.state, None)
        """Trap whose turn it is; None: the round is done."""
        self.at = self.home
        """Trap that is shown."""
        self.recorded: tuple[Visit | None, Visit | None] = (last_recorded(self.state), None)
        """Entry made just before, and the one it corrected."""
        self.unlikely = self.slip()
        self.found = ""
        """What the lure found on the entry just before has changed."""
        self._finds: FoundInRound | None = None
        self.declined: set[str] = set()
        """Blocks in which an entry was made with the stage line in sight and unanswered."""
        self.now: TrapEntry = begin(self._asked(), resumed)

    @property
    def place(self) -> tuple[str, str]:
        """Block and species of the trap that somebody stands at: when the round is done, of the one recorded last."""
        last = self.recorded[0]
        here = self.at if self.at is not None or last is None else last.trap
        hanging = self.hanging(here)
        return (hanging.block, hanging.species) if hanging is not None else ("", "")

    def _resume(self) -> str:
        """A round under way is gone on with by whoever walks it, unless somebody said who is at the keys."""
        last, session = last_recorded(self.state), self.session
        begun = last is not None and bool(self.state.left) and last.device == session.device
        if last is None or not begun or session.said_who or last.scout in ("", session.scout):
            return ""
        # Rows of a tally file share one instant, and nobody walks them; of a walk only a closed farm has such rows.
        at_once = [one for one in self.state.done.values() if one.recorded_at == last.recorded_at]
        if len(at_once) > 1 and last.no_reading is not NoReading.CLOSED:
            return ""
        session.scout = last.scout
        return f"Going on as {sanitize(last.scout, 40)}, who walks this round. F6: somebody else"

    def asked_anew(self) -> None:
        """What is asked at this trap, from what is on record now; what is typed stays."""
        asked = self._asked()
        self.now = replace(self.now, asked=replace(asked, draft=self.now.asked.draft, old=self.now.asked.old))

    def passed(self, trap: str) -> str:
        """A word when the way goes back to traps that were passed over."""
        upcoming = next_trap(self.state, trap)
        if upcoming is None or trap not in self.state.traps:
            return ""
        if upcoming in self.state.later and trap not in self.state.later:
            return "All that are due are read. s: summary; a count here is taken all the same"
        back = self.state.traps.index(upcoming) < self.state.traps.index(trap)
        return "Back to a trap that was skipped" if back else ""

    def turn(self, trap: str | None, passed: str = "") -> None:
        """It is a trap's turn; None: the round is done."""
        self.home = trap if trap is None or trap not in self.state.done else next_trap(self.state, None)
        self.ask(self.home, passed)

    def ask(self, trap: str | None, said: str = "", *, looked: bool = False, went: bool = False) -> None:
        """Ask for the entry of a trap."""
        self.at = trap
        self.now = begin(self._asked(ask_stage=went or trap == self.home), said, looked=looked)

    def look(self, step: int, said: str) -> None:
        """Look at the trap before or after."""
        trap = neighbour(self.state, self.at, step)
        if trap is None and not (step > 0 and self.home is None and self.at is not None):
            trap, said = self.at, said or f"This is {'the first' if step < 0 else 'the last'} trap of the round"
        self.ask(trap, said, looked=True)

    def go_to(self, now: TrapEntry) -> None:
        """Go to the trap whose label was typed."""
        label = in_case(now.line.strip(), self.state.traps)
        if label in self.state.traps:
            self.ask(label, now.said, went=True)
            return
        known = label in self.session.programme.hangings
        hint = "it is not on this round" if known else nearest(label, self.state.traps) or "see the labels left below"
        self.say(f"Not gone: {sanitize(label, 20)}, {hint}" if known else f"No trap {sanitize(label, 20)}: {hint}")

    def corrected(self, now: TrapEntry) -> None:
        """Fix the entry recorded last, or the one before the one under correction."""
        again = (one for trap in self.state.traps for one in self.session.recounted(trap))
        old = last_recorded(self.state, now.asked.old, again)
        if old is None:
            earlier = "No earlier entry in this round" if now.asked.old else "Nothing recorded in this round yet"
            self.say(earlier)
            return
        self.at = old.trap
        day = "" if old.read_on == self.session.on else f" of {spoken_day(old.read_on, self.session.on)}"
        said = f"Correcting {old.trap}{day}: type the right value, u withdraws it, Escape goes on"
        self.now = ask_for(correction(self._asked(), old), Want.NOTHING, ". ".join(filter(None, (now.said, said))))

    def _asked(self, *, ask_stage: bool = True) -> Asked:
        hanging = self.hanging(self.at)
        declined = hanging is not None and hanging.block in self.declined
        return self.session.asked(self.at, self.state, ask_stage=ask_stage and not declined)

    def slip(self) -> str:
        """What the count made just before may be a slip for; empty where it is likely."""
        return self.session.slip(self.recorded[0]) if self.recorded[0] else ""

    def _change(self, visit: Visit, words: str) -> str:
        if visit.lure_found is None:
            return ""
        from roundtui.report.figures import changes

        if self._finds is None:
            from roundtui.store.figures.found_lures import FoundInRound

            self._finds = FoundInRound(self.session)
        change = self._finds.change(visit)
        said: Callable[[FoundChange], str] = getattr(changes, words)
        return UNKNOWN if change is None else said(change)

    def found_words(self) -> str:
        """What the lure that was found would change, for the line under the field; empty where none was."""
        return self._change(self.now.visit, "found_words") if self.now.mode is Mode.COUNT else ""

    def found_mark(self, visit: Visit) -> str:
        """The same in the few words that the next prompt has room for; empty where it changes nothing."""
        return self._change(visit, "found_mark")

    def rest_of_farm(self) -> tuple[str, ...]:
        """Traps of this farm that nobody has read yet, the one on the screen apart."""
        here = self.farm(self.at)
        left = (trap for trap in self.state.left if trap != self.at and trap not in self.state.later)
        return tuple(trap for trap in left if self.farm(trap) == here and self.session.theirs(trap) is None)

    def hanging(self, trap: str | None) -> Trap | None:
        """Where a trap hangs."""
        return self.session.hanging(trap) if trap is not None else None

    def block(self, trap: str | None) -> str:
        """Code of the block that a trap hangs in; empty where it does not hang."""
        hanging = self.hanging(trap)
        return hanging.block if hanging is not None else ""

    def farm(self, trap: str | None) -> str:
        """Code of its farm."""
        return self.session.programme.farm_of(self.block(trap))

    def say(self, words: str) -> None:
        """A word to the person at the keys."""
        self.now = ask_for(self.now, Want.NOTHING, words)
