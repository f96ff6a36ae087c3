"""Treatments and the watch after them: the section of a summary, the tables of their command, and its JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType

from roundtui.domain.figures.treatments import TOLD_DAYS, Side, Treated, Watch, WatchVerdict, treated_in
from roundtui.domain.figures.untreated import READINGS
from roundtui.domain.programme.cautions import AFTER_TREATMENT, BLOOM, INTERVALS, LABEL
from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import plain
from roundtui.report.text import NAME_WIDTH, NOTE_WIDTH, Names, Section, figure, heading, paragraph, several, stacked

if TYPE_CHECKING:
    from roundtui.report.text import Asked

TITLE = "Post-treatment check"
MARKS = {WatchVerdict.DOWN: "v", WatchVerdict.NOT_DOWN: "!", WatchVerdict.ALONE: "-"}
"""One character for a verdict, beside its words; the others have a question mark."""
_MOST_TRAPS = 6


def treatment_section(asked: Asked) -> Section:
    """Treatments of the last weeks with the catch before and after.

    Args:
        asked: What it is made from.
    """
    on = asked.summary.on
    beside = asked.beside
    found = treated_in(asked.programme, asked.history, beside.treatments, on, against=beside.untreated, days=TOLD_DAYS)
    return [heading(TITLE), *_lines(found, asked.names), paragraph(AFTER_TREATMENT)] if found else []


def treatments_tables(found: Sequence[Treated], programme: Programme) -> list[RenderableType]:
    """All treatments of a season, block by block.

    Args:
        found: The treatments.
        programme: Names of farms and blocks.
    """
    if not found:
        return [heading("No treatment is on record this season.")]
    cautions = [paragraph(f"- {words}") for words in (AFTER_TREATMENT, LABEL, INTERVALS, BLOOM)]
    return stacked(
        [[heading(TITLE), *_lines(found, Names(programme))], [heading("Before anything is done"), *cautions]]
    )


def _lines(found: Iterable[Treated], names: Names) -> Section:
    lines: Section = []
    for one in found:
        seen = one.watch
        lines.append(paragraph(f"{MARKS.get(seen.verdict, '?')} {names.place(seen.block)}: {said_words(one)}"))
        lines.append(paragraph(f"{catch_words(seen)} {watch_words(seen)}", 4))
    return lines


def said_words(one: Treated) -> str:
    """What was said: against what, when, in which words, by whom.

    Args:
        one: The treatment.
    """
    words = f" ({plain(one.words, NOTE_WIDTH)})" if one.words else ""
    by = f", said by {plain(one.said_by, NAME_WIDTH)}" if one.said_by else ""
    return f"treated against {plain(one.watch.species, 12)} on {one.watch.treated_on}{words}{by}"


def catch_words(seen: Watch) -> str:
    """The verdict with the figures it rests on.

    Args:
        seen: The watch.
    """
    words = seen.why if seen.verdict is WatchVerdict.ALONE else f"{seen.said}: {seen.why}"
    head = f"{words[:1].upper()}{words[1:]}."
    if not seen.traps:
        return head
    since = "since"
    if seen.over and seen.last_read is not None:
        since = f"from {seen.treated_on} to {seen.last_read}"
    words = (
        f"{head} {figure(seen.before.per_week)} a trap a week before ({_side(seen.before)}), "
        f"{figure(seen.after.per_week)} {since} ({_side(seen.after)}), in {several(len(seen.traps), 'trap')}."
    )
    if seen.back_at is not None:
        words += f" On {seen.back_at[0]} it was back at {figure(seen.back_at[1])}."
    return words


def _side(side: Side) -> str:
    return f"{several(side.moths, 'moth')}, {several(side.trap_days, 'trap-day')}"


def watch_words(seen: Watch) -> str:
    """What else bears on it: readings awaited and left out, lures, other treatments, a flight that may be ending.

    Args:
        seen: The watch.
    """
    return " ".join(f"{words[:1].upper()}{words[1:]}." for words in _notes(seen))


def _notes(seen: Watch) -> Iterable[str]:
    if not seen.over:
        yield f"{several(seen.awaited, 'reading')} of {READINGS} still awaited, until {seen.until} at the latest"
    if seen.following is not None:
        yield f"a further treatment on {seen.following} began a check of its own"
    if seen.earlier is not None:
        yield f"an earlier treatment, on {seen.earlier}, reaches into the catch before"
    if seen.lures:
        changed = _some([f"{trap} on {on}" for trap, on in seen.lures])
        yield f"lure changed since: {changed}; a fresh lure raises the catch"
    if seen.may_end_by_itself:
        yield "it was falling before the treatment: the flight may be ending by itself"
    if seen.straddling:
        yield f"{several(seen.straddling, 'reading')} across the day of the treatment, left out"
    if seen.set_aside:
        yield f"{several(seen.set_aside, 'reading')} suspect, in conflict or without days, left out"
    if seen.untreated:
        yield f"untreated blocks of the same rounds: {_some(seen.untreated)}"
    if seen.traps:
        yield "the last reading before the treatment is left out: it set the treatment off"
    if seen.left_out:
        yield f"left out, without a reading on both sides: {_some(seen.left_out)}"
    if seen.traps and seen.thin:
        yield "few traps: fewer than three"


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_TRAPS} more" if len(names) > _MOST_TRAPS else ""
    return ", ".join(plain(name, 24) for name in names[:_MOST_TRAPS]) + more


def treatments_json(found: Sequence[Treated], programme: Programme) -> list[dict[str, Any]]:
    """What ``treatments --json`` prints: exact inside, floats on the way out, null where a figure does not exist.

    Args:
        found: The treatments.
        programme: What is set up.
    """
    return [_json(one, programme) for one in found]


def _json(one: Treated, programme: Programme) -> dict[str, Any]:
    seen = one.watch
    return {
        "farm": programme.farm_of(seen.block),
        "block": seen.block,
        "species": seen.species,
        "treated_on": seen.treated_on.isoformat(),
        "words": one.words,
        "said_by": one.said_by,
        "entries": [entry.id for entry in one.said],
        "verdict": seen.verdict.value,
        "why": seen.why,
        "before": _side_json(seen.before),
        "after": _side_json(seen.after),
        "traps": list(seen.traps),
        "left_out": list(seen.left_out),
        "awaited": seen.awaited,
        "until": seen.until.isoformat(),
        "over": seen.over,
        "untreated": list(seen.untreated),
        "share": seen.against.share if seen.against else None,
        "share_low": seen.against.interval[0] if seen.against else None,
        "share_high": seen.against.interval[1] if seen.against else None,
        "expected": seen.against.expected if seen.against else None,
        "chance": seen.against.by_luck if seen.against else None,
        "fell_before": seen.fell_before,
        "straddling": seen.straddling,
        "set_aside": seen.set_aside,
        "lures": [{"trap": trap, "changed_on": on.isoformat()} for trap, on in seen.lures],
        "earlier": _day(seen.earlier),
        "following": _day(seen.following),
        "last_read": _day(seen.last_read),
        "back_at": {"on": seen.back_at[0].isoformat(), "per_week": _float(seen.back_at[1])} if seen.back_at else None,
    }


def _side_json(side: Side) -> dict[str, Any]:
    return asdict(side) | {"per_week": _float(side.per_week)}


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()
