"""Lists of rows under titled rules, one row marked: the desk and the summary are made of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from textual.content import Content

from roundtui.domain.records import Frozen
from roundtui.domain.text import cells, padded, sanitize

T = TypeVar("T")
Size = tuple[int, int]
"""Columns and lines."""
Words = Callable[[T], str]
"""What is said of a row."""


def listed(
    rows: Sequence[T], marked: int, size: Size, line: Words[T], nothing: str = "", *, head: str = "", each: int = 0
) -> Content:
    """A line for each row, as many as fit, the marked one among them; at the ends how many more there are.

    Rows that have no room below each other stand side by side, where a half of the width or less is enough for them.

    Args:
        rows: The list.
        marked: Which one is marked.
        size: Columns and lines to fill; the head has a line of its own above them.
        line: What is said of a row.
        nothing: What is said where there is none.
        head: Names of columns; empty: there are none.
        each: Columns that are enough for a row; 0: it takes all.
    """
    width, height = size
    side = max(1, min(width // each, -(-len(rows) // height))) if each else 1
    width, room = (width + 2) // side - 2, height * side
    first = max(0, min(marked - room // 2, len(rows) - room))
    lines = [Content(nothing)] if not rows else []
    last = min(len(rows), first + room) - 1
    for at, row in enumerate(rows[first : last + 1], first):
        more = [f"{first} more ↑"] if at == first and first else []
        more += [f"{len(rows) - last - 1} more ↓"] if at == last and last + 1 < len(rows) else []
        end = "".join(f"  {one} " for one in more)
        words = f"{'>' if at == marked else ' '} {line(row)}"
        end = end if cells(words) + cells(end) <= width else end.replace(" more", "")
        words = padded(words, max(1, width - cells(end))) + end
        lines.append(pointed(words) if at == marked else Content(words))
    heads = [[Content.styled(padded(head.rstrip(), width), "underline")] * side] if head else []
    # Down the first column, then down the next.
    columns = (lines[at::height] for at in range(min(height, len(lines))))
    return Content("\n").join(Content("  ").join(one) for one in (*heads, *columns))


def pointed(words: str) -> Content:
    """The marked row: in reverse but for its bars and curves, which in reverse would show empty what is full."""
    parts = re.split("([█▌░]{2,}|[▁▂▃▅▆▇·]{4,})", words)
    return Content.assemble(*((part, "bold" if at % 2 else "bold reverse") for at, part in enumerate(parts) if part))


def rule(title: str, width: int) -> str:
    """A title with a line to the right edge; what signs mean may follow it behind a tab, and goes before it."""
    name, _, signs = title.partition("\t")
    tight = signs.replace("  ", " ")
    tries = (f"{name}  {signs}", f"{name} {tight}", f"{name.split(',')[0]} {tight}", tight) if signs else (name,)
    title = next((one for one in tries if cells(one) + 3 <= width), tries[-1])
    said = sanitize(f"─ {title} ", width)
    return said + "─" * (width - cells(said))


def tabs(names: Sequence[str], shown: int, width: int) -> str:
    """Views with their digits, the one shown in brackets; where there is too little room it alone, and how many.

    Args:
        names: Their names, in order.
        shown: Place of the one shown.
        width: Columns.
    """
    said = [f"{at} {name}".rstrip() for at, name in enumerate(names, 1)]
    said[shown] = f"[{said[shown]}]"
    for margin, between in ((" ", "  "), (" ", " "), ("", " ")):
        line = margin + between.join(said)
        if cells(line) <= width:
            return line
    return f" {said[shown]}  1 to {len(names)}"


class Row(Frozen):
    """A line that can be marked."""

    words: str
    """What it says; cut at the right edge."""
    opens: tuple[object, ...] = ()
    """Folder of the screen that Enter opens, and what that is asked to show."""
    style: str = ""
    """Style while it is not marked."""
    more: str = ""
    """What is said below while it is marked; empty: its words, where they are cut."""


class Part(Frozen):
    """Rows under one title."""

    title: str
    """What they are."""
    rows: tuple[Row, ...]
    """In the order shown."""
    head: str = ""
    """Names of their columns; empty where there are none."""


class Board:
    """Parts with a mark that stays where it was when they are filled anew."""

    def __init__(self) -> None:
        self.parts: tuple[Part, ...] = ()
        self.at = (0, 0)
        """Part and row of the mark."""

    def fill(self, parts: Sequence[Part]) -> None:
        """Show other rows.

        Args:
            parts: From the top down; those without rows are left out.
        """
        titles = [part.title for part in self.parts]
        here = titles[self.at[0]].split()[0] if titles else ""
        self.parts = tuple(part for part in parts if part.rows)
        part = next((at for at, one in enumerate(self.parts) if one.title.split()[0] == here), None)
        self.at = (0, 0) if part is None else (part, min(self.at[1], len(self.parts[part].rows) - 1))

    @property
    def row(self) -> Row | None:
        """The marked row."""
        return self.parts[self.at[0]].rows[self.at[1]] if self.parts else None

    def mark(self, step: int) -> None:
        """Mark a row above or below; past the end of a part that of the next."""
        flat = [(part, row) for part, one in enumerate(self.parts) for row in range(len(one.rows))]
        if flat:
            self.at = flat[max(0, min(len(flat) - 1, flat.index(self.at) + step))]

    def next_part(self) -> None:
        """Mark the first row of the next part."""
        self.at = ((self.at[0] + 1) % max(1, len(self.parts)), 0)

    def drawn(self, width: int, height: int) -> Content:
        """All parts, each with as many of its rows as there is room for, the marked one among them.

        Args:
            width: Columns.
            height: Lines.
        """
        lines: list[Content] = []
        for at, (part, room) in enumerate(zip(self.parts, self._rooms(height), strict=True)):
            here = at == self.at[0]
            first = max(0, min(self.at[1] - room // 2, len(part.rows) - room)) if here else 0
            shown = part.rows[first : first + room]
            above, below = first, len(part.rows) - first - len(shown)
            more = [f"{above} more ↑"] if above else []
            more += [f"{below} more ↓" if here else f"{below} more: Tab, ↓"] if below else []
            cut = f" {'  '.join(more)} ─" if more else ""
            cut = cut if cells(part.title + cut) + 3 < width else cut.replace(" more", "") if here else cut[:-2]
            lines.append(Content.styled(rule(part.title, width - cells(cut)) + cut, "bold"))
            lines += [Content.styled(padded(part.head, width), "underline")] if part.head else []
            for row, one in enumerate(shown, first):
                marked = here and row == self.at[1]
                words = padded(f"{'>' if marked else ' '}{one.words}", width)
                lines.append(pointed(words) if marked else Content.styled(words, one.style))
        return Content("\n").join(lines[:height])

    def said(self, width: int, height: int) -> str:
        """The marked row in full, as far as its line does not say it.

        Args:
            width: Columns.
            height: Lines.
        """
        from textwrap import wrap

        row = self.row
        if row is None:
            return ""
        words = row.more or (row.words.strip() if cells(row.words) > width + 1 else "")
        return "\n".join(wrap(words, width, max_lines=max(1, height), placeholder=" …"))

    def _rooms(self, height: int) -> list[int]:
        """Rows of each part: one at least, of the first two; then the marked part up to half, then all in turn."""
        left = height - sum(1 + bool(part.head) for part in self.parts)
        rooms = [min(len(part.rows), 1 if at else 2) for at, part in enumerate(self.parts)]
        left -= sum(rooms)
        if rooms:
            here = self.at[0]
            more = max(0, min(left, len(self.parts[here].rows) - rooms[here], height // 2))
            rooms[here], left = rooms[here] + more, left - more
        while left > 0 and any(room < len(part.rows) for room, part in zip(rooms, self.parts, strict=True)):
            for at, part in enumerate(self.parts):
                if left > 0 and rooms[at] < len(part.rows):
                    rooms[at], left = rooms[at] + 1, left - 1
        return rooms
