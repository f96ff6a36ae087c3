"""A round that comes in on paper: rows in the order of the sheet, one Enter a row, each on the disk when it is left.

The rows are drawn line by line: a key draws the one line it changes again, and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from textwrap import wrap
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from roundtui.app.keys import Action, keys_of, strip
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.count_input import presses
from roundtui.domain.entries import KIND_OF, Draft, Form, Visit, marked
from roundtui.domain.paper.sheet import Ask, Line, SheetRow, Totals, Typing, totals
from roundtui.domain.programme.species import called
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.tally import REASON_HINT, format_tally, parse_tally
from roundtui.domain.text import WARNS, cells, padded, sanitize
from roundtui.report.paper import reads_as
from roundtui.store.paper.sheet_state import SheetEntry
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
        plain = self._style("plain")
        if place >= self.rows:
            return Strip([Segment(" " * width, plain)], width)
        ground = self._style("at") if place == self.at else plain
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
WIDE = 116
"""Columns from which the trap of the marked row and the marks stand beside the rows."""
ROOMY = 70
"""Columns from which each row has its day, also where it is the day in the head."""
ASIDE = 33
"""Columns that they take."""
_VISIT = KIND_OF["visit"]


def _paired(words: Sequence[str]) -> list[str]:
    """Short words, two on a line."""
    return ["".join(f"{one:<16}" for one in words[at : at + 2]).rstrip() for at in range(0, len(words), 2)]


_OTHERS, *_NUMBERS = [(f"{one.fact.mark}3", one.fact.short) for one in marked(_VISIT, Form.WHOLE)]
_MARKS = (
    *((one.fact.mark, one.fact.short) for one in marked(_VISIT, Form.FLAG)),
    *(("r", "lure"), ("b", "body"), ("n:", "note"), _OTHERS),
    *((f"x{one[0]}", one[2:]) for one in REASON_HINT.split(", ")),
    *_NUMBERS,
    ("w:", "lure found"),
)
"""The marks of a row, each with what it means."""
CRIB = (
    "12  moths; 0 is a count",
    *_paired([f"{mark:<3}{means}" for mark, means in _MARKS]),
    *("r:LOT b:LABEL  another one", "w:LOT w:none", "n: to the end of the row"),
)
"""The same in lines beside the rows."""
CRIB_SHORT = "  ".join(f"{mark} {means}".replace(" ", "\N{NO-BREAK SPACE}") for mark, means in _MARKS)
"""The same in two lines, where nothing else is said."""


def _tally(width: int) -> int:
    """Cells for what is typed on a row; what it reads as stands behind it."""
    return 10 if width < ROOMY else 14 if width < 100 else 20


def row_words(row: SheetRow, draft: Draft | None, warning: str = "", by: str = "") -> str:
    """What stands in a row, or is typed on it, in words.

    Args:
        row: The row.
        draft: What it says; None: nothing that can be read.
        warning: What is to be remarked on.
        by: Who typed it, where it was somebody else.
    """
    words = reads_as(draft.visit(row.trap, row.read_on)) if draft is not None else ""
    who = f"by {sanitize(by, 16)}" if by else ""
    return ", ".join(filter(None, (who, words, f"{WARNS}{warning}" if warning else "")))


def _short(visit: Visit) -> str:
    """The count of a visit or why there is none, as a row has it."""
    return format_tally(Draft(count=visit.count, no_reading=visit.no_reading))


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _past_cells(words: Sequence[str]) -> str:
    """What stands under the days of before: numbers under each other, room for a day behind the last."""
    return "".join(f"{one:>7}" for one in words[:-1]) + "".join(f"{one:>12}" for one in words[-1:])


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
    lines = [f"  To row {above.rows:<4}{above}", f"  All {whole.rows:<7}{whole}"]
    if max(map(cells, lines)) > width:
        lines = [f" {name:<6}  {_in_marks(one)}" for name, one in ((f"To {above.rows}", above), ("All", whole))]
    first, second = (sanitize(line, width) for line in lines)
    return Content.assemble((first, "bold"), "\n", second)


def _in_marks(one: Totals) -> str:
    """Totals where there is little room, the reasons as they are typed."""
    why = ", ".join(f"{format_tally(Draft(no_reading=reason))} {number}" for reason, number in one.not_read)
    return f"count {one.count}  others {one.others}  blank {one.blank}  not read {why or 0}"


def said(typing: Typing, question: str, stands: str, width: int) -> Content:
    """The word to the person at the keys, else what stands in the row; and the question that stands open: two lines."""
    word = Content.styled(f"  {sanitize(typing.said or stands, width - 4)}", "bold $text-accent" if typing.said else "")
    if not (typing.said or question) and width < WIDE:
        lines = wrap(CRIB_SHORT, width - 4, max_lines=1 if stands else 2, placeholder="  ? all")
        return Content("\n").join([*([word] if stands else []), *(Content(f"  {line}") for line in lines)])
    asked = Content.styled(f"  {WARNS}{sanitize(question, width - 6)}" if question else "", "bold $text-warning")
    return Content("\n").join([word, asked])


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
        self.label = max(4, min(10, max((cells(row.trap) for row in self.sheet.rows), default=0)))
        """Cells of the longest label."""
        self._shown: dict[str, Content] = {}
        self._counted: tuple[int, list[Draft | None]] = (-1, [])
        """The row that is typed on, and what all rows say, as head and foot tell it."""
        self._dated = True
        """Whether each row has its day."""

    def compose(self) -> ComposeResult:
        """Few widgets; a key touches one line of one of them."""
        yield from texts("head", "titles")
        with Horizontal():
            yield SheetGrid(self.press, self._paste, self._line, id="grid")
            yield from texts("aside")
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
        at = sheet.at
        several = sheet.press(key)
        self._show(() if several else (at, sheet.at))
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

    def _days(self, width: int) -> list[date]:
        """Days of which the rows show what the traps had, the newest last."""
        number = 1 + max(0, min(5, (width - 80) // 7))
        return self.sheet.keeper.days[-number:] if self.sheet.shows_past else []

    def _titles(self, width: int) -> str:
        """The head of the columns."""
        days = [_day(day) for day in self._days(width)]
        past = _past_cells([*days[:-1], f"last {days[-1]}"] if days else [])
        day = f"{'day':<6}" if self._dated else ""
        return f"   no {'trap':<{self.label + 1}}{'pest':<6}{day}{past}  {'tally':<{_tally(width)}}reads as"

    def _past(self, trap: str, days: Sequence[date]) -> str:
        """What a trap showed on some days, and where it was on none of them, what it showed last."""
        visits = self.sheet.keeper.past.get(trap, [])
        by_day = {visit.read_on: _short(visit) for visit in visits}
        said = [by_day.get(day, "·") for day in days]
        if visits and days and not by_day.keys() & set(days):
            said[-1] = f"{_short(visits[0])} ({_day(visits[0].read_on)})"
        return _past_cells(said)

    def _line(self, place: int, width: int) -> list[Piece]:
        sheet = self.sheet
        typing = sheet.typing if place == sheet.at else None
        if place >= len(sheet.rows):
            return end_line(typing, second=sheet.keeper.second)
        row = sheet.rows[place]
        hanging = self.session.programme.hanging(row.trap, row.read_on)
        where = f"{padded(row.trap, self.label)} {padded(hanging.species if hanging else '', 5)} "
        where += f"{_day(row.read_on):<6}" if self._dated else ""
        pieces = [
            (f"{'>' if typing is not None else ' '} {place + 1:>3} ", "strong" if typing is not None else "plain"),
            (f"{where}{self._past(row.trap, self._days(width))}  ", "plain"),
        ]
        left, tally = width - sum(cells(text) for text, _ in pieces), _tally(width)
        stands = format_tally(row.draft) if row.draft is not None else ""
        if typing is None:
            # The row that is marked has it in full below.
            warning, other = sheet.unlikely.get(row.trap, ""), self._other(row)
            words = row_words(row, row.draft, by=other)
            if warning:
                # The count stands beside it.
                said = f"{WARNS}{warning.split('? ', maxsplit=1)[-1]}"
                words = said if cells(said) <= left - tally else said.split(" (", maxsplit=1)[0]
            pieces.append((padded(stands, tally - 1) + " ", "plain"))
            pieces.append((sanitize(words, max(0, left - tally)), "warning" if warning or other else "plain"))
        elif typing.line is not Line.ROW:
            words = _tail(typing.words, left - 16)
            pieces += [(f"{LABELS[typing.line]}: ", "strong"), (words, "strong"), (" ", "cursor")]
        else:
            was = f"(is {stands})" if stands else ""
            shown = _tail(typing.text, left - 1 - (min(cells(was), 20) + 2 if was else 0))
            pieces += [(shown, "strong"), (" ", "cursor")]
            filler = max(1, tally - cells(shown) - 1)
            words = row_words(row, parse_tally(typing.text)[0]) if typing.text.strip() else self._due(row)
            words = f"{words} {was}".strip()
            pieces.append((" " * filler + sanitize(words, max(0, left - cells(shown) - 1 - filler)), "plain"))
        return pieces

    def _aside(self) -> Content:
        """The trap of the marked row with what it showed before, and the marks."""
        row, programme = self.sheet.row, self.session.programme
        hanging = programme.hanging(row.trap, row.read_on) if row is not None else None
        lines: list[tuple[str, str]] = []
        if row is not None and hanging is not None:
            block = programme.blocks.get(hanging.block)
            farm = programme.farms.get(block.farm) if block else None
            what = f"{block.block} {block.name}, {block.crop} {block.variety}" if block else hanging.block
            lines = [
                (f"{row.trap}  {called(hanging.species)}", "bold"),
                (", ".join(filter(None, (hanging.style, *hanging.spot))), ""),
                *((line, "") for line in wrap(sanitize(what), ASIDE - 3, max_lines=2)),
            ]
            lines += [(farm.name, "")] if farm else []
            lines += [(one.said, "bold" * one.now) for one in self.session.due.get(row.trap, ())]
            past = self.sheet.keeper.past.get(row.trap, ())[:6] if self.sheet.shows_past else ()
            lines += [("", ""), ("Last readings", "underline")] if past else []
            lines += [(words, "") for words in _paired([f"{_short(one):>4} on {_day(one.read_on)}" for one in past])]
            lines += [("", "")]
        lines += [("Marks", "underline"), *((words, "") for words in CRIB)]
        return Content("\n").join(Content.styled(sanitize(words, ASIDE - 3), style) for words, style in lines)

    def _show(self, changed: tuple[int, ...] = ()) -> None:
        """Bring the screen up to what is so.

        Args:
            changed: The only rows that may say something else now; none: any may.
        """
        sheet, width = self.sheet, self.size.width
        self.parts["aside"].display = width >= WIDE
        roomy = width >= ROOMY
        self._dated = roomy or any(row.read_on != self.session.on for row in sheet.rows)
        self.grid.show(sheet.at, len(sheet.rows) + 1, changed)
        if not changed:
            self.grid.refresh()
        self._put_said()
        wide, top, rows = width - ASIDE if width >= WIDE else width, self.grid.top, len(sheet.rows)
        last = min(rows, top + self.grid.size.height)
        seen = f" {top + 1}–{last} of {rows}" if last - top < rows else ""
        self._put("titles", Content.styled(padded(self._titles(wide), wide - cells(seen)) + seen, "bold"))
        before, self._counted = self._counted, (sheet.at, [row.draft for row in sheet.rows])
        if changed and before == self._counted:
            return  # Neither head nor foot says anything of what is only typed.
        drafts = self._counted[1]
        whole = totals(drafts)
        names = ("BLIND 2nd", "DOUBLE ENTRY, blind  ") if sheet.keeper.second else ("Sheet", "Tally sheet")
        self.put_head(f"{names[roomy]} {sanitize(sheet.route, 14)}   {whole.rows - whole.blank} of {whole.rows}")
        if width >= WIDE:
            self._put("aside", self._aside())
        self._put("totals", foot(totals(drafts[: sheet.at]), whole, width))
        first, second = strip(SHEET, width)
        if sheet.row is None and sheet.keeper.typed:
            first = f" {sheet.keeper.typed} rows saved   Enter summary   v double entry   m 1 differences"
        self._put("keys", Content(f"{sanitize(first, width)}\n{second}"))

    def _due(self, row: SheetRow) -> str:
        return "  ".join(one.said for one in self.session.due.get(row.trap, ()) if one.now and row.draft is None)

    def _other(self, row: SheetRow) -> str:
        return "" if same_scout(row.scout or self.session.scout, self.session.scout) else row.scout

    def _put_said(self) -> None:
        sheet, row = self.sheet, self.sheet.row
        stands = ""
        if row is not None and row.draft is not None:
            warning = sheet.unlikely.get(row.trap, "")
            stands = f"{row.trap}: {row_words(row, row.draft, warning, self._other(row))}"
        elif row is not None and not sheet.typing.text and self.size.width < WIDE:
            # What the row has no room for.
            room = self.size.width - self._titles(self.size.width).index("reads as")
            stands = f"{row.trap}: {self._due(row)}" if cells(self._due(row)) > room else ""
        self._put("said", said(sheet.typing, sheet.question, stands, self.size.width))

    def _put(self, part: str, content: Content) -> None:
        if self._shown.get(part) != content:
            self._shown[part] = content
            self.parts[part].update(content, layout=False)
