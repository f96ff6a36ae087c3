"""All keys on one page.

How a round goes, for the first time.
"""

from __future__ import annotations

from collections.abc import Collection
from textwrap import fill
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys.page import PLACES
from roundtui.app.screen import RoundtuiScreen
from roundtui.domain.programme.cautions import ENTRY_CHECK, HYGIENE, KILL_STRIP, LURES, OUTDOORS
from roundtui.store.session import Session

WIDTH = 74
"""Longest line of a page, so that it reads at 80 columns. [columns]"""
INDENT = "      "
CLOSE = "Escape goes back   Up Down PgUp PgDn read on"


class PageScreen(RoundtuiScreen[None]):
    """A page to read; Escape goes back to where one was."""

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,f2", "close", "Back", id="page.close", tooltip="Back to where you were.")
    ]
    NAME = ""

    def compose(self) -> ComposeResult:
        """A bar, the page, the keys."""
        yield Static(f" {self.NAME}", classes="bar", markup=False)
        with VerticalScroll(id="page"):
            yield Static(self.page(), markup=False)
        yield Static(f" {CLOSE}", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Arrows scroll."""
        self.set_focus(self.query_one("#page"))

    def page(self) -> Content:
        """What is on it."""
        raise NotImplementedError

    def action_close(self) -> None:
        """Back to where one was."""
        self.dismiss()


class HelpScreen(PageScreen):
    """Keys, from the table of actions; those of the place that one comes from stand first.

    Args:
        session: Who, where and when.
        here: Ids of the actions of that place.
    """

    NAME = "Keys"

    def __init__(self, session: Session, here: Collection[str] = ()) -> None:
        super().__init__(session)
        first = max(PLACES[:-1], key=lambda place: sum(action.id in here for action in place[1]))
        self._places = (first, *(place for place in PLACES if place is not first))

    def page(self) -> Content:
        """Keys by place."""
        parts: list[str | tuple[str, str]] = []
        for title, actions in self._places:
            parts.append((f"{title}\n", "bold"))
            for action in actions:
                pad = f"or {action.pad}" if action.pad and action.pad not in {"same", action.name} else ""
                parts.append((f"  {action.name} {pad}".rstrip(), "bold"))
                parts.append(f"\n{fill(action.help, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT)}\n")
            parts.append("\n")
        return Content.assemble(*parts)


STEPS = (
    "The desk marks the first round that is due. Enter opens it.",
    "On entering a farm a line asks whether the entry interval has been checked with the grower. It needs no key.",
    "At a block's first trap its fruit stage stands above the count, as it was last time. Enter: seen, "
    'unchanged. Down or Up: another one. f: the whole list. A digit starts the count, and the stage stays "not'
    ' looked at".',
    "Type what is in the trap and press Enter. 0 is a count. Blank is no entry: the app stays there and says so.",
    "What you did goes with the count, before Enter and in any order: l liner, r lure, k kill strip, b body, c not "
    "cleared, e estimate, o12 other insects, n a note, w a wrong lure found. So 4o12lr is a whole entry.",
    "No count? x and a letter: s skipped, c closed, m missing, d down, g damaged, o other. On the number pad /"
    " and 1 to 6. So xm is a whole entry.",
    (
        "A mistake? z goes back to the last entry; type the right value and press Enter. Both stay on record, with who "
        "and when."
    ),
    "Up and Down show the traps beside and record nothing. g and a label goes to a trap.",
    "After the last trap Enter shows the summary. t there records whom you called, how, and when.",
)
END = (
    "Every entry is on the disk before the next trap shows. You can close the lid at any time, and go on where you "
    "stopped, up to six days later."
)


class GuideScreen(PageScreen):
    """One page on how a round goes."""

    NAME = "Guide"

    def page(self) -> Content:
        """The steps, then the cautions that go with them."""
        parts: list[str | tuple[str, str]] = [("A round, step by step\n\n", "bold")]
        parts += [_hanging(f"{number}  ", words) for number, words in enumerate(STEPS, 1)]
        parts += [f"\n{fill(END, WIDTH)}\n\n", ("Take care\n\n", "bold")]
        parts += [_hanging("!  ", words) for words in (ENTRY_CHECK, KILL_STRIP, LURES, HYGIENE, OUTDOORS)]
        return Content.assemble(*parts)


def _hanging(mark: str, words: str) -> str:
    return fill(words, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark)) + "\n"
