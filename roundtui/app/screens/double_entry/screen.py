"""Where the double entry of a paper sheet disagree, side by side; each is settled with one key, with who settled it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen, texts
from roundtui.app.widgets.board import listed, rule
from roundtui.domain.entries import Draft, Visit
from roundtui.domain.paper.double_entry import Difference, KeyedRow
from roundtui.domain.round.tally import format_tally, parse_tally
from roundtui.domain.round.walk import read_before, read_in_words
from roundtui.domain.text import cells, full_day, padded, sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.report.paper import reads_as
from roundtui.store.paper.sheets import HOLDS, SheetComparison
from roundtui.store.session import Session

DOUBLE_ENTRY = keys_of("round", "entries")


def progress(two: SheetComparison, width: int) -> Content:
    """How far the two agree, and how the differences were settled."""
    kept = list(two.settled_places.values())
    names = {one: HOLDS[one] if one == "none" else one for one in HOLDS if one in kept}
    settled = ", ".join(f"{name} {kept.count(one)}" for one, name in names.items()) or "none yet"
    differed = f"{two.found.rows} rows in either, {len(two.open) + len(kept)} differed. Settled: {settled}"
    return Content(sanitize(f"  {differed}", width))


def titles(two: SheetComparison, width: int) -> Content:
    """The head of the columns, each entry with its name."""
    first, second = two.names
    side = _side(width)
    line = f"  {'trap':<11}{'day':<8}{padded(f'1 {first}', side)} {padded(f'2 {second}', side)} differ"
    return Content.styled(padded(line, width), "bold")


def difference_line(difference: Difference, width: int) -> str:
    """One difference, both sides.

    Args:
        difference: The difference.
        width: Cells there are. [cells]
    """
    row, side = difference.row, _side(width)
    fields = ", ".join(field.replace("_", " ") for field in difference.fields) or "row"
    line = f"{padded(row.trap, 10)} {row.read_on:%d %b}  "
    line += f"{padded(_side_words(difference.first), side)} {padded(_side_words(difference.second), side)} "
    return line + sanitize(fields, max(0, width - cells(line) - 3))


def details(two: SheetComparison, difference: Difference, before: Sequence[Visit], width: int) -> Content:
    """Who made each entry of the marked row and what it says, in words and field by field; what the trap had before."""
    row, side = difference.row, max(19, _side(width))
    words = [_words(difference.first), _words(difference.second)]
    rows = [two.names, words, *([*difference.values(field)] for field in difference.fields)]
    names = ["entered by", "reads as", *(field.replace("_", " ") for field in difference.fields)]
    lines = [Content.styled(rule(f"{row.trap}, {full_day(row.read_on)}", width), "bold")]
    for what, (first, second) in zip(names, rows, strict=True):
        lines.append(Content(f"  {what:<18} {padded(first, side)} {sanitize(second, width - side - 22)}"))
    lines.append(Content(sanitize(f"  {'before':<18} {read_in_words(before) or 'nothing on record'}", width)))
    return Content("\n").join(lines)


def _words(row: KeyedRow | None) -> str:
    return reads_as(row.draft.visit(row.trap, row.read_on)) or "blank" if row is not None else "no such row"


def _side(width: int) -> int:
    return max(12, (width - 20) * 2 // 5 - 2)


def _side_words(row: KeyedRow | None) -> str:
    if row is None:
        return "(no row)"
    return format_tally(row.draft) if row.draft != Draft() else "(blank)"


class DoubleEntryScreen(ListScreen[None]):
    """The differences of a sheet.

    Args:
        session: Who, where and when.
        route: Name of the sheet's route.
    """

    STOPPED = "The two entries cannot be compared"
    CSS_PATH = "style.tcss"
    KEYS = DOUBLE_ENTRY
    AUTO_FOCUS = ""

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session)
        self.two = SheetComparison(session, route)

    def compose(self) -> ComposeResult:
        """Head, how far, the differences, the marked one in full, a line to type on, a word, the keys."""
        yield from texts("head", "progress", "titles", "list", "details")
        yield Input(id="row", compact=True, max_length=2000)
        yield from texts("said", "keys")

    def _begin(self) -> None:
        field = self.query_one("#row", Input)
        field.cursor_blink = False
        field.display = False
        self.say("")

    def _rows(self) -> Sequence[Difference]:
        return self.two.open

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_take(self, kept: str) -> None:
        """Settle the marked difference."""
        self._settle(kept, None)

    def action_neither(self) -> None:
        """Type what the paper shows."""
        if self.row is None:
            return
        field = self.query_one("#row", Input)
        field.value = ""
        field.display = True
        self.set_focus(field)
        self.say("The row as the paper has it, in the notation of the sheet; Enter selects, Escape cancels")

    def action_back(self) -> None:
        """Back to the sheet, or from typing to the differences."""
        if self.query_one("#row", Input).display:
            self._typed()
            self.say("")
        else:
            self.dismiss()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed, if it can be read."""
        event.stop()
        draft, problems = parse_tally(event.value)
        if draft is None:
            self.say(f"{problems[0].message}: {problems[0].hint}")
        else:
            self._settle("neither", draft)

    def _typed(self) -> None:
        self.query_one("#row", Input).display = False
        self.set_focus(None)

    # --- settling ----------------------------------------------------------------------------------------------------

    def _settle(self, kept: str, typed: Draft | None) -> None:
        difference: Difference | None = self.row
        if difference is None:
            self.say("No difference is open")
            return
        row = difference.row
        settle = partial(self.two.write, difference, kept, typed)
        with self.saying("Not settled"):
            changes = self.two.changes(settle, {row.read_on}, row.trap) if kept != "first" else []
            if not changes and kept != "none":
                self._settled(difference, kept, typed)
                return
            said = [(str(one), True) for one in changes] or [("No figure changes.", False)]
            title = f"{sanitize(row.trap, 20)}: {HOLDS[kept]}?"
            self.ask(title, said, lambda: self._settled(difference, kept, typed))

    def show_error(self, title: str, error: RoundtuiError) -> None:
        """What refuses a row that is typed is said beside it."""
        if self.query_one("#row", Input).display:
            self.say(f"{error.message}: {error.hint}")
        else:
            super().show_error(title, error)

    def _settled(self, difference: Difference, kept: str, typed: Draft | None) -> None:
        with self.saying("Not settled"):
            self.two.settle(difference, kept, typed)
            self._typed()
            name, scout = sanitize(difference.row.trap, 20), sanitize(self.session.scout, 20)
            self.say(f"{name} {spoken_day(difference.row.read_on, self.session.on)}: {HOLDS[kept]}, settled by {scout}")

    # --- showing -----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        width = self.size.width
        two = self.two
        self.put_head(f"Double entry {sanitize(two.route, 20)}  {len(two.open)} open")
        self.put("progress", progress(two, width))
        self.put("titles", titles(two, width))
        self.put_said(self.said)
        found, height = two.open, max(1, self.height - 8)
        difference: Difference | None = self.row
        marked = Content("")
        if difference is not None:
            height = max(3, height - 6 - len(difference.fields))
            before = read_before(self.session.visits(difference.row.trap), difference.row.read_on)[: width // 17]
            marked = details(two, difference, before, width)
        self.put("details", marked)
        nothing = "  No difference is open: the two entries agree, or were settled"
        if not two.second:
            nothing = "  No second entry yet: v on the sheet begins it"
        line = partial(difference_line, width=width)
        self.put("list", listed(found, self.marked, (width, height), line, nothing))
