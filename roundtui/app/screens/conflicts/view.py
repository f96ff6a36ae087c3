"""What the screen of conflicts shows: entries that cannot both hold, and what keeping each would change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date
from fractions import Fraction
from itertools import zip_longest
from textwrap import wrap

from textual.content import Content

from roundtui.domain.entries import Visit
from roundtui.domain.figures.summary import NOTHING, Consequence, ConsequenceKind
from roundtui.domain.round.walk import read_in_words
from roundtui.domain.text import WARNS, cells, full_day, padded, sanitize, spoken_day
from roundtui.report.paper import reads_as
from roundtui.report.round.replay import said_by
from roundtui.report.text import figure
from roundtui.store.record.read import JournalRow
from roundtui.store.round.conflicts import OpenConflict


def place(conflict: OpenConflict, on: date) -> str:
    """What a conflict is about: trap or block, and day."""
    rows = conflict.entries
    labels = dict.fromkeys(sanitize(row.trap or row.block or row.kind, 16) for row in rows)
    days = dict.fromkeys(spoken_day(row.read_on, on) for row in rows)
    return f"{' and '.join(labels)}, {' and '.join(days)}"


def line(conflict: OpenConflict, on: date) -> str:
    """A conflict in a list."""
    return f"{place(conflict, on)}: {conflict.words}"


def side_by_side(
    conflict: OpenConflict, came_from: Sequence[JournalRow], before: Sequence[Visit], width: int
) -> Content:
    """The entries beside each other, each under the key that keeps it, and what the trap showed before."""
    column = max(24, (width - 2) // max(1, len(conflict.entries)))
    across = max(1, (width - 2) // column)
    parts: list[Content] = []
    for start in range(0, len(conflict.entries), across):
        group = conflict.entries[start : start + across]
        found = [_column(key, row, came_from, column - 2) for key, row in enumerate(group, start + 1)]
        for at, parted in enumerate(zip_longest(*found, fillvalue="")):
            line = "  ".join(padded(part, column - 2) for part in parted)
            parts.append(Content.styled(sanitize(f"  {line}", width).rstrip(), "bold" if at < 2 else ""))
    if before:
        parts.append(Content(sanitize(f"  Before: {read_in_words(before)}", width)))
    return Content("\n").join(parts)


def _column(key: int, row: JournalRow, came_from: Sequence[JournalRow], width: int) -> list[str]:
    entry, at = row.entry, row.recorded_at.astimezone(UTC)
    old = next((one for one in came_from if one.id == entry.replaces), None)
    lines = [
        f"[{key}] keeps this",
        said_by(row, {}),
        *(wrap(reads_as(entry), width)[:2] if isinstance(entry, Visit) else ()),
        *wrap(f"by {sanitize(entry.scout, 40)}, laptop {sanitize(entry.device, 40) or 'not named'}", width)[:2],
        *wrap(f"recorded {full_day(at)} {at:%H:%M:%S} UTC", width),
        f"for {sanitize(row.trap or row.block or '', 20)}, {full_day(row.read_on)}",
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
    """What each choice would change, a row for each figure: as it is now, and under the key of each choice."""
    width, height = size
    rows: dict[tuple[str, ConsequenceKind], dict[int, Consequence]] = {}
    for at, (_, found) in enumerate(effects, 1):
        for one in found:
            if one.kind is not ConsequenceKind.CONFLICT or one.after != NOTHING:
                rows.setdefault((one.what, one.kind), {})[at] = one
    table = [("What changes", "now", *(key for key, _ in effects))]
    styles = ["underline"]
    for (what, kind), by in rows.items():
        first = next(iter(by.values()))
        after = [_value(by[at].after, by[at].mean_after) if at in by else "same" for at in range(1, len(effects) + 1)]
        mark, style = (WARNS, "bold $text-warning") if any(one.needs_a_word for one in by.values()) else ("", "")
        named = first.looks if kind is ConsequenceKind.COMPARED else kind.value
        table.append((f"{mark}{what}, {named}", _value(first.before, first.mean_before), *after))
        styles.append(style)
    # What changes takes what the figures leave of a narrow terminal.
    sides = [max(map(cells, column)) + 2 for column in zip(*table, strict=True)]
    sides[0] = min(sides[0], max(12, width - 2 - sum(sides[1:])))
    said = ("  " + "".join(map(padded, row, sides)) for row in table)
    lines = [(sanitize(line.rstrip(), width), style) for line, style in zip(said, styles, strict=True)]
    if not rows:
        lines.append(("  no status, warning, biofix or figure", ""))
    if len(lines) > height - 1:
        lines = [*lines[: height - 2], (f"  and {len(lines) - height + 2} more lines", "bold")]
    if any(isinstance(row.entry, Visit) for row in conflict.entries) and len(conflict.entries) > 1:
        rest = "kept as recounts of the same catch" if recounts else "withdrawn"
        lines.append((f"  The others are {rest}: Left or Right changes that.", ""))
    return Content("\n").join(Content.styled(words, style) for words, style in lines)


def _value(said: str, mean: Fraction | None) -> str:
    return f"{figure(mean)} {said}" if mean is not None else said
