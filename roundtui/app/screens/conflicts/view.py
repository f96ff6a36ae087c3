"""What the screen of conflicts shows: entries that cannot both hold, and what keeping each would change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC
from textwrap import wrap

from textual.content import Content

from roundtui.domain.entries import Visit
from roundtui.domain.figures.summary import NOTHING, Consequence, ConsequenceKind
from roundtui.domain.text import padded, sanitize
from roundtui.report.figures.changes import consequence_words
from roundtui.report.round.replay import said_by
from roundtui.store.record.read import JournalRow
from roundtui.store.round.conflicts import ConflictKind, OpenConflict

WORDS = {
    ConflictKind.TWO_COUNTS: "two counts of one trap on one day",
    ConflictKind.ONE_SCOUT_TWICE: "two entries of one scout about one trap and day",
    ConflictKind.TWO_CORRECTIONS: "two corrections of one entry",
    ConflictKind.CORRECTED_AND_WITHDRAWN: "corrected on one laptop, withdrawn on another",
    ConflictKind.TWO_BIOFIXES: "two days settled as one biofix",
}
_LEAST_COLUMN = 24


def place(conflict: OpenConflict) -> str:
    """What a conflict is about: trap or block, and day."""
    rows = conflict.entries
    labels = dict.fromkeys(sanitize(row.trap or row.block or row.kind, 16) for row in rows)
    days = dict.fromkeys(str(row.read_on) for row in rows)
    return f"{' and '.join(labels)}, {' and '.join(days)}"


def line(conflict: OpenConflict) -> str:
    """A conflict in a list."""
    return f"{place(conflict)}: {'; '.join(WORDS[kind] for kind in conflict.kinds)}"


def side_by_side(conflict: OpenConflict, came_from: Sequence[JournalRow], width: int) -> Content:
    """The entries beside each other, each under the key that keeps it."""
    column = max(_LEAST_COLUMN, (width - 2) // max(1, len(conflict.entries)))
    across = max(1, (width - 2) // column)
    parts: list[Content] = []
    for start in range(0, len(conflict.entries), across):
        group = conflict.entries[start : start + across]
        cells = [_column(key, row, came_from, column - 2) for key, row in enumerate(group, start + 1)]
        for at in range(max(map(len, cells))):
            line = "  ".join(padded(cell[at] if at < len(cell) else "", column - 2) for cell in cells)
            parts.append(Content.styled(sanitize(f"  {line}", width).rstrip(), "bold" if at < 2 else ""))
    return Content("\n").join(parts)


def _column(key: int, row: JournalRow, came_from: Sequence[JournalRow], width: int) -> list[str]:
    entry = row.entry
    old = next((one for one in came_from if one.id == entry.replaces), None)
    lines = [
        f"[{key}] keeps this",
        said_by(row, {}),
        *wrap(f"by {sanitize(entry.scout, 40)}, laptop {sanitize(entry.device, 40) or 'not named'}", width)[:2],
        f"{row.recorded_at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC",
        f"{sanitize(row.trap or row.block or '', 20)}, {row.read_on}",
    ]
    if old is not None:
        lines.append(f"corrects {said_by(old, {})} by {sanitize(old.entry.scout, 20)}")
    if entry.reason:
        lines += wrap(f"because: {sanitize(entry.reason, 200)}", width)[:2]
    return [sanitize(line, width) for line in lines]


def choices(
    conflict: OpenConflict,
    effects: Sequence[tuple[str, Sequence[Consequence]]],
    *,
    recounts: bool,
    size: tuple[int, int],
) -> Content:
    """What each choice would change, a line or two each."""
    width, height = size
    lines: list[tuple[str, str]] = []
    for words, found in effects:
        others = [one for one in found if one.kind is not ConsequenceKind.CONFLICT or one.after != NOTHING]
        notified = any(one.needs_a_word for one in others)
        said = "; ".join(map(consequence_words, others)) or "no status, warning, biofix or figure changes"
        mark, style = ("! ", "bold $text-warning") if notified else ("", "")
        lines += [
            (line, style) for line in wrap(f"{words}: {mark}{sanitize(said, 500)}", width - 4, subsequent_indent="   ")
        ]
    if len(lines) > height - 1:
        lines = [*lines[: height - 2], (f"and {len(lines) - height + 2} more lines", "bold")]
    if any(isinstance(row.entry, Visit) for row in conflict.entries) and len(conflict.entries) > 1:
        rest = "kept as recounts of the same catch" if recounts else "withdrawn"
        lines.append((f"The others are {rest}: Left or Right changes that.", ""))
    return Content("\n").join(Content.styled(f"  {words}", style) for words, style in lines)
