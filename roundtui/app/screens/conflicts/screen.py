"""Entries that cannot both hold, side by side; one key says which does."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import inf

from textual.content import Content

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.screens.conflicts import view
from roundtui.app.threads import OPENING_SECONDS
from roundtui.app.widgets.board import listed, rule
from roundtui.domain.entries import Visit
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.round.walk import read_before
from roundtui.domain.text import sanitize, spoken_day
from roundtui.report.figures.changes import consequence_words
from roundtui.store.round.changes import Conflicts
from roundtui.store.round.conflicts import OpenConflict
from roundtui.store.session import Session
from roundtui.store.set_up.register import DifferingRows

CONFLICTS = keys_of("desk", "conflicts")
LEAST_MAP = 8
"""Lines below the choices from which the block is drawn there. [lines]"""


class ConflictsScreen(ListScreen[None]):
    """Open conflicts; the marked one is shown in full.

    Args:
        session: Who, where and when.
    """

    STOPPED = "The conflicts cannot be listed"
    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "entries", "choices", "keys")
    KEYS = CONFLICTS

    def __init__(self, session: Session, marked: int = 0) -> None:
        super().__init__(session)
        self.marked = marked
        self.recounts = False
        self.conflicts = Conflicts(session)
        self.rows = DifferingRows(session)
        """Set-up rows that differ, which have a screen of their own."""
        self._effects: list[tuple[str, tuple[Consequence, ...]]] = []

    def _begin(self) -> None:
        self.read_record("list", partial(self.say, ""))

    def on_screen_resume(self) -> None:
        """Set-up rows may have been settled meanwhile."""
        self.rows.read()
        if self.is_mounted:
            self._show()

    def _rows(self) -> Sequence[OpenConflict]:
        return self.conflicts.open

    def idle(self) -> str:
        """Set-up rows that agree need no screen."""
        return "" if self.rows.open else "set-up"

    async def action_set_up(self) -> None:
        """Set-up rows that another laptop has otherwise."""
        await self.open_screen("set_up_rows")

    def action_recounts(self) -> None:
        """What becomes of the others."""
        self.recounts = not self.recounts
        self.say("")

    def _choices(self) -> int:
        return len(self.row.entries) if self.row is not None else 0

    def action_none(self) -> None:
        """None of them holds."""
        self._choose(None)

    def _choose(self, keep: int | None, /) -> None:
        """Keep the entry of that number, or none: what that changes, then yes or no."""
        conflict: OpenConflict | None = self.row
        if conflict is None or self.session.ticks() - self.shown_at < OPENING_SECONDS:
            return
        effects = next((found for key, found in self._effects if key.startswith(f"[{keep or 'x'}]")), ())
        others = "are kept as recounts" if self.recounts else "are withdrawn"
        title = f"{view.place(conflict, self.session.on)}: keep {keep}, the others {others}?" if keep else ""
        said = [(consequence_words(one), one.needs_a_word) for one in effects]
        self.ask(
            title or f"{view.place(conflict, self.session.on)}: withdraw them all?",
            said or [("No figure changes.", False)],
            lambda: self._settle(conflict, keep),
        )

    def _settle(self, conflict: OpenConflict, keep: int | None) -> None:
        said = ""
        with self.saying("Not settled"):
            self.conflicts.settle(conflict, keep, recounts=self.recounts)
            kept = f"{keep} is kept" if keep else "none is kept"
            said = f"Settled by {sanitize(self.session.scout, 24)}: {view.place(conflict, self.session.on)}, {kept}"
        self.read_record("list", partial(self.say, said))

    def say(self, words: str) -> None:
        """Show the conflict at once, and then what each choice would change; until that stands no key chooses."""
        self._effects, self.shown_at = [], inf
        super().say(words)
        self.tell(words)
        if (conflict := self.row) is not None:
            work = partial(self._try_out, conflict, recounts=self.recounts)
            self.call_after_refresh(self.aside, "effects", work, self._have, "What it changes is not known yet")

    def _try_out(self, conflict: OpenConflict, *, recounts: bool) -> list[tuple[str, tuple[Consequence, ...]]]:
        """What each choice would change, tried out and withdrawn; for a thread."""
        return [
            (f"[{keep or 'x'}]" + ("" if keep else " none"), self.conflicts.effects(conflict, keep, recounts=recounts))
            for keep in (*range(1, len(conflict.entries) + 1), None)
        ]

    def _have(self, effects: list[tuple[str, tuple[Consequence, ...]]]) -> None:
        self._effects, self.shown_at = effects, self.session.ticks()
        self._show()

    def _map(self, of: Visit, size: tuple[int, int]) -> list[str]:
        """The block of a trap that was read, with what each trap in it caught in that week."""
        from roundtui.report.maps import block_map, spots

        session, (width, height) = self.session, size
        hanging = session.programme.hanging(of.trap, of.read_on)
        if hanging is None:
            return []
        found = spots(session.programme, session.present_history, of.read_on, {hanging.block})
        title = f"{sanitize(hanging.block, 12)}, catch of the week to {spoken_day(of.read_on, session.on)}; · not read"
        return [rule(title, width), *block_map(found, width, height)]

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.height
        differing = f", {len(self.rows.open)} set-up rows differ: Tab" if self.rows.open else ""
        if not self.have_read.is_set():
            return
        conflict: OpenConflict | None = self.row
        self.put_head(f"Conflicts   {len(self.conflicts.open)} open{differing}")
        lines = max(1, min(4 if height < 30 else 8, len(self.conflicts.open)))
        rows = [view.line(one, self.session.on) for one in self.conflicts.open]
        self.put("list", listed(rows, self.marked, (width, lines), str, "  No conflict is open."))
        entries = choices = Content("")
        if conflict is not None:
            came_from = [row for one in conflict.entries for row in self.session.chain_of(one.id)]
            first = conflict.entries[0].entry
            before = read_before(self.session.visits(first.trap), first.read_on) if isinstance(first, Visit) else []
            entries = view.side_by_side(conflict, came_from, before[: width // 17], width)
            left = height - 5 - lines - str(entries).count("\n") - 1
            choices = view.choices(conflict, self._effects, recounts=self.recounts, size=(width, max(3, left)))
            if self.shown_at == inf:
                choices = Content("  Working out what each choice would change …")
            room = left - str(choices).count("\n") - 3
            if isinstance(first, Visit) and room >= LEAST_MAP:
                choices += Content("\n".join(["", "", *self._map(first, (width, room))]))
        self.put("entries", entries)
        self.put("choices", choices)
