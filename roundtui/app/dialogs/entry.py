"""About one entry: typed anew or withdrawn with a reason, and questions asked, answered and closed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC
from textwrap import wrap
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Static

from roundtui.app.dialogs.form import WIDTH, FormDialog
from roundtui.app.screen import RoundtuiScreen
from roundtui.domain.entries import SetUpChanged, StageSeen, TreatmentSaid, Visit
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.round.recounts import QuestionWord, Talk
from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.domain.round.walk import in_words, work_done
from roundtui.domain.text import listed, sanitize, spoken_days
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.report.figures.changes import consequence_words
from roundtui.report.round.replay import history_lines
from roundtui.store.record.read import JournalRow
from roundtui.store.round import changes
from roundtui.store.session import Session

_OTHER_LINES = 17
_TALK_LINES = 8
NO_EFFECT = "It changes no status, warning, biofix or figure."


class ChangeDialog(FormDialog[str | None]):
    """Lines for trap, day, entry and reason; what saving changes is said before it is accepted.

    Args:
        session: Who, where and when.
        row: The entry that stands.
        withdraw: Withdraw it, instead of typing it anew.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "f5", "revert", "earlier entry back", id="change.revert", tooltip="Whether the earlier entry comes back."
        )
    ]

    def __init__(self, session: Session, row: JournalRow, *, withdraw: bool) -> None:
        self._session = session
        self._row = row
        self._withdraw = withdraw
        self._puts_back = row.entry.replaces is not None
        self._history = [spoken_days(one, session.on) for one in history_lines(session.chain_of(row.id))]
        day, fields = ("day", "Day", str(row.read_on)), [("reason", "Reason", "")]
        if withdraw:
            self.HINT = self._returns()
        elif isinstance(row.entry, Visit):
            self.HINT = "As on paper: 4 l r, 0, x m, 12 c n:half under leaves"
            entry = ("entry", "Entry", format_tally(draft_of(row.entry)))
            fields = [("trap", "Trap", row.entry.trap), day, entry, *fields]
        else:
            fields = [day, ("entry", "Stage", row.entry.code if isinstance(row.entry, StageSeen) else ""), *fields]
        self.FIRST = "reason" if withdraw else "entry"
        title = f"{'Withdraw' if withdraw else 'Correct'} {row.kind} of {_place(row)}, {row.read_on}"
        super().__init__(session.ticks, title, fields, Static(id="chain", markup=False))

    def on_mount(self) -> None:
        """What the entry said, the newest whole, and as much before as there is room for."""
        room = max(2, self.app.size.height - _OTHER_LINES)
        lines = [
            wrap(one, self.room, subsequent_indent="    ", max_lines=room, placeholder=" …") for one in self._history
        ]
        first = next((at for at in range(len(lines)) if sum(map(len, lines[at:])) + bool(at) <= room), len(lines) - 1)
        shown = [f"and {first} before"] if first else []
        self.query_one("#chain", Static).update("\n".join(sum(lines[first:], shown)))

    def _returns(self) -> str:
        if self._row.entry.replaces is None:
            return ""
        what = "the entry it had replaced holds again" if self._puts_back else "nothing replaces it"
        return f"Then {what}: F5 changes that"

    def action_revert(self) -> None:
        """Whether a correction that is withdrawn gives way to what it had replaced."""
        if self._withdraw and self._row.entry.replaces is not None:
            self._puts_back = not self._puts_back
            self.say(self._returns())

    def saves(self) -> str:
        """What is saved."""
        return "that it is withdrawn" if self._withdraw else f"as {self.typed('entry')}; both stay on record"

    def save(self) -> None:
        """Ask, with what it changes."""
        change = self._change()
        title = f"{'Withdraw' if self._withdraw else 'Correct'} the {self._row.kind} of {change.named}?"
        self.ask(title, lambda: self._effects(change), lambda: self.dismiss(changes.make(self._session, change)))

    def _effects(self, change: changes.Change) -> list[tuple[str, bool]]:
        """What it changes, for a thread."""
        if isinstance(change.about.entry, TreatmentSaid):
            from roundtui.report.figures.treatments import changes_of

            return _said(list(changes_of(self._session, change).lines()))
        first, lines = [], _lines(self._session, change)
        if isinstance(self._row.entry, Visit) and isinstance(change.entry, Visit):
            both = self._row.entry, change.entry
            was, says = (sanitize(format_tally(draft_of(one)), 60) for one in both)
            gone = [sanitize(one, 40) for one in work_done(both[0]) if one not in work_done(both[1])]
            first = [(f"{was} becomes {says}", False)] * (was != says)
            lines += [(f"{listed(gone)} will no longer be noted", True)] if gone else []
        if isinstance(change.entry, StageSeen):
            block = self._session.programme.blocks.get(change.entry.block)
            name = stage_name(block.crop if block else "", change.entry.code)
            first = [(f"Stage {change.entry.code}: {name}", False)]
        return first + _said(lines)

    def _change(self) -> changes.Change:
        self._session.named()
        if self._withdraw:
            return changes.withdrawn(self._session, self._row, self.typed("reason"), revert=self._puts_back)
        day = self.needed_day("day", "Day")
        trap = self.typed("trap") if isinstance(self._row.entry, Visit) else ""
        said, why = self.typed("entry"), self.typed("reason")
        return changes.corrected(self._session, self._row, said, trap=trap, read_on=day, reason=why)


def _place(row: JournalRow) -> str:
    return sanitize(row.trap or row.block or row.kind, 20)


def _lines(session: Session, change: changes.Change) -> list[tuple[str, bool]]:
    return [(consequence_words(one), one.needs_a_word) for one in changes.effects_of(session, change)]


def _said(lines: list[tuple[str, bool]]) -> list[tuple[str, bool]]:
    return [*(lines or [(NO_EFFECT, False)]), ("Both stay on record.", False)]


def withdrawing(
    session: Session, visit: Visit, done: Callable[[str], None]
) -> tuple[str, Callable[[], list[tuple[str, bool]]], Callable[[], None]]:
    """What is asked before an entry of a round is withdrawn, and what does it.

    Args:
        session: Who, where and when.
        visit: The entry; with a trap of a farm that was closed go all that were closed with it.
        done: Told what is on record then.

    Returns:
        A question, what looks up what changes, and what a yes does.

    Raises:
        RoundtuiError: It cannot be withdrawn.
    """
    row = next(one for one in session.chain_of(visit.id) if one.id == visit.id)
    change = changes.withdrawn(session, row, "withdrawn on the walk", revert=False)
    title = f"Withdraw {change.named}: {sanitize(in_words(visit), 60)}?"
    return title, lambda: _said(_lines(session, change)), lambda: done(changes.make(session, change))


async def open_change(
    screen: RoundtuiScreen[None], row: JournalRow, done: Callable[[str | None], None], *, withdraw: bool
) -> None:
    """Have an entry corrected or withdrawn.

    Args:
        screen: The screen it is asked on.
        row: The entry, or one that it replaced.
        done: Told what is on record now, in a few words, or None where nothing was changed.
        withdraw: Withdraw it, instead of typing it anew.
    """
    session = screen.session
    try:
        stands = changes.standing_row(session, row)
        if isinstance(stands.entry, SetUpChanged):
            words = "a change of the register is reverted by a further one"
            raise RefusedError(words, "open the register at the desk with e, mark the row, then h")
        if not withdraw and isinstance(stands.entry, TreatmentSaid):
            from roundtui.app.dialogs.season import TreatmentDialog

            await screen.app.push_screen(TreatmentDialog(session, old=stands.entry), done)
            return
        if not withdraw and not isinstance(stands.entry, changes.CORRECTABLE):
            raise RefusedError(f"a {stands.kind} cannot be corrected here", "withdraw it, and enter it again")
        dialog = ChangeDialog(session, stands, withdraw=withdraw)
    except RoundtuiError as error:
        screen.show_error("Nothing to change", error)
        return
    await screen.app.push_screen(dialog, done)


class QuestionDialog(FormDialog[str | None]):
    """What was said about an entry so far, and a line for the next word.

    Args:
        session: Who, where and when.
        row: The entry.
        talk: What stands about it.
        said: What the entry says, in plain words.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5", "close_it", "Close", id="question.close", tooltip="Closes the question; words may go with it.")
    ]

    def __init__(self, session: Session, row: JournalRow, talk: Talk | None, said: str) -> None:
        self._session = session
        self._row = row
        self._talk = talk if talk is not None and talk.open else None
        self._answers = self._talk is not None and not self._talk.answered
        self.MOVES = "F5 close the question" if self._talk else self.MOVES
        title = f"Question about {_place(row)}, {row.read_on}: {sanitize(said, 30)}"
        above = Static(spoken_days("\n".join(_talk_lines(talk))), id="talk", markup=False)
        super().__init__(session.ticks, title, [("words", "Answer" if self._answers else "Question", "")], above)

    def saves(self) -> str:
        """What is saved."""
        return "the answer" if self._answers else "the question"

    def save(self) -> None:
        """Ask, or answer."""
        self._record(QuestionWord.ANSWERED if self._answers else QuestionWord.ASKED)

    def action_close_it(self) -> None:
        """Close the question; what stands in the line goes with it."""
        try:
            self._record(QuestionWord.CLOSED)
        except RoundtuiError as error:
            self.refuse(error)

    def _record(self, says: QuestionWord) -> None:
        self.dismiss(changes.ask_about(self._session, self._row, says, self.typed("words"), self._talk))


def _talk_lines(talk: Talk | None) -> list[str]:
    if talk is None:
        return ["Nothing was asked about this entry yet."]
    lines: list[str] = []
    for one in talk.rows:
        at = "" if one.recorded_at is None else f"{one.recorded_at.astimezone(UTC):%Y-%m-%d %H:%M}"
        said = f"{': ' if one.words else ''}{sanitize(one.words, 600)}"
        lines += wrap(f"{one.says.value} by {sanitize(one.scout, 24)}, {at}{said}", WIDTH, subsequent_indent="  ")
    if len(lines) > _TALK_LINES:
        lines = [f"and {len(lines) - _TALK_LINES + 1} lines before", *lines[1 - _TALK_LINES :]]
    return lines
