"""The keys of a place on one screen; and how a round goes, for the first time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from textwrap import fill, wrap
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import Action, every_place, step_strip, texts_of
from roundtui.app.screen import RoundtuiScreen, TextsScreen, texts
from roundtui.domain.programme.cautions import ENTRY_CHECK, HYGIENE, KILL_STRIP, LURES, OUTDOORS
from roundtui.domain.text import cells, padded
from roundtui.store.session import Session

WIDTH = 100
"""Longest line of a page, so that the eye finds the next one. [columns]"""
ROOMY = 110
"""Cells from which a page may have two columns."""


class HelpScreen(TextsScreen[None]):
    """The keys of one place on one screen; the marked one's whole sentence stands below them.

    Args:
        session: Who, where and when.
        here: Keys of the place that one comes from.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "said", "keys")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,question_mark", "back", "Back", id="help.back", tooltip="Back to where you were."),
        Binding("up", "mark(-1)", "Up", id="help.up", tooltip="The key above."),
        Binding("down", "mark(1)", "Down", id="help.down", tooltip="The key below."),
        Binding("left", "mark(-100)", "Left", id="help.left", tooltip="The column before."),
        Binding("right", "mark(100)", "Right", id="help.right", tooltip="The column after."),
        Binding("tab", "place", "Next place", id="help.place", tooltip="The keys of the next place.", priority=True),
    ]

    def __init__(self, session: Session, here: Sequence[Action] = ()) -> None:
        super().__init__(session)
        self.places = every_place()
        self.at = next((at for at, (_, actions) in enumerate(self.places) if actions == here), len(self.places) - 1)
        self.marked = 0

    @property
    def actions(self) -> tuple[Action, ...]:
        """Keys of the place, then those that work everywhere."""
        here = self.places[self.at][1]
        names = {one.name for one in here}
        everywhere = self.places[-1][1]
        return here if here is everywhere else (*here, *(one for one in everywhere if one.name not in names))

    @property
    def rows(self) -> int:
        """Rows of a column."""
        return max(1, self.size.height - 8)  # Bar, sentence with its margin, strip.

    def action_mark(self, step: int) -> None:
        """Mark another key; a hundred steps are a column."""
        step = step if abs(step) == 1 else self.rows * (1 if step > 0 else -1)
        self.marked = max(0, min(len(self.actions) - 1, self.marked + step))
        self._show()

    def action_place(self) -> None:  # type: ignore[override]
        """The keys of the next place."""
        self.at, self.marked = (self.at + 1) % len(self.places), 0
        self._show()

    def put_strip(self) -> None:
        """It is put there with the columns."""

    def _show(self) -> None:
        width, rows, actions = self.width, self.rows, self.actions
        columns = [actions[at : at + rows] for at in range(0, len(actions), rows)]
        rooms = [(max(cells(one.name) for one in part), max(cells(one.words) for one in part)) for part in columns]
        # No column is cut: those before the marked one's go first where there is no room for all.
        first, last = 0, len(columns)
        while sum(map(sum, rooms[first:last])) + 3 * (last - first) > width and last - first > 1:
            first, last = (first + 1, last) if first < self.marked // rows else (first, last - 1)
        spare = (width - 2 - sum(map(sum, rooms[first:last]))) // (last - first) - 3
        lines = []
        for row in range(rows):
            parts: list[str | tuple[str, str]] = [" "]
            for part, (name, said) in zip(columns[first:last], rooms[first:last], strict=True):
                if row < len(part):
                    words = padded(f"{padded(part[row].name, name)}  {part[row].words}", name + said + 2)
                    marked = part[row] is actions[self.marked]
                    parts += [(words, "bold reverse" if marked else ""), " " * (1 + max(0, min(spare, 9)))]
            lines.append(Content.assemble(*parts))
        more = "" if last - first == len(columns) else f"   ←→ column {first + 1} to {last} of {len(columns)}"
        self.put("keys", f" ↑↓←→ mark   Tab next place   ctrl+p search   Esc back\n F2 how a round goes{more}")
        self.put_head(f"Keys   {self.places[self.at][0]}")
        self.put("list", Content("\n").join(lines))
        one = actions[self.marked]
        pad = f"On the number pad: {one.pad}. " if one.pad not in ("", "same") else ""
        self.put("said", "\n".join(wrap(f"{one.name}: {one.help} {pad}", width - 4)[:4]))


*STEPS, END = (" ".join(part.split()) for part in texts_of("guide").split("\n\n"))
"""How a round goes, and what holds throughout."""


class PageScreen(RoundtuiScreen[None]):
    """A page to read; Escape goes back to where one was."""

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,f2", "back", "Back", id="page.back", tooltip="Back to where you were.")
    ]
    NAME = ""
    COLUMNS: ClassVar[int] = 1
    """Columns of text, where there is much room."""

    def compose(self) -> ComposeResult:
        """A bar, the page, the keys."""
        yield from texts("head")
        with VerticalScroll(id="page"):
            yield Static(self.page(), markup=False)
        yield from texts("keys")

    def put_strip(self) -> None:
        """A page has two keys, and one where all of it is in view."""
        moves = "↑↓ PgUp PgDn read on" if self.reads_on else ""
        self.put("keys", "\n".join(step_strip("", moves, "Esc back", self.width)))

    def on_mount(self) -> None:
        """Arrows scroll."""
        self.put_head(self.NAME)
        self.set_focus(self.query_one("#page"))

    def fold(self, words: str, mark: str = "", hang: int = 4) -> str:
        """A paragraph in lines of the page, behind its mark."""
        width, below = min(WIDTH, self.across - 6), " " * (len(mark) or hang)
        return fill(words, width, initial_indent=mark, subsequent_indent=below) + "\n"

    @property
    def across(self) -> int:
        """Cells that a paragraph may take, with the margins."""
        width = self.app.size.width
        return width // self.COLUMNS if width >= ROOMY else width

    def page(self) -> Content:
        """What is on it."""
        raise NotImplementedError


class GuideScreen(PageScreen):
    """One page on how a round goes."""

    NAME = "Guide"
    COLUMNS = 2

    def page(self) -> Content:
        """The steps, then the cautions that go with them; side by side where there is room."""
        steps = "".join(self.fold(words, f"{number}  ") for number, words in enumerate(STEPS, 1))
        care = "".join(self.fold(words, "!  ") for words in (ENTRY_CHECK, KILL_STRIP, LURES, HYGIENE, OUTDOORS))
        begin, then, end, across = "A round, step by step", "Take care", self.fold(END, hang=0), self.across
        if across == self.app.size.width:
            return Content.assemble((f"{begin}\n\n", "bold"), f"{steps}\n{end}\n", (f"{then}\n\n", "bold"), care)
        lines = zip_longest(steps.splitlines(), f"{care}\n{end}".splitlines(), fillvalue="")
        said = "\n".join(f"{left:<{across}}{right}" for left, right in lines)
        return Content.assemble((f"{begin:<{across}}{then}\n\n", "bold"), said)
