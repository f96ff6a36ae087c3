"""Who changed a row of the register, when, from what to what; a change is put back by a further one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import APP, ROW_HISTORY, bindings, footer
from roundtui.app.screens.register.view import change_lines
from roundtui.app.widgets.texts import TextsScreen
from roundtui.domain.text import padded, plain
from roundtui.errors import ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.register.changes import RegisterDesk, RegisterRow

_LINES = 8


class RowHistoryScreen(TextsScreen[None]):
    """Changes of a row made in the app, the newest first.

    Args:
        desk: Where they are asked for.
        row: The row.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "detail", "said", "keys")
    BINDINGS = bindings(ROW_HISTORY)

    def __init__(self, desk: RegisterDesk, row: RegisterRow) -> None:
        super().__init__()
        self.desk = desk
        self.row = row
        self.entries = desk.history(row)
        self.marked = 0
        self.said = ""
        self._asked = ""
        """Id of the entry that a second press puts back."""

    def action_mark(self, step: int) -> None:
        """Another change."""
        self.marked = max(0, min(len(self.entries) - 1, self.marked + step))
        self.said = self._asked = ""
        self._show()

    def action_put_back(self) -> None:
        """Put the marked change back, and those recorded with it, on a second press."""
        if not self.entries:
            return
        entry = self.entries[self.marked]
        try:
            deed = self.desk.undone(entry)
            if self._asked != entry.id:
                remarks = self.desk.remarks(deed)
                self._asked = entry.id
                named = "".join(f"! {remark} " for remark in remarks[:1])
                self.said = f"{named}u again reverts {len(deed.changes)} row(s), by a further entry"
            else:
                self.desk.do(deed)
                self.entries, self.marked = self.desk.history(self.row), 0
                self.said, self._asked = "Reverted; both stay on record", ""
        except ProblemsError as error:
            self.said = f"! Not reverted: {error.problems[0]}"
        except RoundtuiError as error:
            self.said = f"! Not reverted: {error.message} ({error.hint})"
        self._show()

    def action_back(self) -> None:
        """Back to the register."""
        self.dismiss()

    def _show(self) -> None:
        width = max(40, self.size.width)
        self._put(
            "head", Content(plain(f" History of {self.row.file.name} {self.row.values[self.row.file.key[0]]}", width))
        )
        first = max(0, min(self.marked - _LINES // 2, len(self.entries) - _LINES))
        lines: list[str | tuple[str, str]] = []
        for at, entry in enumerate(self.entries[first : first + _LINES], first):
            head, _ = change_lines(entry, width - 4)
            line = padded(f"{'>' if at == self.marked else ' '} {head}", width)
            lines.append((f"{line}\n", "bold reverse" if at == self.marked else ""))
        self._put("list", Content.assemble(*lines) if lines else Content("  Nobody changed it in the app."))
        detail = change_lines(self.entries[self.marked], width)[1] if self.entries else []
        self._put("detail", Content("\n".join(detail)))
        self._put("said", Content.styled(plain(f"  {self.said}", 2 * width), "bold"))
        self._put("keys", Content(plain(f" {footer(ROW_HISTORY)}  {footer(APP)}", width)))

    def _put(self, part: str, words: Content) -> None:
        self.query_one(f"#{part}", Static).update(words)
