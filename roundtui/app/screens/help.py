"""All keys on one page."""

from __future__ import annotations

from collections.abc import Collection
from textwrap import fill
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from roundtui.app.actions import PLACES

WIDTH = 74
"""Longest line of a page, so that it reads at 80 columns. [columns]"""
INDENT = "      "
CLOSE = "Escape goes back   Up Down PgUp PgDn read on"


class PageScreen(Screen[None]):
    """A page to read; Escape goes back to where one was."""

    CSS_PATH = "../styles/page.tcss"
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
        here: Ids of the actions of that place.
    """

    NAME = "Keys"

    def __init__(self, here: Collection[str] = ()) -> None:
        super().__init__()
        first = max(PLACES[:-1], key=lambda place: sum(action.id in here for action in place[1]))
        self._places = (first, *(place for place in PLACES if place is not first))

    def page(self) -> Content:
        """Keys by place."""
        parts: list[str | tuple[str, str]] = []
        for title, actions in self._places:
            parts.append((f"{title}\n", "bold"))
            for action in actions:
                pad = f"or {action.pad}" if action.pad and action.pad not in {"same", action.shown} else ""
                parts.append((f"  {action.shown} {pad}".rstrip(), "bold"))
                parts.append(f"\n{fill(action.help, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT)}\n")
            parts.append("\n")
        return Content.assemble(*parts)
