"""Desk work: calls made, notes in letters, lures bought, traps hung, and changes of the register."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static, TextArea

from roundtui.app.dialogs.form import FormDialog, PagedDialog
from roundtui.app.screen import RoundtuiScreen
from roundtui.app.screens.register.view import heading
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import Notified, SetUpChanged, Stocked, StockKind
from roundtui.domain.figures.verdicts import BlockRow, Status, Summary
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.text import sanitize, spoken_day

if TYPE_CHECKING:
    from roundtui.app.screens.register.forms import Form
    from roundtui.domain.entries import Assembled
    from roundtui.domain.traps.assembly import BenchTrap
    from roundtui.report.inventory import PlanDesk
    from roundtui.store.session import Session
    from roundtui.store.set_up.register import RegisterDesk
    from roundtui.store.traps.bench import AssemblyDesk


class CallDialog(PagedDialog[list[Notified] | None]):
    """A call that was made: choose a farm, then how, by whom and on which day.

    Args:
        session: Who, where and when.
        summary: What the growers were told about.
        farm: The farm to begin with; empty: the first.
    """

    FIRST = "how"
    MOVES = "PgUp PgDn farm"

    def __init__(self, session: Session, summary: Summary, farm: str = "") -> None:
        fields = [("how", "How", "phone"), ("by", "By", session.scout), ("day", "On", str(session.on))]
        super().__init__(session.ticks, "Call made", fields, Static(id="farms", markup=False))
        self.session = session
        self.summary = summary
        self.farms = list(dict.fromkeys(row.farm for row in summary.blocks))
        self.marked = self.farms.index(farm) if farm in self.farms else 0

    def choices(self) -> Sequence[str]:
        """The farms."""
        return self.farms

    def saves(self) -> str:
        """What is saved."""
        farm = self.session.programme.farms.get(self.farms[self.marked])
        name = sanitize(farm.name if farm else self.farms[self.marked], 30)
        rows = ", ".join(map(_status, self._rows())) or "nothing, since no block of it was read"
        return f"{name}: call made on {self.typed('day')}, {self.typed('how')}: {rows}"

    def save(self) -> None:
        """Give what is to be recorded."""
        how, by, day = self.typed("how"), self.typed("by"), self.needed_day("day", "On")
        if not self._rows():
            raise self.wrong("how", "No block of this farm was read: there is nothing to tell")
        if not how or not by:
            raise self.wrong("by" if how else "how", "How and By cannot be blank")
        if day < self.summary.on:
            raise self.wrong("day", f"Nobody was called before the day of the summary, {self.summary.on.isoformat()}")
        told: dict[str, Any] = {"round_on": self.summary.on, "notified_on": day, "by": by, "how": how}
        rows = ((row, row.status.value) for row in self._rows())
        self.dismiss([Notified(block=row.block, species=row.species, status=status, **told) for row, status in rows])

    def _rows(self) -> list[BlockRow]:
        farm = self.farms[self.marked]
        return [row for row in self.summary.blocks if row.farm == farm and row.status is not Status.NOT_READ]

    def _show(self) -> None:
        def line(code: str) -> str:
            farm = self.session.programme.farms.get(code)
            states = ", ".join(_status(row) for row in self.summary.blocks if row.farm == code)
            who = f"{sanitize(farm.name, 20)}, {sanitize(farm.phone or 'no phone', 16)}" if farm else sanitize(code, 20)
            return f"{who}: {states}"

        size = self.room, max(1, min(len(self.farms), self.app.size.height - 15))
        self.query_one("#farms", Static).update(listed(self.farms, self.marked, size, line).plain)


def _status(row: BlockRow) -> str:
    return f"{sanitize(row.block, 10)} {row.species} {row.status.words}"


class LetterNoteDialog(ModalScreen[str]):
    """Type a note; Escape keeps it. It is words and never more than words, whatever is typed.

    Args:
        title: Whose letters it stands in.
        words: What stands already.
    """

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "keep", "Keep", id="letter-note.keep", tooltip="Keep the note and go back.", priority=True)
    ]

    def __init__(self, title: str, words: str) -> None:
        super().__init__()
        self.name_of_it = title
        self.words = words

    def compose(self) -> ComposeResult:
        """A title, the field, what to do."""
        with Vertical(classes="dialog"):
            yield Static(self.name_of_it, classes="title", markup=False)
            yield TextArea(self.words, id="note", show_line_numbers=False, soft_wrap=True)
            yield Static("Enter next line   Esc keep it and go back", classes="hint", markup=False)

    def on_mount(self) -> None:
        """Ready to type, behind what stands."""
        field = self.query_one(TextArea)
        field.cursor_blink = False
        field.move_cursor(field.document.end)
        self.set_focus(field)

    def action_keep(self) -> None:
        """Keep it."""
        self.dismiss(self.query_one(TextArea).text)


class StockDialog(FormDialog[Stocked | None]):
    """A lot, what was done and how many; it is recorded before the dialog closes.

    Args:
        desk: Where it is recorded.
        lot: Lot to begin with.
    """

    HINT = "counted: so many are there; bought: so many more"

    def __init__(self, desk: PlanDesk, lot: str) -> None:
        counted = [("lot", "Lot", lot), ("kind", "Counted or bought", "c"), ("number", "How many lures", "")]
        fields = [*counted, ("day", "Day", str(desk.session.on)), ("note", "Note", "")]
        super().__init__(desk.session.ticks, "Lures in the store", fields)
        self._desk = desk

    def saves(self) -> str:
        """What is saved."""
        kind = _kind(self.typed("kind"))
        did = kind.value if kind else "-"
        return f"{self.typed('number') or '-'} of lot {self.typed('lot')} {did} on {self.typed('day')}"

    def save(self) -> None:
        """Record it."""
        session, kind = self._desk.session, _kind(self.typed("kind"))
        lots = session.programme.lots
        lot = in_case(self.typed("lot"), lots)
        if lot not in lots:
            hint = nearest(lot, lots) or "add it to lures.csv"
            raise self.wrong("lot", f"There is no lot {sanitize(lot, 30)}", hint)
        if kind is None:
            raise self.wrong("kind", "Write c for counted, or b for bought")
        number, day = self.whole("number", "How many lures"), self.needed_day("day", "Day", session.on)
        entry = Stocked(lot=lot, stocked_on=day, kind=kind, number=number, note=self.typed("note"))
        self._desk.enter(entry)
        self.dismiss(entry)


def _kind(typed: str) -> StockKind | None:
    said = typed.casefold()
    return next((kind for kind in StockKind if said and kind.value.startswith(said)), None)


class HangDialog(FormDialog[tuple[str, date, str, str] | None]):
    """Block, day, row and tree of a trap that was put together.

    Args:
        desk: For blocks and past hangings.
        row: The trap.
        made: How it was put together.
        contents: Its parts and lure, in words.
    """

    FIRST = "block"

    def __init__(self, desk: AssemblyDesk, row: BenchTrap, made: Assembled, contents: str) -> None:
        rows = desk.known.programme.hangings.get(row.trap, ())
        last = rows[-1] if rows else None
        place = [("row", "Row", last.row if last else ""), ("tree", "Tree", last.tree if last else "")]
        fields = [("block", "Block", row.block), ("day", "Hung on", str(desk.session.on)), *place]
        super().__init__(desk.session.ticks, sanitize(f"Hang {row.trap} ({row.species}): {contents}", 70), fields)
        self._desk = desk
        self._made = made

    def saves(self) -> str:
        """What is saved."""
        return f"{sanitize(self._made.trap, 20)} hung in block {self.typed('block') or '-'} on {self.typed('day')}"

    def save(self) -> None:
        """Hang it."""
        blocks = self._desk.known.programme.blocks
        block = in_case(self.typed("block"), blocks)
        if block not in blocks:
            words = f"There is no block {sanitize(block, 24)}. {nearest(block, blocks)}" if block else "In which block?"
            raise self.wrong("block", words)
        day = self.needed_day("day", "Hung on", self._desk.session.on)
        if day < self._made.assembled_on:
            raise self.wrong("day", f"It was assembled on {self._made.assembled_on.isoformat()} only")
        self.dismiss((block, day, self.typed("row"), self.typed("tree")))


class RegisterRowDialog(FormDialog[tuple[SetUpChanged, ...] | None]):
    """Columns, the day they hold from, and why; it is on the disk before the dialog closes.

    Args:
        desk: Where it is done.
        form: What is done, to what, and how.
    """

    def __init__(self, desk: RegisterDesk, form: Form) -> None:
        columns = (*form.fields, ("day", desk.session.on.isoformat()), ("why", ""))
        fields = [(f"at-{name}", heading(name), value) for name, value in columns]
        super().__init__(desk.session.ticks, form.title, fields)
        self._desk = desk
        self._form = form
        self.HINT = form.hint
        self.FIRST = f"at-{form.first or columns[0][0]}"

    def saves(self) -> str:
        """What is saved."""
        changed = [name for name, value in self._at_first.items() if self.typed(name) != value]
        named = ", ".join(heading(name.removeprefix("at-")) for name in changed)
        return f"from {self.typed('at-day')} on{f': {named}' if named else ''}"

    def save(self) -> None:
        """Do it; what looks wrong, and what it changes, is asked about first."""
        day = self.needed_day("at-day", "day")
        if not self._form.later:
            self._desk.refuse_later(day)
        typed = {name: self.typed(f"at-{name}") for name, _ in self._form.fields}
        change = self._form.make(typed, day, self.typed("at-why"))
        whole = change.changes[0].file.whole
        found = self._desk.past if whole else self._desk.remarks
        title, do = f"{self._form.title}?", lambda: self.dismiss(self._desk.do(change))
        self.ask(title, lambda: [(words, not whole) for words in found(change)], do)


async def record_call(screen: RoundtuiScreen[Any], summary: Summary, farm: str = "") -> str:
    """Have a call recorded.

    Args:
        screen: The screen it is asked on; called from a worker of it.
        summary: What its growers can be told.
        farm: The farm to begin with; empty: the first.

    Returns:
        What is on record now, in a few words; empty where nothing was recorded.
    """
    notified = await screen.app.push_screen_wait(CallDialog(screen.session, summary, farm))
    with screen.saying("Not recorded"):
        if notified:
            screen.session.tell(notified)
            first, blocks = notified[0], "1 block" if len(notified) == 1 else f"{len(notified)} blocks"
            by, how, day = (
                sanitize(first.by, 24),
                sanitize(first.how, 24),
                spoken_day(first.notified_on, screen.session.on),
            )
            return f"Call made ({blocks}), {day}, by {by}, {how}"
    return ""
