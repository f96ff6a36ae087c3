"""Treatments and the watch after them: the section of a summary, the tables of their command, and its JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType

from roundtui.domain.figures.treatments import (
    GROUP_SOURCE,
    READINGS,
    TOLD_DAYS,
    GroupAgain,
    Side,
    Treated,
    Watch,
    WatchVerdict,
    treated_in,
)
from roundtui.domain.programme.cautions import AFTER_TREATMENT, BLOOM, INTERVALS, LABEL
from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import plain
from roundtui.report.text import NAME_WIDTH, NOTE_WIDTH, Names, Section, figure, heading, paragraph, several, stacked

if TYPE_CHECKING:
    from roundtui.report.text import Asked

TITLE = "Post-treatment check"
MARKS = {WatchVerdict.DOWN: "v", WatchVerdict.NOT_DOWN: "!", WatchVerdict.EARLY: "?"}
"""One character for a verdict, beside its words."""
_MOST_TRAPS = 6


def treatment_section(asked: Asked) -> Section:
    """Treatments of the last weeks with the catch before and after.

    Args:
        asked: What it is made from.
    """
    on = asked.summary.on
    found = treated_in(asked.programme, asked.history, asked.beside.treatments, on, days=TOLD_DAYS)
    return [heading(TITLE), *_lines(found, asked.names), paragraph(AFTER_TREATMENT)] if found else []


def treatments_tables(
    found: Sequence[Treated], programme: Programme, again: Sequence[GroupAgain] = ()
) -> list[RenderableType]:
    """All treatments of a season, block by block.

    Args:
        found: The treatments.
        programme: Names of farms and blocks.
        again: Groups noted against two generations running.
    """
    if not found:
        return [heading("No treatment is on record this season.")]
    cautions = [paragraph(f"- {words}") for words in (AFTER_TREATMENT, LABEL, INTERVALS, BLOOM)]
    names = Names(programme)
    groups: Section = [
        paragraph(
            f"{names.place(one.block)}, {plain(one.species, 12)}: group {one.group} of {one.later} was already noted "
            f"for the generation before, on {one.earlier}. Labels and local advice decide."
        )
        for one in again
    ]
    if groups:
        groups = [heading("Mode-of-action groups"), *groups, paragraph(f"Source: {GROUP_SOURCE}.")]
    return stacked([[heading(TITLE), *_lines(found, names)], groups, [heading("Before anything is done"), *cautions]])


def _lines(found: Iterable[Treated], names: Names) -> Section:
    lines: Section = []
    for one in found:
        seen = one.watch
        lines.append(paragraph(f"{MARKS[seen.verdict]} {names.place(seen.block)}: {said_words(one)}"))
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
    head = f"{seen.said[:1].upper()}{seen.said[1:]}: {seen.why}."
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
        traps = ", ".join(f"{plain(trap, 12)} on {on}" for trap, on in seen.lures[:_MOST_TRAPS])
        more = f" and {len(seen.lures) - _MOST_TRAPS} more" if len(seen.lures) > _MOST_TRAPS else ""
        yield f"lure changed since: {traps}{more}; a fresh lure raises the catch"
    if seen.may_end_by_itself:
        yield "it was falling before the treatment: the flight may be ending by itself"
    if seen.straddling:
        yield f"{several(seen.straddling, 'reading')} across the day of the treatment, left out"
    if seen.set_aside:
        yield f"{several(seen.set_aside, 'reading')} suspect, in conflict or without days, left out"
    if seen.left_out:
        listed = ", ".join(plain(trap, 12) for trap in seen.left_out[:_MOST_TRAPS])
        more = f" and {len(seen.left_out) - _MOST_TRAPS} more" if len(seen.left_out) > _MOST_TRAPS else ""
        yield f"left out, without a reading on both sides: {listed}{more}"
    if seen.traps and seen.thin:
        yield "few traps: fewer than three"


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
        "chance": _float(seen.chance),
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
    return {
        "per_week": _float(side.per_week),
        "moths": side.moths,
        "trap_days": side.trap_days,
        "readings": side.readings,
    }


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()
