"""Set-up rows that another laptop, or the file, has otherwise, side by side; one key says which holds."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.widgets.board import listed
from roundtui.domain.text import padded, sanitize
from roundtui.report.traps.register import says, standing, states, title, whose
from roundtui.store.session import Session
from roundtui.store.set_up.register import DifferingRows
from roundtui.store.set_up.versions import OpenRow

SET_UP_ROWS = keys_of("desk", "set-up")

_LABELS = 16


def row_line(row: OpenRow) -> str:
    """A row that differs, in the list."""
    who = "; ".join(f"{whose(row, offer)}: {standing(row, offer)}" for offer in row.offers)
    return f"{title(row)}  {who}"


def side_by_side(row: OpenRow, width: int, height: int, *, whole_file: bool) -> str:
    """The states of a row beside each other, each under the key that keeps it."""
    found = list(states(row))
    column = max(12, (width - _LABELS - 2) // len(found) - 2)

    def line(label: str, cells: Sequence[str]) -> str:
        return sanitize(f"  {padded(label, _LABELS)}" + "  ".join(padded(one, column) for one in cells), width).rstrip()

    lines = [
        line("", [f"[{key}] {'as here' if key == 1 else 'takes over'}" for key in range(1, len(found) + 1)]),
        line("", [sanitize(who, column) for who, *_ in found]),
        *(line(name, [says(values, name) for *_, values in found]) for name in row.columns),
    ]
    if len(lines) > height - 1:
        lines = [*lines[: height - 2], f"  and {len(lines) - height + 2} more columns"]
    same = ((column, says(row.here, column)) for column in row.file.columns if column not in row.columns)
    alike = wrap("alike: " + ", ".join(f"{column} {text}" for column, text in same if text != "-"), width - 4)
    lines += [""] if len(lines) < height - 4 else []
    lines += [f"  {part}" for part in alike[: max(0, height - 2 - len(lines))] if row.here is not None]
    rest = f"all rows of {row.file.name}" if whole_file else "this row alone"
    how = f"A number settles {rest}; ←→ changes that. No figure changes until then."
    return "\n".join([*lines, *(f"  {part}" for part in wrap(how, width - 4))])


class SetUpRowsScreen(ListScreen[None]):
    """Rows to settle; the marked one is shown in full.

    Args:
        session: Who, where and when.
    """

    STOPPED = "The set-up rows cannot be listed"
    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "states", "said", "keys")
    KEYS = SET_UP_ROWS

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.differing = DifferingRows(session)
        self.whole_file = False

    def _rows(self) -> Sequence[OpenRow]:
        return self.differing.open

    def action_whole_file(self) -> None:
        """Whether a key settles the marked row, or all rows of its file."""
        self.whole_file = not self.whole_file
        self._show()

    def _choices(self) -> int:
        return 1 + len(self.row.offers) if self.row is not None else 0

    def _choose(self, at: int, /) -> None:
        """Keep the row of that number; 1 is the one here."""
        row: OpenRow = self.row
        what = f"all rows of {row.file.name} that differ" if self.whole_file else title(row)
        kept = "as it is here" if at == 1 else f"as {' and '.join(row.offers[at - 2].devices)} has it"
        self.ask(f"Keep {what} {kept}?", [("Who settled it is recorded.", False)], lambda: self._settle(row, at))

    def _settle(self, row: OpenRow, at: int) -> None:
        rows = [one for one in self.differing.open if one.file is row.file] if self.whole_file else [row]
        whose = () if at == 1 else row.offers[at - 2].devices
        said = self.said
        with self.saying("Not settled"):
            self.differing.settle(rows, whose)
            what = title(row) if len(rows) == 1 else f"{len(rows)} rows of {row.file.name}"
            did = f"{what} stays as it is here" if at == 1 else f"{what} taken over"
            behind = at > 1 and self.differing.behind(row.file)
            follow = f"; change {row.file.name} to match: roundtui conflicts lists the lines" if behind else ""
            said = f"Settled by {sanitize(self.session.scout, 24)}: {did}{follow}"
        self.say(said)

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.height
        self.shown_at = self.session.ticks()
        self.put_head(f"Set-up rows   {len(self.differing.open)} differ")
        lines = max(1, min(4 if height < 30 else 10, len(self.differing.open)))
        self.put("list", listed(self.differing.open, self.marked, (width, lines), row_line, "  No set-up row differs."))
        row = self.row
        shown = side_by_side(row, width, height - lines - 7, whole_file=self.whole_file) if row else ""
        self.put("states", shown)
        self.put_said(self.said)
