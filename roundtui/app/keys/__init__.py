"""What keys do: bindings, footers, help, palette and docs/keys.md are all made from the tables beside this file."""

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
    words: str
    """Two or three words for a footer."""
    help: str
    """One sentence for help and manual."""
    act: str = ""
    """Textual action; empty: the count field sees to it."""
    shown: str = ""
    """The key as people call it; empty: the first of the keys."""
    pad: str = ""
    """The key on the number pad; empty where there is none."""
    foot: str = ""
    """The key in the footer, where it is among the few that stand there."""

    @property
    def name(self) -> str:
        """The key as people call it."""
        return self.shown or self.keys.split(",")[0]


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
