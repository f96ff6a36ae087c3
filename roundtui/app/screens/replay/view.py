"""What a replay shows, line by line; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC
from textwrap import wrap

from textual.content import Content

from roundtui.domain.entries import Visit
from roundtui.domain.figures.verdicts import BlockRow, Summary
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.round.recounts import QuestionWord, Talk, in_words
from roundtui.domain.round.walk import catch
from roundtui.domain.text import cells, full_day, padded, sanitize, spoken_day, spoken_days
from roundtui.report.round.replay import ReplayStep, RoundReplay
from roundtui.report.text import band, figure

MARK = "! "
"""Stands before everything that stands out, so that it does without colour too."""
QUESTION = "? "
"""Stands before an open question."""
_REASONS = {"skipped": "s", "closed": "c", "missing": "m", "down": "d", "damaged": "g", "other": "o"}
_SHORT = 12
_SCOUT = 10
_GAP = 8


def head(replay: RoundReplay, at: int, playing: str, width: int) -> Content:
    """Route, days of the round, how far one has stepped, and the pace while it plays."""
    span = replay.span
    days = full_day(span.last)
    days = days if span.first == span.last else f"{spoken_day(span.first, span.last)} to {days}"
    left = f" Replay   route {sanitize(replay.route, 20)}   {days}"
    right = f"{playing}   entry {at} of {len(replay.steps)} "
    return Content(sanitize(left + " " * max(1, width - cells(left) - cells(right)) + right, width))


def strip(traps: Sequence[str], done: Mapping[str, Visit], current: str | None, width: int, height: int) -> Content:
    """The route with what each trap showed: its count, the letter of a reason after ``x``, or a dot while unread."""
    items = []
    for trap in traps:
        visit = done.get(trap)
        value = "." if visit is None else _value(visit)
        items.append((f"{'>' if trap == current else ' '}{sanitize(trap, 10)} {value} ", trap == current))
    lines: list[list[tuple[str, bool]]] = [[]]
    used = 0
    for item in items:
        if used + cells(item[0]) > width and lines[-1]:
            lines.append([])
            used = 0
        lines[-1].append(item)
        used += cells(item[0])
    at = next((n for n, line in enumerate(lines) if any(is_current for _, is_current in line)), 0)
    first = max(0, min(at - height // 2, len(lines) - height))
    shown = lines[first : first + height]
    return Content("\n").join(
        Content.assemble(*((words, "bold reverse" if is_current else "") for words, is_current in line))
        for line in shown
    )


def _value(visit: Visit) -> str:
    if visit.no_reading is not None:
        return f"x{_REASONS[visit.no_reading.value]}"
    return catch(visit) or "."


def log(steps: Sequence[ReplayStep], asked: Mapping[str, Talk], at: int, width: int, height: int) -> Content:
    """The entries around a step, one a line; those to come are shown too, since one looks for what stands out."""
    if not steps:
        return Content("  No entries of this route in these days. PgUp goes to an earlier round.")
    first = max(0, min(at - 1 - height // 2, len(steps) - height))
    lines: list[tuple[str, str]] = []
    for step in steps[first : first + height]:
        current = step.number == at
        words = padded(_log_line(step, step.row.id in asked, current, width), width)
        lines.append((words, "bold reverse" if current else "" if step.number < at else "$text-muted"))
    return Content("\n").join(Content.styled(words, style) for words, style in lines)


def _log_line(step: ReplayStep, asked: bool, current: bool, width: int) -> str:
    row = step.row
    more = max(0, width - 80)
    said_width, scout_width = 16 + more // 2, _SCOUT + more // 4
    when = f"{row.recorded_at.astimezone(UTC):%d %b %H:%M:%S}"
    gap = "" if step.gap is None else f"+{in_words(step.gap)}" if not in_words(step.gap).startswith("-") else "clock"
    remarks = ", ".join(remark.value for remark in step.remarks)
    marks = f"{MARK if remarks else ''}{remarks}{'  ' if remarks and asked else ''}{QUESTION.strip() if asked else ''}"
    return (
        f"{'>' if current else ' '}{step.number:>4} {when} {padded(row.trap or row.block or '', 6)} "
        f"{padded(step.said, said_width)} {padded(row.entry.scout, scout_width)} {padded(gap, _GAP)} {marks}"
    )


def about(replay: RoundReplay, at: int, talk: Talk | None, programme: Programme, size: tuple[int, int]) -> Content:
    """The entry of a step in full: who, when, on which laptop, what stands out, and what was asked."""
    width, height = size
    if not 0 < at <= len(replay.steps):
        return Content("  Before the first entry. Right steps on, End goes to the last, Space plays the round.")
    step = replay.steps[at - 1]
    row = step.row
    first = [f"No. {step.number}", sanitize(row.kind), *_where(row.trap, row.block, programme, replay)]
    lines: list[tuple[str, str]] = [(sanitize(f"  {'  '.join(first)}:  {step.said}", width), "bold")]
    who = f"by {sanitize(row.entry.scout, 24)} on {sanitize(row.entry.device, 20) or 'a laptop'}"
    at_utc = row.recorded_at.astimezone(UTC)
    when = f"{full_day(at_utc)} {at_utc:%H:%M:%S} UTC{_since(step)}"
    lines.append((sanitize(f"  {who}, {when}", width), ""))
    for words in step.remarks.values():
        lines += [(line, "bold $text-warning") for line in _wrapped(spoken_days(f"{MARK}{words}", replay.on), width)]
    if talk is not None:
        lines += [(line, "bold" if talk.open else "$text-muted") for line in _wrapped(_talk(talk), width)]
    if len(lines) > height:
        lines = [*lines[: height - 1], (f"  and {len(lines) - height + 1} more lines: h shows all", "bold")]
    return Content("\n").join(Content.styled(words, style) for words, style in lines)


def _since(step: ReplayStep) -> str:
    if step.gap is None:
        return ""
    return f", {in_words(step.gap)} after the one before" if step.gap else ", with the one before"


def _where(trap: str | None, block: str | None, programme: Programme, replay: RoundReplay) -> list[str]:
    hanging = programme.hanging(trap, replay.span.last) if trap else None
    code = block or (hanging.block if hanging else "")
    known = programme.blocks.get(code)
    name = f" {sanitize(known.name, 20)}" if known and known.name != code else ""
    words = [sanitize(trap, 16)] if trap else []
    return [*words, f"block {sanitize(code, 12)}{name}"] if code else words


def _talk(talk: Talk) -> str:
    words = "; ".join(
        f"{row.says.value} by {sanitize(row.scout, 20)}{': ' if row.words else ''}{sanitize(row.words, 300)}"
        for row in talk.rows
    )
    return f"{QUESTION if talk.open else ''}{'question ' if talk.newest.says is QuestionWord.ASKED else ''}{words}"


def _wrapped(words: str, width: int) -> list[str]:
    return wrap(words, max(20, width), initial_indent="  ", subsequent_indent="    ") or [""]


def figures(before: Summary | None, now: Summary, width: int, height: int) -> Content:
    """Block figures as they stood, what the step changed in them first, then the warnings."""
    old = {(row.block, row.species): row for row in before.blocks} if before else {}
    rows = sorted(now.blocks, key=lambda row: not _differs(old.get((row.block, row.species)), row, before))
    title = f"{f'  As of {spoken_day(now.on, now.on)}':<20}read {'a week':>13}  {'status':<16}  threshold"
    lines: list[tuple[str, str]] = [(sanitize(title, width), "underline")]
    said, said_before = ([spoken_days(words, now.on) for words in warnings(one)] for one in (now, before or now))
    kept = [words for words in said if words in said_before]
    first = [(f"{MARK}new: {words}", "bold $text-warning") for words in said if words not in said_before]
    first += [(f"  gone: {words}", "bold") for words in said_before if words not in said]
    lines += [(sanitize(f"  {words}", width), style) for words, style in first]
    left = height - len(lines) - (1 if kept else 0)
    shown = rows if len(rows) <= left else rows[: max(0, left - 1)]
    for row in shown:
        was = old.get((row.block, row.species))
        changed = _differs(was, row, before)
        lines.append(
            (sanitize(_block(row, was if changed else None, changed=changed), width), "bold" if changed else "")
        )
    if len(shown) < len(rows):
        lines.append((f"  and {len(rows) - len(shown)} more: s shows all", "$text-muted"))
    if kept:
        room = max(1, height - len(lines))
        listed = [f"{MARK}{words}" for words in kept]
        if len(listed) > room:
            listed = [*listed[: room - 1], f"{MARK}{len(listed) - room + 1} earlier warnings: s shows all"]
        lines += [(sanitize(f"  {words}", width), "$text-warning") for words in listed]
    return Content("\n").join(Content.styled(words, style) for words, style in lines[:height])


def _differs(old: BlockRow | None, new: BlockRow, before: Summary | None) -> bool:
    told = ("read", "counted", "mean_per_week", "status", "stage")
    return before is not None and (old is None or any(getattr(old, one) != getattr(new, one) for one in told))


def _block(row: BlockRow, was: BlockRow | None, *, changed: bool) -> str:
    edges = row.band or ()
    mean = figure(row.mean_per_week, edges)
    thin = row.thin and row.counted > 0
    status = f"{row.status.value}{', weak' if row.weak_evidence else ''}{', thin' if thin else ''}"
    line = (
        f"{'*' if changed else ' '} {padded(row.block, 11)} {padded(row.species, 5)} {row.read:>3} of {row.hung:<3}"
        f" {mean:>7}  {padded(status, 16)}  {padded(band(row.band), 7)}"
    )
    if was is not None and (was.mean_per_week, was.status) != (row.mean_per_week, row.status):
        line += f" was {figure(was.mean_per_week, edges)} {was.status.value}"
    return line.rstrip()


def warnings(summary: Summary) -> list[str]:
    """What a summary warns of, a line each."""
    lines = [
        f"{row.kind.value.replace('-', ' ')}: {sanitize(row.trap, _SHORT)}"
        + (f", found {sanitize(row.found, _SHORT)}" if row.found else "")
        + (f", with {sanitize(row.partner, _SHORT)}" if row.partner else "")
        + (f", since {row.since}" if row.since else "")
        for row in summary.integrity
        if row.partner is None or natural_key(row.trap) < natural_key(row.partner)
    ]
    lines += [
        f"two readings contradict: {sanitize(row.trap, _SHORT)} on {row.read_on}, "
        + " and ".join(f"{count} by {sanitize(scout, _SHORT)}" for scout, count in row.counts)
        for row in summary.conflicts
    ]
    lines += [
        f"unlikely count: {sanitize(row.trap, _SHORT)} {row.slip.words(row.count) if row.slip else row.count}"
        for row in summary.unlikely
    ]
    lines += [
        f"called on an older figure: block {sanitize(row.block, _SHORT)} {row.species} was told "
        f"{sanitize(row.notified, _SHORT)}, now {row.now.value}"
        for row in summary.older_figure_calls
    ]
    return lines


def asked_about(talks: Mapping[str, Talk], steps: Sequence[ReplayStep]) -> dict[str, Talk]:
    """Open talks by the entries of a round they are pinned to."""
    ids = {step.row.id for step in steps}
    return {entry: talk for entry, talk in talks.items() if talk.open and entry in ids}
