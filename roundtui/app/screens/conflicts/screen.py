"""Entries that cannot both hold, side by side; one key says which does."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual import events
from textual.content import Content
from textual.widgets import Static

from roundtui.app.changes import once_each
from roundtui.app.keys import APP, CONFLICTS, bindings, footer
from roundtui.app.screens.conflicts import view as conflict_lines
from roundtui.app.widgets.texts import TextsScreen
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.recorded import Withdrawal
from roundtui.domain.text import plain
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store import journal, read
from roundtui.store.chains import chain
from roundtui.store.round.conflicts import OpenConflict, open_conflicts, settle
from roundtui.store.round.effects import effects
from roundtui.store.set_up.conflicts import open_rows

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session

LIST_LINES = 4
OPENING_SECONDS = 0.3
"""A key that comes sooner after a conflict is shown was meant for the one before. [s]"""


class ConflictsScreen(TextsScreen[None]):
    """Open conflicts; the marked one is shown in full.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "entries", "choices", "keys")
    BINDINGS = bindings(CONFLICTS)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.marked = 0
        self.recounts = False
        self.said = ""
        """What was settled just before; it stands in place of the keys until the next one."""
        self.open: tuple[OpenConflict, ...] = open_conflicts(session.conn, session.programme)
        self.rows = open_rows(session.conn)
        """Set-up rows that differ, which have a screen of their own."""
        self.shown_at = 0.0
        self._effects: list[tuple[str, tuple[Consequence, ...]]] = []

    def _begin(self) -> None:
        self._look()

    def on_screen_resume(self) -> None:
        """Set-up rows may have been settled meanwhile."""
        self.rows = open_rows(self.session.conn)
        if self.is_mounted:
            self._show()

    @property
    def conflict(self) -> OpenConflict | None:
        """The one that is marked; None where none is open."""
        return self.open[self.marked] if self.open else None

    def action_mark(self, step: int) -> None:
        """Another conflict."""
        self.said = ""
        self.marked = max(0, min(len(self.open) - 1, self.marked + step))
        self._look()

    async def action_set_up(self) -> None:
        """Set-up rows that another laptop has otherwise."""
        await cast("RoundtuiApp", self.app).open_set_up_rows()

    def action_recounts(self) -> None:
        """What becomes of the others."""
        self.recounts = not self.recounts
        self._look()

    def on_key(self, event: events.Key) -> None:
        """A digit keeps the entry of that number."""
        conflict = self.conflict
        if conflict is None or event.character is None or not event.character.isdecimal():
            return
        event.stop()
        at = int(event.character)
        if 0 < at <= len(conflict.entries):
            self._settle(at)

    def action_none(self) -> None:
        """None of them holds."""
        if self.conflict is not None:
            self._settle(None)

    def _settle(self, keep: int | None) -> None:
        conflict, session = self.conflict, self.session
        if conflict is None or session.ticks() - self.shown_at < OPENING_SECONDS:
            return
        try:
            if not session.scout:
                raise RefusedError("your name is not known", "enter your name at the desk first")
            self._try(conflict, keep)
            session.forget()
            self.open = open_conflicts(session.conn, session.programme)
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("Not settled", error)
            self.open = open_conflicts(session.conn, session.programme)
        else:
            kept = f"{keep} is kept" if keep else "none is kept"
            self.said = f"Settled by {plain(session.scout, 24)}: {conflict_lines.place(conflict)}, {kept}"
        self.marked = max(0, min(self.marked, len(self.open) - 1))
        self._look()

    def _try(self, conflict: OpenConflict, keep: int | None) -> None:
        entry = None if keep is None else conflict.entries[keep - 1].entry
        author = journal.Author(self.session.scout or "?", self.session.device)
        kept = None if isinstance(entry, Withdrawal) else entry
        settle(self.session.conn, conflict, kept, author, self.session.clock(), recounts=self.recounts)

    def _look(self) -> None:
        """What each choice would change, tried out and taken back."""
        self._effects = []
        conflict, session = self.conflict, self.session
        if conflict is not None:
            days = {row.read_on for row in conflict.entries} | {session.on}
            newest = read.newest_read_on(session.conn)
            days |= {newest} if newest is not None and newest <= session.on else set()
            traps = {row.trap for row in conflict.entries if row.trap}
            try:
                for keep in (*range(1, len(conflict.entries) + 1), None):
                    found = effects(
                        session.conn,
                        session.folder,
                        session.office,
                        lambda keep=keep: self._try(conflict, keep),  # type: ignore[misc]
                        days=days,
                        traps=traps,
                    )
                    self._effects.append((f"[{keep or 'x'}]" + ("" if keep else " none holds"), once_each(found)))
            except RoundtuiError as error:
                cast("RoundtuiApp", self.app).show_error("What it changes is not known yet", error)
        self.shown_at = session.ticks()
        self._show()

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        differing = f", {len(self.rows)} set-up rows differ: u" if self.rows else ""
        session, conflict = self.session, self.conflict
        head = (
            f" Conflicts   {len(self.open)} open{differing}   who settles: {plain(session.scout, 24) or 'nobody named'}"
        )
        self._put("head", Content(plain(head, width)))
        lines = max(1, min(LIST_LINES if height < 30 else 2 * LIST_LINES, len(self.open)))
        self._put("list", conflict_lines.listed(self.open, self.marked, width, lines))
        entries = choices = Content("")
        if conflict is not None:
            came_from = [row for one in conflict.entries for row in chain(session.conn, one.id)]
            entries = conflict_lines.side_by_side(conflict, came_from, width)
            left = height - 4 - lines - str(entries).count("\n") - 1
            choices = conflict_lines.choices(
                conflict, self._effects, recounts=self.recounts, size=(width, max(3, left))
            )
        self._put("entries", entries)
        self._put("choices", choices)
        keys = f" {self.said}" if self.said else f" {footer(CONFLICTS)}  {footer(APP)}"
        self._put("keys", Content.styled(plain(keys, width), "bold" if self.said else ""))

    def _put(self, part: str, words: Content) -> None:
        self.query_one(f"#{part}", Static).update(words)

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss()
