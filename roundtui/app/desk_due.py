"""What the desk shows beside the rounds: traps past a week, upkeep, open questions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.farm import Programme, natural_key
from roundtui.domain.history import History
from roundtui.domain.plain import cells, plain
from roundtui.domain.questions import QuestionWord, Talk
from roundtui.domain.verdicts import Status, Summary, TroubleKind

if TYPE_CHECKING:
    from roundtui.domain.plan.lure_needs import LotStock

WEEK_DAYS = 7
_MOST_ASKED = 3


@dataclass(frozen=True, slots=True)
class Due:
    """What is due apart from the rounds, as short lines."""

    late: tuple[tuple[str, int], ...]
    """Traps whose last count is more than a week old, and how old it is. [d]"""
    lines: tuple[str, ...]
    """Upkeep and open questions, a line each."""
    asked: tuple[Talk, ...] = ()
    """Questions about entries that nobody has closed, the newest last."""


def due(
    programme: Programme,
    history: History,
    summary: Summary,
    on: date,
    *,
    asked: Sequence[Talk] = (),
    conflicts: Sequence[str] = (),
    vials: int = 0,
    lots: Sequence[LotStock] = (),
) -> Due:
    """What is due, from the record and its summary.

    Args:
        programme: What is set up.
        history: The record.
        summary: Its summary of the day.
        on: The day.
        asked: Questions about entries that nobody has closed.
        conflicts: What cannot hold together, a line each; see ``conflict_lines.open_lines``.
        vials: Specimens that wait for a name.
        lots: Lots of lures that run out or expire; those that do so in the next four weeks are named.
    """
    late = []
    for label in programme.hangings:
        hanging = programme.hanging(label, on)
        if hanging is None:
            continue
        counts = [
            v.read_on for v in history.visits.get(label, ()) if v.count is not None and hanging.hangs_on(v.read_on)
        ]
        last = max(counts, default=hanging.hung_on)
        if last is not None and (on - last).days > WEEK_DAYS:
            late.append((label, (on - last).days))
    late.sort(key=lambda pair: (-pair[1], natural_key(pair[0])))
    upkeep = [*_upkeep(summary), *_stock(lots)]
    lines = [*conflicts, *_questions(summary), *_asked(asked), *_vials(vials), *upkeep, *_over(summary)]
    return Due(tuple(late), tuple(lines), tuple(asked))


def due_text(found: Due, width: int, height: int) -> str:
    """The lines under the rounds, cut to their place."""
    late = [f"{plain(label, 10)} {days} d" for label, days in found.late]
    lines = [_listed("Past a week", late, width)] if late else ["Past a week: no trap"]
    lines += found.lines
    if not found.lines:
        lines.append("Upkeep: nothing due.  Questions: none open")
    if len(lines) > height:
        lines = [*lines[: height - 1], f"and {len(lines) - height + 1} more: s shows all"]
    return "\n".join(plain(line, width) for line in lines)


def _listed(title: str, items: Sequence[str], width: int) -> str:
    """A title, how many, and as many of them as fit on the line."""
    line, shown = f"{title} ({len(items)}): ", 0
    for item in items:
        more = f"{', ' if shown else ''}{item}"
        rest = f" and {len(items) - shown - 1} more" if shown + 1 < len(items) else ""
        if cells(line + more) + cells(rest) > width and shown:
            return f"{line} and {len(items) - shown} more"
        line, shown = line + more, shown + 1
    return line


_TROUBLES = {
    TroubleKind.SWAPPED_LURES: "swapped lures",
    TroubleKind.WRONG_LURE: "wrong lure",
    TroubleKind.NO_LURE: "no lure",
    TroubleKind.SCENTED_BODY: "scented body",
}


def _questions(summary: Summary) -> list[str]:
    lines = [
        f"! Two readings disagree: {plain(row.trap, 12)} on {row.read_on.isoformat()}" for row in summary.conflicts
    ]
    lines += [
        f"! {_TROUBLES[row.kind].capitalize()}: {plain(row.trap, 12)}"
        + (f" and {plain(row.partner, 12)}" if row.partner else "")
        + (f", since {row.since.isoformat()}" if row.since else "")
        for row in summary.integrity
        if row.partner is None or natural_key(row.trap) < natural_key(row.partner)
    ]
    lines += [
        f"! Told otherwise: block {plain(row.block, 12)} {row.species} was told {row.told}, now {row.now.value}"
        for row in summary.told_otherwise
    ]
    return lines


def _asked(talks: Sequence[Talk]) -> list[str]:
    """The questions spoken about last, the newest first, and the key that leads to it."""
    lines = [f"? Questions open ({len(talks)}): q goes to the newest"] if talks else []
    for talk in reversed(talks[-_MOST_ASKED:]):
        row = talk.newest
        did = "asks" if row.says is QuestionWord.ASKED else "answers"
        place = plain(row.trap or row.block or "an entry", 12)
        lines.append(f"? {place}, {row.about_on.isoformat()}: {plain(row.scout, 16)} {did}: {plain(row.words, 200)}")
    return lines


def _vials(number: int) -> list[str]:
    return [f"? Vials waiting for a name ({number}): v names them"] if number else []


def _upkeep(summary: Summary) -> list[str]:
    lines = []
    for item in ("lure", "liner", "kill-strip"):
        rows = [row for row in summary.upkeep if row.item == item]
        overdue = [plain(row.trap, 10) for row in rows if (row.days_overdue or 0) >= 0]
        soon = [plain(row.trap, 10) for row in rows if (row.days_overdue or 0) < 0]
        words = item.replace("-", " ")
        if overdue:
            lines.append(_listed(f"{words.capitalize()} due", overdue, 76))
        if soon:
            lines.append(_listed(f"{words.capitalize()} due within a week", soon, 76))
    return lines


def _stock(lots: Sequence[LotStock]) -> list[str]:
    """Lots that run out or expire in the next four weeks."""
    if not lots:
        return []
    from roundtui.report.lot_words import lot_words

    return [f"! {lot_words(lot)}" for lot in lots if lot.soon]


def _over(summary: Summary) -> list[str]:
    over = [f"{plain(row.block, 12)} {row.species}" for row in summary.blocks if row.status is Status.OVER]
    return [_listed("Over in the last seven days", over, 76)] if over else []
