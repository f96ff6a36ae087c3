"""What a change of the record changes, in a sentence with its figures.

What a lure that was found changes, in a line that fits under the field of a small terminal.
"""

from __future__ import annotations

from datetime import date

from roundtui.domain.figures.found_lures import FoundChange
from roundtui.domain.figures.summary import NOTHING, Consequence, ConsequenceKind
from roundtui.domain.figures.verdicts import BlockRow, Trouble, TroubleKind
from roundtui.domain.text import sanitize, several
from roundtui.report.text import WORDS, figure


def consequence_words(one: Consequence) -> str:
    """A consequence as a person reads it before accepting the change.

    Args:
        one: The consequence.
    """
    was, will = figure(one.mean_before), figure(one.mean_after)
    compared = f"the {one.looks} its rule compares, {was}, becomes {will}"
    words = f"{one.kind.value}, {one.before} becomes {one.after}"
    match one.kind:
        case ConsequenceKind.STATUS if one.looks and None not in (one.mean_before, one.mean_after):
            words = f"{one.before} becomes {one.after}; {compared}"
        case ConsequenceKind.STATUS:
            at = f"at {one.looks}".strip()
            before = one.before if one.mean_before is None else f"{one.before} {at} {was}"
            words = f"{before} becomes {one.after if one.mean_after is None else f'{one.after} {at} {will}'}"
        case ConsequenceKind.FIGURE if one.looks:
            words = f"mean {was} becomes {will}; {one.looks} {figure(one.compared)}: still {one.after}"
        case ConsequenceKind.FIGURE:
            words = f"{was} a week becomes {will}, still {one.after}"
        case ConsequenceKind.COMPARED:
            words = f"{compared}, still {one.after}"
        case ConsequenceKind.NOTIFIED if one.after != NOTHING:
            return f"{one.what}: the grower was called on an older figure; {one.after}"
        case ConsequenceKind.CONFLICT if one.after == NOTHING:
            words = f"the conflict is settled, {one.before}"
    return f"{one.what}, {one.on}: {words}"


_SHOWN = 12
_KINDS = {TroubleKind(kind): words for kind, _, words in WORDS["troubles"]}


def found_words(change: FoundChange) -> str:
    """What is different because a lure was found: since when, how many readings, which block's figure or status.

    Args:
        change: What is different.

    Returns:
        As ``wrong since 30 Jun: 3 readings suspect; RISE CM over at 5.3, now below at 2.0``; the first block is
        named, the others are counted.
    """
    own = "put right on this visit" if change.righted else "its own lure, not suspect"
    known = (change.suspect, change.trusted) == (0, 0)
    if known and change.before == change.after and not change.blocks:
        return f"known before: {_trouble(change.before, change.on)}" if change.before else f"nothing changes: {own}"
    said = _trouble(change.after, None if known else change.on) if change.after else own
    parts = [f"{several(change.suspect, 'reading')} suspect"] if change.suspect else []
    parts += [f"{several(change.trusted, 'reading counts', 'readings count')} again"] if change.trusted else []
    head = f"{said}: {', '.join(parts) or 'no reading suspect'}"
    more = f", and {len(change.blocks) - 1} more" if len(change.blocks) > 1 else ""
    return f"{head}; {_block(*change.blocks[0])}{more}" if change.blocks else head


def found_mark(change: FoundChange) -> str:
    """The same in the few words that fit beside the entry just made; empty where nothing changes.

    Args:
        change: What is different.

    Returns:
        As ``wrong lure since 30 Jun: 3 suspect, RISE CM now below``.
    """
    if (change.before, change.suspect, change.trusted) == (change.after, 0, 0) and not change.blocks:
        return ""
    parts = [f"{change.suspect} suspect"] if change.suspect or not change.trusted else []
    parts += [f"{change.trusted} count again"] if change.trusted else []
    for was, now in change.blocks[:1]:
        shown = now.status.words if was.status is not now.status else figure(now.mean_per_week, now.band or ())
        parts.append(f"{sanitize(now.block, _SHOWN)} {sanitize(now.species, _SHOWN)} now {shown}")
    own = "put right" if change.righted else "its own lure"
    return f"{_trouble(change.after, change.on) if change.after else own}: {', '.join(parts)}"


def _trouble(trouble: Trouble, on: date | None) -> str:
    """What is wrong, since when; without a day where nothing that was read becomes suspect by it."""
    words = _KINDS[trouble.kind].format(partner=sanitize(trouble.partner or "", _SHOWN))
    if on is None:
        return f"{words} lure" if trouble.kind is TroubleKind.WRONG_LURE else words
    if trouble.since is None:
        return f"{words} since it was hung"
    year = f" {trouble.since.year}" if trouble.since.year != on.year else ""
    return f"{words} since {trouble.since.day} {trouble.since:%b}{year}"


def _block(was: BlockRow, now: BlockRow) -> str:
    name = f"{sanitize(now.block, _SHOWN)} {sanitize(now.species, _SHOWN)}"
    if was.status is now.status:
        before, after = (figure(row.mean_per_week, row.band or ()) for row in (was, now))
        return f"{name} {before}, now {after}, still {now.status.words}"
    return f"{name} {_stands(was)}, now {_stands(now)}"


def _stands(row: BlockRow) -> str:
    mean = row.mean_per_week
    return row.status.words if mean is None else f"{row.status.words} at {figure(mean, row.band or ())}"
