"""A round that comes in on paper: rows in the order of the sheet, one Enter a row, each on the disk when it is left."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import Action, strip
from roundtui.app.keys.round import SHEET
from roundtui.app.screen import BARS, RoundtuiScreen
from roundtui.app.screens.sheet import view as sheet_lines
from roundtui.app.widgets.sheet_grid import Piece, SheetGrid
from roundtui.domain.paper.sheet import Ask, totals
from roundtui.domain.round.checks import same_scout
from roundtui.domain.text import sanitize
from roundtui.store.paper.sheet_state import SheetEntry

if TYPE_CHECKING:
    from roundtui.store.session import Session


class TallySheetScreen(RoundtuiScreen[None]):
    """The paper sheet of one route.

    Args:
        session: Who, where and when.
        route: Name of the route.
    """

    KEYS = SHEET
    AUTO_FOCUS = "#grid"
    CSS_PATH = "style.tcss"

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session)
        self.sheet = SheetEntry(session, route)
        self._shown: dict[str, Content] = {}

    def compose(self) -> ComposeResult:
        """Few widgets; a key touches one line of one of them."""
        for name in ("head", "titles"):
            yield Static(id=name, markup=False)
        yield SheetGrid(self.press, self._paste, self._line, id="grid")
        for name in ("said", "totals", "keys"):
            yield Static(id=name, markup=False, classes=BARS.get(name, ""))

    def on_mount(self) -> None:
        """Show the sheet."""
        self.parts = {widget.id or "": widget for widget in self.query(Static)}
        self.grid = self.query_one(SheetGrid)
        self.set_focus(self.grid)
        self.call_after_refresh(self._show)

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        if self._shown:
            self.call_after_refresh(self._show)

    def on_screen_resume(self) -> None:
        """Something may have been settled or corrected meanwhile."""
        if self._shown:
            self.sheet.attempt(self.sheet.keeper.read_anew, "The sheet cannot be read")
            self._show()

    # --- keys --------------------------------------------------------------------------------------------------------

    def press(self, key: str) -> None:
        """What a key does here; nothing where it was typed ahead and a dialog came in between."""
        if self.is_active:
            self._press(key)

    def _press(self, key: str) -> None:
        sheet = self.sheet
        at, text = sheet.at, sheet.typing.text
        several = sheet.press(key)
        if several:
            self._show()
        else:
            same_row = sheet.at == at and bool(text) and bool(sheet.typing.text)
            self._show(changed=(at, sheet.at), totals_stand=same_row)
        self._follow()

    def _paste(self, text: str) -> None:
        self.sheet.paste(text)
        self._show()
        self._follow()

    def _follow(self) -> None:
        """Do what the sheet asked the screen to do."""
        sheet = self.sheet
        stopped, sheet.stopped = sheet.stopped, None
        wants, sheet.wants = sheet.wants, Ask.NOTHING
        if stopped is not None:
            self.show_error(*stopped)
        match wants:
            case Ask.SUMMARY:
                self.open_soon("summary", sheet.route)
            case Ask.DIFFERENCES:
                self.open_soon("double_entry", sheet.route)
            case Ask.SURE:
                title, said, then = sheet.doubted
                self.ask(title, [(words, True) for words in said], partial(self._sure, then))
            case Ask.MENU:
                self.action_menu()
            case Ask.HELP:
                self.show_keys()
            case Ask.BACK:
                self.dismiss()

    def _sure(self, then: Callable[[], None]) -> None:
        then()
        self._show()
        self._follow()

    def do(self, action: Action) -> None:
        """A row of the menu is a key of the sheet."""
        self._press(action.keys)

    def tell(self, words: str) -> None:
        """Words have their own line here."""
        if words:
            self.sheet.say(words)
            self._put("said", sheet_lines.said(self.sheet.typing, self.sheet.question, self.size.width))

    # --- showing -----------------------------------------------------------------------------------------------------

    def _line(self, place: int, width: int) -> list[Piece]:
        sheet = self.sheet
        typing = sheet.typing if place == sheet.at else None
        if place >= len(sheet.rows):
            return sheet_lines.end_line(typing, second=sheet.keeper.second)
        row = sheet.rows[place]
        sample = sheet_lines.RowView(
            row=row,
            hanging=self.session.programme.hanging(row.trap, row.read_on),
            typing=typing,
            past=sheet.keeper.past.get(row.trap) if sheet.shows_past else None,
            shows_past=sheet.shows_past,
            warning=sheet.unlikely.get(row.trap, ""),
            other_scout=bool(row.scout) and not same_scout(row.scout, self.session.scout),
        )
        return sheet_lines.row_line(place, sample, width)

    def _show(self, changed: tuple[int, ...] = (), *, totals_stand: bool = False) -> None:
        """Bring the screen up to what is so.

        Args:
            changed: The only rows that may say something else now; none: any may.
            totals_stand: Whether no more changed than the text of the row typed on.
        """
        sheet, session, width = self.sheet, self.session, self.size.width
        self.grid.show(sheet.at, len(sheet.rows) + 1, changed)
        if not changed:
            self.grid.refresh()
        self._put("said", sheet_lines.said(sheet.typing, sheet.question, width))
        if totals_stand:
            return
        drafts = [row.draft for row in sheet.rows]
        whole = totals(drafts)
        self._put("head", sheet_lines.head(sheet.route, session, (whole, sheet.keeper.second), width))
        self._put("titles", sheet_lines.titles(width, shows_past=sheet.shows_past))
        self._put("totals", sheet_lines.foot(totals(drafts[: sheet.at]), whole, width))
        first, second = strip(SHEET, width)
        if sheet.row is None and sheet.keeper.sitting:
            first = f" {len(sheet.keeper.sitting)} rows saved   Enter summary   v double entry   m 1 differences"
        self._put("keys", Content(f"{sanitize(first, width)}\n{second}"))

    def _put(self, part: str, content: Content) -> None:
        if self._shown.get(part) != content:
            self._shown[part] = content
            self.parts[part].update(content, layout=False)
