"""A round that comes in on paper: rows in the order of the sheet, one Enter a row, each on the disk when it is left.

The rows are drawn line by line: a key draws the one line it changes again, and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from roundtui.app.keys import Action, keys_of, strip
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.count_input import presses
from roundtui.domain.entries import SAID, Draft, Visit
from roundtui.domain.paper.sheet import Ask, Line, SheetRow, Totals, Typing, totals
from roundtui.domain.programme.farm import Trap
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.tally import format_tally, parse_tally
from roundtui.domain.round.walk import catch, work_done
from roundtui.domain.text import cells, padded, sanitize
from roundtui.report.text import several
from roundtui.store.paper.sheet_state import MARK, SheetEntry
from roundtui.store.session import Session

SHEET = keys_of("round", "sheet")

Piece = tuple[str, str]
"""A text, and how it stands: plain, strong, cursor, muted or warning."""
STYLES = ("plain", "strong", "cursor", "muted", "warning")


class SheetGrid(Widget, can_focus=True):
    """Rows of which one is typed on.

    It deals with keys in its own turn, in the order typed: none can overtake another.

    Args:
        press: Notified each key of a row.
        pasted: Notified the text of a paste.
        line: Gives the pieces of a row by its place and the width.
        id: Id of the widget.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"grid--{name}" for name in (*STYLES, "at")}

    def __init__(
        self,
        press: Callable[[str], None],
        pasted: Callable[[str], None],
        line: Callable[[int, int], Sequence[Piece]],
        *,
        id: str,  # noqa: A002
    ) -> None:
        super().__init__(id=id)
        self._press_key = press
        self._pasted = pasted
        self._line = line
        self.rows = 0
        """How many lines there are."""
        self.at = 0
        """The line that is typed on."""
        self.top = 0
        """The first line that is shown."""

    def show(self, at: int, rows: int, changed: Sequence[int]) -> None:
        """Bring the lines up to what is so.

        Args:
            at: The line that is typed on.
            rows: How many there are.
            changed: Lines that say something else now.
        """
        height = max(1, self.size.height)
        before = (self.top, self.rows)
        old, self.at, self.rows = self.at, at, rows
        if not self.top <= at < self.top + height:
            # Half a page at a time: the eye finds the row again, and most rows cost one line.
            self.top = max(0, min(at - height // 2, rows - height))
        self.top = max(0, min(self.top, rows - height))
        if (self.top, self.rows) != before:
            self.refresh()
            return
        for place in {*changed, *((old, at) if old != at else ())}:
            if self.top <= place < self.top + height:
                self.refresh(Region(0, place - self.top, self.size.width, 1))

    def render_line(self, y: int) -> Strip:
        """One line."""
        place, width = self.top + y, self.size.width
        sanitize = self._style("plain")
        if place >= self.rows:
            return Strip([Segment(" " * width, sanitize)], width)
        ground = self._style("at") if place == self.at else sanitize
        segments = [
            Segment(text, self._style(kind) if kind == "cursor" else self._on(ground, kind))
            for text, kind in self._line(place, width)
        ]
        return Strip(segments).adjust_cell_length(width, ground)

    def _on(self, ground: Style, kind: str) -> Style:
        if kind == "plain":
            return ground
        return self._style(kind) + Style(bgcolor=ground.bgcolor)

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(f"grid--{name}")

    async def _on_key(self, event: events.Key) -> None:
        keys = presses(event.key, event.character)
        if not keys:
            return
        event.stop()
        event.prevent_default()
        for key in keys:
            self._press_key(key)

    def _on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        self._pasted(event.text)


LABELS = {Line.GO_TO: "Go to", Line.DAY: "Day", Line.STAGE: "Stage", Line.PLACE: "Stands here"}
PAST_WIDTH = 11


class RowView(Frozen, kw_only=True):
    """What a line of the sheet is made of."""

    row: SheetRow
    """The row."""
    hanging: Trap | None
    """Its trap's hanging."""
    typing: Typing | None = None
    """What is typed on it; None where it is not the one typed on."""
    past: Visit | None = None
    """What the trap showed the week before."""
    shows_past: bool = False
    """Whether last week's figures are asked for."""
    warning: str = ""
    """What is to be remarked on; empty where there is nothing."""
    other: str = ""
    """Whose entry it is, where it is another scout's."""


def titles(width: int, *, shows_past: bool) -> Content:
    """The head of the columns."""
    past = padded("last week", PAST_WIDTH) if shows_past else ""
    words = f"  {'':>3} {'trap':<11}{'pest':<6}{'day':<7}{past}{'tally':<{_tally(width)}}reads as"
    return Content.styled(padded(words, width), "bold")


def _tally(width: int) -> int:
    """Cells for what is typed on a row; what it reads as stands behind it."""
    return 14 if width < 100 else 24


def reads_as(row: SheetRow, draft: Draft | None, warning: str = "", by: str = "") -> str:
    """What stands in a row, or is typed on it, in words.

    Args:
        row: The row.
        draft: What it says; None: nothing that can be read.
        warning: What is to be remarked on.
        by: Who typed it, where it was somebody else.
    """
    words = [f"by {sanitize(by, 16)}"] if by else []
    if draft is not None:
        visit = Visit(trap=row.trap, read_on=row.read_on, **{name: getattr(draft, name) for name in SAID})
        moths = "" if draft.count is None else several(draft.count, "moth")
        why = f"not read: {draft.no_reading.value}" if draft.no_reading is not None else ""
        words = [*words, moths, why, *work_done(visit)]
    return ", ".join(filter(None, (*words, f"{MARK}{warning}" if warning else "")))


def row_line(place: int, sample: RowView, width: int) -> list[tuple[str, str]]:
    """One row.

    Args:
        place: Its place, from 0.
        sample: What it is made of.
        width: Cells there are. [cells]
    """
    row, typing, warning = sample.row, sample.typing, sample.warning
    species = sample.hanging.species if sample.hanging else ""
    pieces = [
        (f"{'>' if typing is not None else ' '} {place + 1:>3} ", "strong" if typing is not None else "plain"),
        (f"{padded(row.trap, 10)} {padded(species, 5)} {f'{row.read_on.day} {row.read_on:%b}':<6} ", "plain"),
    ]
    if sample.shows_past:
        pieces.append((padded(_past(sample.past), PAST_WIDTH), "plain"))
    left, tally = width - sum(cells(text) for text, _ in pieces), _tally(width)
    stands = format_tally(row.draft) if row.draft is not None else ""
    if typing is None:
        # The row that is marked has it in full below.
        words = f"{MARK}{warning.split(' (', maxsplit=1)[0]}" if warning else reads_as(row, row.draft, by=sample.other)
        if warning and cells(words) > left - tally:
            words = words.replace("unlikely: ", "")
        pieces.append((padded(stands, tally - 1) + " ", "plain"))
        pieces.append((sanitize(words, max(0, left - tally)), "warning" if warning or sample.other else "plain"))
        return pieces
    if typing.line is not Line.ROW:
        pieces += [(f"{LABELS[typing.line]}: ", "strong"), (_tail(typing.words, left - 16), "strong"), (" ", "cursor")]
        return pieces
    was = f"(is {stands})" if stands else ""
    shown = _tail(typing.text, left - 1 - (min(cells(was), 20) + 2 if was else 0))
    pieces += [(shown, "strong"), (" ", "cursor")]
    filler = max(1, tally - cells(shown) - 1)
    words = f"{reads_as(row, parse_tally(typing.text)[0]) if typing.text.strip() else ''} {was}".strip()
    pieces.append((" " * filler + sanitize(words, max(0, left - cells(shown) - 1 - filler)), "plain"))
    return pieces


def end_line(typing: Typing | None, *, second: bool) -> list[tuple[str, str]]:
    """The line below the last row."""
    does = "shows where the two entries differ" if second else "shows the summary"
    if typing is None:
        return [("      end of the sheet", "muted")]
    if typing.line is not Line.ROW:
        return [(f">     {LABELS[typing.line]}: ", "strong"), (_tail(typing.words, 40), "strong"), (" ", "cursor")]
    ask = f"type the paper's total; Enter {does}"
    return [(">     end of the sheet: ", "strong"), (_tail(typing.text, 12), "strong"), (" ", "cursor"), (ask, "muted")]


def foot(above: Totals, whole: Totals, width: int) -> Content:
    """The totals, as they stand at the foot of the paper."""
    first = sanitize(f"  To row {above.rows:<4}{above}", width)
    second = sanitize(f"  All {whole.rows:<7}{whole}", width)
    return Content.assemble((first, "bold"), "\n", second)


def said(typing: Typing, question: str, stands: str, width: int) -> Content:
    """The word to the person at the keys, else what stands in the row; and the question that stands open: two lines."""
    word = Content.styled(f"  {sanitize(typing.said or stands, width - 4)}", "bold $text-accent" if typing.said else "")
    asked = Content.styled(f"  {MARK}{sanitize(question, width - 6)}" if question else "", "bold $text-warning")
    return Content("\n").join([word, asked])


def _past(visit: Visit | None) -> str:
    return "none" if visit is None else f"{catch(visit)} {visit.read_on.day} {visit.read_on:%b}"


def _tail(text: str, width: int) -> str:
    """The end of a long text: it is where the cursor is."""
    shown = sanitize(text[-2 * max(1, width) :])
    if len(text) <= len(shown) and cells(shown) <= width:
        return shown
    while shown and cells(shown) > width - 1:
        shown = shown[1:]
    return f"…{shown}"


class TallySheetScreen(RoundtuiScreen[None]):
    """The paper sheet of one route.

    Args:
        session: Who, where and when.
        route: Name of the route.
    """

    STOPPED = "The sheet cannot be opened"
    KEYS = SHEET
    AUTO_FOCUS = "#grid"
    CSS_PATH = "style.tcss"

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session)
        self.sheet = SheetEntry(session, route)
        self._shown: dict[str, Content] = {}

    def compose(self) -> ComposeResult:
        """Few widgets; a key touches one line of one of them."""
        yield from texts("head", "titles")
        yield SheetGrid(self.press, self._paste, self._line, id="grid")
        yield from texts("said", "totals", "keys")

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
            self._put_said()

    # --- showing -----------------------------------------------------------------------------------------------------

    def _line(self, place: int, width: int) -> list[Piece]:
        sheet = self.sheet
        typing = sheet.typing if place == sheet.at else None
        if place >= len(sheet.rows):
            return end_line(typing, second=sheet.keeper.second)
        row = sheet.rows[place]
        sample = RowView(
            row=row,
            hanging=self.session.programme.hanging(row.trap, row.read_on),
            typing=typing,
            past=sheet.keeper.past.get(row.trap) if sheet.shows_past else None,
            shows_past=sheet.shows_past,
            warning=sheet.unlikely.get(row.trap, ""),
            other=self._other(row),
        )
        return row_line(place, sample, width)

    def _show(self, changed: tuple[int, ...] = (), *, totals_stand: bool = False) -> None:
        """Bring the screen up to what is so.

        Args:
            changed: The only rows that may say something else now; none: any may.
            totals_stand: Whether no more changed than the text of the row typed on.
        """
        sheet, width = self.sheet, self.size.width
        self.grid.show(sheet.at, len(sheet.rows) + 1, changed)
        if not changed:
            self.grid.refresh()
        self._put_said()
        if totals_stand:
            return
        drafts = [row.draft for row in sheet.rows]
        whole = totals(drafts)
        what = "DOUBLE ENTRY, blind  " if sheet.keeper.second else "Tally sheet"
        self.put_head(f"{what} {sanitize(sheet.route, 14)}   {whole.rows - whole.blank} of {whole.rows}")
        self._put("titles", titles(width, shows_past=sheet.shows_past))
        self._put("totals", foot(totals(drafts[: sheet.at]), whole, width))
        first, second = strip(SHEET, width)
        if sheet.row is None and sheet.keeper.typed:
            first = f" {sheet.keeper.typed} rows saved   Enter summary   v double entry   m 1 differences"
        self._put("keys", Content(f"{sanitize(first, width)}\n{second}"))

    def _other(self, row: SheetRow) -> str:
        return "" if same_scout(row.scout or self.session.scout, self.session.scout) else row.scout

    def _put_said(self) -> None:
        sheet, row = self.sheet, self.sheet.row
        stands = ""
        if row is not None and row.draft is not None:
            warning = sheet.unlikely.get(row.trap, "")
            stands = f"{row.trap}: {reads_as(row, row.draft, warning, self._other(row))}"
        self._put("said", said(sheet.typing, sheet.question, stands, self.size.width))

    def _put(self, part: str, content: Content) -> None:
        if self._shown.get(part) != content:
            self._shown[part] = content
            self.parts[part].update(content, layout=False)
