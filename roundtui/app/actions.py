"""Every key of the app in one table: bindings, footers, help, palette and docs/keys.md are all made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.binding import BindingType


@dataclass(frozen=True, slots=True)
class Action:
    """Something a key does."""

    id: str
    """Name that stays, as walk.liner."""
    keys: str
    """Keys as the terminal names them, parted by commas; the ones on the number pad among them."""
    shown: str
    """The key as people call it."""
    pad: str
    """The key on the number pad; empty where there is none."""
    words: str
    """Two or three words for a footer."""
    help: str
    """One sentence for help and manual."""
    act: str = ""
    """Textual action; empty: the count field sees to it."""
    foot: str = ""
    """The key in the footer, where it is among the few that stand there."""


WALK = (
    Action(
        "walk.record",
        "enter,ctrl+j",
        "digits, Enter",
        "same",
        "record",
        "Record the count and go to the next trap.",
        foot="Enter",
    ),
    Action("walk.liner", "l,plus,add", "l", "+", "liner", "Liner replaced; again takes it back.", foot="l"),
    Action(
        "walk.lure",
        "r,asterisk,multiply",
        "r",
        "*",
        "lure",
        "Lure replaced; again takes it back. "
        "Asks for the lot only when more than one unexpired lot of the species exists.",
        foot="r",
    ),
    Action("walk.any-lure", "f3", "F3", "", "any lure", "Lure replaced: choose from every lot, other species too."),
    Action("walk.kill-strip", "k", "k", "", "kill strip", "Kill strip replaced; again takes it back."),
    Action(
        "walk.body",
        "b",
        "b",
        "",
        "body",
        "Trap body replaced: type the new body's label; Enter alone is a clean body, never used.",
    ),
    Action(
        "walk.left-in",
        "c,full_stop,comma,decimal,separator",
        "c",
        ". or ,",
        "left in",
        "Moths left in the trap, not cleared.",
    ),
    Action(
        "walk.no-reading",
        "x,slash,divide",
        "x, one letter",
        "/, one digit",
        "no reading",
        "No reading: s 1 skipped, c 2 closed, m 3 missing, d 4 down, g 5 damaged, o 6 other. "
        "Escape or Backspace calls it off, any other key is refused.",
        foot="x",
    ),
    Action("walk.others", "o", "o digits", "", "others", "Other insects in the trap."),
    Action("walk.estimate", "e", "e", "", "estimate", "The count is an estimate; again takes it back."),
    Action("walk.note", "n", "n text", "", "note", "A note, to the end of the line; Enter records it with the entry."),
    Action("walk.found", "w", "w", "", "wrong lure", "A wrong lure, or none, was found in the trap: choose which."),
    Action("walk.stage", "f", "f", "", "stage", "Fruit stage of this block, from the whole list."),
    Action(
        "walk.before",
        "up,minus,subtract",
        "Up",
        "-",
        "look back",
        "Look at the trap before; records nothing, and drops what was typed with a word. "
        "With text in the field, - only says so. While the stage waits, Up and Down change the stage.",
    ),
    Action("walk.after", "down", "Down", "", "look on", "Look at the trap after; as Up."),
    Action("walk.go-to", "g", "g text", "", "go to", "Go to a trap by its label."),
    Action(
        "walk.last",
        "z",
        "z",
        "",
        "set right",
        "Back to the entry recorded last, its old value beside the field; Enter on a new one is a correction, and both "
        "stay on record. At a trap that is read already: set that entry right.",
        foot="z",
    ),
    Action("walk.summary", "s", "s", "", "summary", "Summary so far.", foot="s"),
    Action("walk.back", "escape", "Escape", "", "back", "One step back; never loses a count at once."),
)
"""Keys of a round."""
DESK = (
    Action(
        "desk.open",
        "enter,ctrl+j",
        "Enter",
        "Enter",
        "open round",
        "Open the marked round, at first the first one due.",
        "open",
        foot="Enter",
    ),
    Action("desk.up", "up,minus,subtract", "Up", "-", "up", "Mark the round above.", "mark(-1)"),
    Action("desk.down", "down,plus,add", "Down", "+", "down", "Mark the round below.", "mark(1)"),
    Action("desk.summary", "s", "s", "", "summary", "Summary of all blocks.", "summary", foot="s"),
)
"""Keys of the desk."""
SUMMARY = (
    Action(
        "summary.told", "t", "t", "", "told", "Put on record who was told, how, and on which day.", "told", foot="t"
    ),
    Action("summary.up", "up", "Up, PgUp, Home", "", "up", "Read upward."),
    Action("summary.down", "down", "Down, PgDn, End", "", "read on", "Read on.", foot="Down"),
    Action("summary.back", "escape", "Escape", "", "back", "One step back.", "back", foot="Escape"),
)
"""Keys of the summary."""
APP = (
    Action("app.help", "f1,question_mark", "F1 or ?", "", "keys", "These keys.", "app.keys", foot="F1"),
    Action("app.guide", "f2", "F2", "", "guide", "How a round goes, on one page.", "app.guide"),
    Action(
        "app.looks",
        "f4",
        "F4",
        "",
        "looks",
        "Next look: dark, light, high contrast for the sun. It is kept.",
        "app.looks",
    ),
    Action(
        "app.leave",
        "ctrl+q",
        "ctrl+q",
        "",
        "leave",
        "Leave; everything entered is on the disk.",
        "app.quit",
        foot="ctrl+q",
    ),
)
"""Keys that work everywhere."""
PLACES: tuple[tuple[str, tuple[Action, ...]], ...] = (
    ("In a round", WALK),
    ("At the desk", DESK),
    ("In the summary", SUMMARY),
    ("Everywhere", APP),
)
"""All keys, by the place they work in."""


def bindings(actions: Iterable[Action], *, priority: bool = False) -> list[BindingType]:
    """Textual bindings of those actions that are not the count field's own.

    Args:
        actions: Rows of the table.
        priority: Whether they act before the focused widget sees the key.
    """
    from textual.binding import Binding

    return [
        Binding(
            action.keys,
            action.act,
            action.words,
            id=action.id,
            tooltip=action.help,
            show=bool(action.foot),
            priority=priority,
        )
        for action in actions
        if action.act
    ]


def footer(actions: Iterable[Action]) -> str:
    """The few keys that matter, in one line."""
    return "  ".join(f"{action.foot} {action.words}" for action in actions if action.foot)
