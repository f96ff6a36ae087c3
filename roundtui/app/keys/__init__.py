"""What keys do: bindings, footers, help, palette and docs/keys.md are all made from the tables beside this file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from textual.binding import Binding, BindingType

from roundtui.domain.entries import KIND_OF, Form, marked
from roundtui.domain.records import Frozen

OPENS = "opens"
"""Group of the work that a key sets off and the next key waits for: it opens a screen or a dialog."""


class Action(Frozen):
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
    """The key on the first line of the strip, where it is among the few that stand there."""
    move: str = ""
    """The key on its second line: what moves about."""
    menu: int = 0
    """Its digit in the menu; 0: it has a key of its own."""
    place: str = ""
    """Folder of the screen it opens, where it is a place that the menu leads to from anywhere."""
    was: str = ""
    """Key that did it before; pressed where it means nothing now, it says where it went."""

    @property
    def name(self) -> str:
        """The key as people call it."""
        return self.shown or (f"m {self.menu}" if self.menu else self.keys.split(",")[0])


def bindings(actions: Iterable[Action], *, priority: bool = False) -> list[BindingType]:
    """Textual bindings of those actions that are not the count field's own.

    Args:
        actions: Rows of the table.
        priority: Whether they act before the focused widget sees the key.
    """
    return [
        Binding(action.keys, action.act, action.words, id=action.id, tooltip=action.help, priority=priority)
        for action in actions
        if action.act and action.keys
    ]


MORE = "m more   ? keys   Esc back"
"""Ends every strip, so that these three always stand at the same place."""


def dead_key(actions: Iterable[Action], key: str) -> str:
    """What is said to a key that does nothing here.

    Args:
        actions: Keys of the place.
        key: The character.
    """
    moved = next((action for action in actions if key.lower() in action.was.split(",")), None)
    if moved is not None:
        return f"{key} moved: {moved.words} is {moved.name} now"
    return f"{key} does nothing here: ? shows the keys, m the rest"


def strip(actions: Sequence[Action], width: int = 80) -> tuple[str, str]:
    """The keys that matter, in two lines: what is done here, and what moves about.

    Args:
        actions: Keys of a place.
        width: Columns.
    """
    acts, moves = (
        "   ".join(f"{getattr(action, line)} {action.words}" for action in actions if getattr(action, line))
        for line in ("foot", "move")
    )
    back = next((f"Esc {action.words}" for action in actions if action.name == "Escape"), "")
    return step_strip(acts, moves, MORE.replace("Esc back", back).rstrip(), width)


def step_strip(acts: str, moves: str, leaves: str, width: int) -> tuple[str, str]:
    """The two lines at the foot; what has no room on one of them goes on behind the other, as far as it can.

    Args:
        acts: What acts now, parted by three spaces.
        moves: What moves about.
        leaves: What leads out, always at the same place.
        width: Columns.
    """
    room, tight = width - len(leaves) - 4, moves.replace("   ", "  ")
    moves = tight if len(tight) <= room < len(moves) else moves
    first, more = _fitting(acts.split("   "), width - 1)
    second, left = _fitting([one for one in (*moves.split("   "), *more) if one], room)
    if not more:
        first, _ = _fitting([one for one in (*first.split("   "), *left) if one], width - 1)
    return f" {first}", f" {second:<{room}}  {leaves}"


def _fitting(words: Sequence[str], width: int) -> tuple[str, Sequence[str]]:
    """As many of some words as have room, none of them cut, and those that have none."""
    for many in range(len(words), 0, -1):
        said = "   ".join(words[:many])
        if len(said) <= width:
            return said, words[many:]
    return "", words


_MARK = r"""up; up,minus,subtract; mark; act=mark(-1); shown=Up; pad=-; move=↑↓
    \1 above.
down; down,plus,add; down; act=mark(1); shown=Down; pad=+
    \1 below."""
_BACK = """back; escape; back; act=back; shown=Escape
    One step back."""


def texts_of(file: str) -> str:
    """What stands in a file beside this one.

    Args:
        file: Its name, without its ending.
    """
    return Path(__file__).with_name(f"{file}.txt").read_text(encoding="utf-8")


@cache
def _sections(file: str) -> dict[str, tuple[str, str]]:
    """Title and rows of the places that stand in one file of keys, by name."""
    found = re.findall(r"^\[([\w-]+)\] (.*)\n((?:.+\n)*)", texts_of(file), re.MULTILINE)
    return {place: (title, rows) for place, title, rows in found}


@cache
def keys_of(file: str, place: str) -> tuple[Action, ...]:
    """Keys of a place.

    Args:
        file: File they stand in, without its ending.
        place: Name of the place there.
    """
    return table(place, _sections(file)[place][1])


def every_place() -> list[tuple[str, tuple[Action, ...]]]:
    """All keys, by the place they work in, in the order of their files; what works everywhere comes last."""
    files = [(file, place) for file in ("round", "desk", "season") for place in _sections(file)]
    files.sort(key=lambda one: one[1] == "app")
    return [(_sections(file)[place][0], keys_of(file, place)) for file, place in files]


def _marks(text: str) -> str:
    """Rows of the marks of a visit that have none of their own, as declared with its fields."""
    visit, rows = KIND_OF["visit"], []
    for one in (*marked(visit, Form.WHOLE), *marked(visit, Form.FLAG)):
        if not re.search(rf"^[\w-]+; {one.fact.mark}[;,]", text, re.MULTILINE):
            shown = f"{one.fact.mark} digits" if one.form is Form.WHOLE else one.fact.mark
            rows.append(f"{one.name}; {one.fact.mark}; {one.fact.short}; shown={shown}\n  {one.fact.words}")
    return "\n".join(rows)


def table(place: str, text: str) -> tuple[Action, ...]:
    """Rows of a table of keys.

    Args:
        place: First half of their names.
        text: For each a line with name, keys, words and further fields, and its sentence on indented lines below it;
            ``mark`` with what the rows are, and ``back``, alone, stand for what is the same in most tables, ``marks``
            for what a visit may say that has no row here.
    """
    text = re.sub(r"^mark; (.*)$", _MARK, text, flags=re.MULTILINE)
    text = re.sub(r"^marks$", lambda _: _marks(text), text, flags=re.MULTILINE)
    text = re.sub(r"^back$", _BACK, text, flags=re.MULTILINE)
    found = []
    for head, words in re.findall(r"^(\S.*)\n?((?: .*\n?)*)", text, re.MULTILINE):
        name, keys, short, *rest = head.split("; ")
        more = dict(one.split("=", 1) for one in rest)
        menu = int(more.pop("menu", "0"))
        found.append(Action(f"{place}.{name}", keys, short, " ".join(words.split()), menu=menu, **more))
    return tuple(found)
