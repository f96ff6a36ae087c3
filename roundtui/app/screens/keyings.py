"""Where the two keyings of a paper sheet disagree, side by side; each is settled with one key, with who settled it."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from roundtui.app.actions import APP, KEYINGS, bindings, footer
from roundtui.app.keyings_lines import difference_line, head, keyers, pieces_at, titles
from roundtui.app.sheet_lines import MARK, many
from roundtui.app.two_keyings import TwoKeyings
from roundtui.domain.plain import plain
from roundtui.domain.second_keying import Difference
from roundtui.domain.tally import parse_tally
from roundtui.domain.visits import Draft
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session


class KeyingsScreen(Screen[None]):
    """The differences of a sheet.

    Args:
        session: Who, where and when.
        route: Name of the sheet's route.
    """

    CSS_PATH = "../styles/keyings.tcss"
    BINDINGS = bindings(KEYINGS)
    AUTO_FOCUS = ""

    def __init__(self, session: Session, route: str) -> None:
        super().__init__()
        self.session = session
        self.two = TwoKeyings(session, route)
        self.marked = 0
        self.sure: tuple[Difference, str, Draft | None] | None = None
        """What was said to change something, and is taken when it is asked for again."""

    def compose(self) -> ComposeResult:
        """Head, who keyed, the differences, a line to type on, a word, the keys."""
        for name in ("head", "keyers", "titles", "list"):
            yield Static(id=name, markup=False)
        yield Input(id="row", compact=True, max_length=2000)
        yield Static(id="said", markup=False)
        yield Static(f" {footer(KEYINGS)}  {footer(APP)}", id="foot", markup=False)

    def on_mount(self) -> None:
        """Nothing is typed until somebody wants to."""
        field = self.query_one("#row", Input)
        field.cursor_blink = False
        field.display = False
        self._show("")

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show("")

    @property
    def difference(self) -> Difference | None:
        """The difference that is marked."""
        found = self.two.open
        return found[min(self.marked, len(found) - 1)] if found else None

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_move(self, step: int) -> None:
        """Mark another difference."""
        self.marked = max(0, min(len(self.two.open) - 1, self.marked + step))
        self._show("")

    def action_take(self, kept: str) -> None:
        """Settle the marked difference."""
        self._settle(kept, None)

    def action_neither(self) -> None:
        """Type what the paper shows."""
        if self.difference is None:
            return
        field = self.query_one("#row", Input)
        field.value = ""
        field.display = True
        self.set_focus(field)
        self._show("The row as the paper has it, in the notation of the sheet; Enter takes it, Escape calls it off")

    def action_back(self) -> None:
        """Back to the sheet, or from typing to the differences."""
        if self.query_one("#row", Input).display:
            self._typed()
            self._show("")
        else:
            self.dismiss()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed, if it can be read."""
        event.stop()
        draft, problems = parse_tally(event.value)
        if draft is None:
            self._show(f"{problems[0].message}: {problems[0].hint}")
        else:
            self._settle("neither", draft)

    def on_key(self, event: events.Key) -> None:
        """Enter sent as ctrl+j by some pads is Enter."""
        if event.key == "ctrl+j" and isinstance(self.focused, Input):
            event.stop()
            self.focused.post_message(Input.Submitted(self.focused, self.focused.value))

    def _typed(self) -> None:
        self.query_one("#row", Input).display = False
        self.set_focus(None)

    # --- settling ----------------------------------------------------------------------------------------------------

    def _settle(self, kept: str, typed: Draft | None) -> None:
        difference = self.difference
        if difference is None:
            self._show("No difference is open")
            return
        asked = (difference, kept, typed)
        try:
            if kept != "first" and self.sure != asked:
                changes = self.two.changes(difference, kept, typed)
                if changes:
                    self.sure = asked
                    self._show(f"{MARK}{many([str(one) for one in changes], 2)}. The same key again takes it")
                    return
            self.two.settle(difference, kept, typed)
        except RoundtuiError as error:
            if self.query_one("#row", Input).display:
                self._show(f"{error.message}: {error.hint}")
            else:
                cast("RoundtuiApp", self.app).show_error("Not settled", error)
            return
        self.sure = None
        self._typed()
        self.marked = max(0, min(self.marked, len(self.two.open) - 1))
        name = plain(difference.row.trap, 20)
        words = {"first": "the first holds", "second": "the second holds", "none": "no such row"}.get(kept, "as typed")
        self._show(f"{name} {difference.row.read_on.isoformat()}: {words}, settled by {plain(self.session.scout, 20)}")

    # --- showing -----------------------------------------------------------------------------------------------------

    def _show(self, said: str) -> None:
        width = self.size.width
        two = self.two
        parts = {
            "head": head(self.session, two, width),
            "keyers": keyers(two, width),
            "titles": titles(two, width),
            "said": Content.styled(f"  {plain(said, width * 2 - 8)}", "bold $text-accent"),
        }
        for name, content in parts.items():
            self.query_one(f"#{name}", Static).update(content)
        found, height = two.open, max(1, self.size.height - 9)
        first = max(0, min(self.marked - height // 2, len(found) - height))
        lines: list[Content] = []
        for at, difference in enumerate(found[first : first + height], first):
            lines.append(pieces_at(difference_line(difference, width), marked=at == self.marked, width=width))
        if not found:
            nothing = "Nothing was keyed a second time: v on the sheet begins it" if not two.second else ""
            lines = [Content(f"  {nothing or 'No difference is open: the two keyings agree, or were settled'}")]
        self.query_one("#list", Static).update(Content("\n").join(lines))
