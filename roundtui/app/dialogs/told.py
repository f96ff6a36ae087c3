"""Who was told, on which day, by whom and how."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from roundtui.domain.figures.verdicts import BlockRow, Status, Summary
from roundtui.domain.text import padded, plain
from roundtui.domain.visits import Told

if TYPE_CHECKING:
    from roundtui.app.session import Session

_SHOWN = 8


class ToldDialog(ModalScreen[list[Told] | None]):
    """Choose a farm, then say how, by whom and on which day.

    Args:
        session: Who, where and when.
        summary: What the growers were told about.
    """

    CSS_PATH = "../styles/told.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="told.call-off", tooltip="Nothing is recorded."),
        Binding("up", "move(-1)", "Up", id="told.up", tooltip="The farm above."),
        Binding("down", "move(1)", "Down", id="told.down", tooltip="The farm below."),
    ]

    def __init__(self, session: Session, summary: Summary) -> None:
        super().__init__()
        self.session = session
        self.summary = summary
        self.farms = list(dict.fromkeys(row.farm for row in summary.blocks))
        self.marked = 0

    def compose(self) -> ComposeResult:
        """The farms, then three short lines."""
        with Vertical(classes="dialog"):
            yield Static("Call made", classes="title", markup=False)
            yield Static(id="farms", markup=False)
            for name, words, value in (
                ("how", "How", "phone"),
                ("by", "By", self.session.scout),
                ("day", "On", self.session.on.isoformat()),
            ):
                yield Static(words, classes="words", markup=False)
                yield Input(value, id=name, compact=True, max_length=80)
            yield Static("Up Down: farm   Tab: next line   Enter saves   Escape cancels", id="said", markup=False)

    def on_mount(self) -> None:
        """Ready to type."""
        for field in self.query(Input):
            field.cursor_blink = False
        self._show()
        self.set_focus(self.query_one("#how"))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Record it, if it says what is needed."""
        event.stop()
        how, by = (self.query_one(f"#{name}", Input).value.strip() for name in ("how", "by"))
        try:
            day = date.fromisoformat(self.query_one("#day", Input).value.strip())
        except ValueError:
            self._say("On: write a day as 2031-06-03")
            return
        if not how or not by:
            self._say("How and By cannot be blank")
        elif not self.summary.on <= day:
            self._say(f"No call before the day of the summary, {self.summary.on.isoformat()}")
        else:
            self.dismiss([self._told(row, day, by, how) for row in self._rows()])

    def action_move(self, step: int) -> None:
        """Mark another farm."""
        self.marked = max(0, min(len(self.farms) - 1, self.marked + step))
        self._show()

    def action_call_off(self) -> None:
        """Record nothing."""
        self.dismiss(None)

    def on_key(self, event: events.Key) -> None:
        """Enter sent as ctrl+j by some pads is Enter."""
        if event.key == "ctrl+j" and isinstance(self.focused, Input):
            event.stop()
            self.focused.post_message(Input.Submitted(self.focused, self.focused.value))

    def _rows(self) -> list[BlockRow]:
        farm = self.farms[self.marked]
        return [row for row in self.summary.blocks if row.farm == farm and row.status is not Status.NOT_READ]

    def _told(self, row: BlockRow, day: date, by: str, how: str) -> Told:
        return Told(
            block=row.block,
            species=row.species,
            round_on=self.summary.on,
            status=row.status.value,
            told_on=day,
            by=by,
            how=how,
        )

    def _say(self, words: str) -> None:
        self.query_one("#said", Static).update(words)

    def _show(self) -> None:
        farms = self.session.programme.farms
        first = max(0, min(self.marked - _SHOWN // 2, len(self.farms) - _SHOWN))
        lines = []
        for at, code in enumerate(self.farms[first : first + _SHOWN], first):
            farm = farms.get(code)
            rows = [row for row in self.summary.blocks if row.farm == code]
            states = ", ".join(f"{plain(row.block, 10)} {row.species} {row.status.value}" for row in rows)
            who = f"{plain(farm.name, 20)}, {plain(farm.phone or 'no phone', 16)}" if farm else plain(code, 20)
            lines.append(f"{'>' if at == self.marked else ' '} {padded(f'{who}: {states}', 54)}")
        self.query_one("#farms", Static).update("\n".join(lines))
