"""What a replay shows, line by line; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC
from textwrap import wrap

from textual.content import Content

from roundtui.app.widgets.board import rule
from roundtui.domain.figures.verdicts import BlockRow, Summary
from roundtui.domain.programme.farm import Programme
from roundtui.domain.round.recounts import QuestionWord, Talk, in_words
from roundtui.domain.text import WARNS, cells, full_day, padded, sanitize, several, spoken_day, spoken_days
from roundtui.report.bars import way
from roundtui.report.figures.summary import block_head, block_legend, block_line, warnings
from roundtui.report.round.replay import ReplayStep, RoundReplay
from roundtui.report.text import Names


def ribbon(replay: RoundReplay, at: int, programme: Programme, width: int) -> str:
    """The round as a bar: the traps done by a step, a line where a block ends."""
    traps, done = replay.traps, replay.done(at)
    blocks = [programme.hangings[trap][-1].block for trap in traps]
    here = next((row.trap for row in replay.steps[at - 1].rows), None) if at else None
    drawn = way(
        [trap in done for trap in traps],
        lambda place: place + 1 < len(blocks) and blocks[place] != blocks[place + 1],
        traps.index(here) if here in traps else None,
        width - 24,
    )
    return sanitize(f" {drawn}  {sum(trap in done for trap in traps)} of {len(traps)} traps", width)


def log(steps: Sequence[ReplayStep], asked: Mapping[str, Talk], at: int, width: int, height: int) -> Content:
    """The entries around a step, one a line; those to come are shown too, since one looks for what stands out."""
    if not steps:
        return Content("  No entries of this route in these days. PgUp goes to an earlier round.")
    height -= 1
    first = max(0, min(at - 1 - height // 2, len(steps) - height))
    title = f"Entries {first + 1} to {min(first + height, len(steps))} of {len(steps)}"
    lines = [Content.styled(rule(title, width), "bold")]
    shown = steps[first : first + height]
    for words, step in zip(_log_lines(shown, asked, width), shown, strict=True):
        style = "bold reverse" if step.number == at else "" if step.number < at else "$text-muted"
        lines.append(Content.styled(padded(f"{'>' if step.number == at else ' '}{words}", width), style))
    return Content("\n").join(lines)


def _log_lines(steps: Sequence[ReplayStep], asked: Mapping[str, Talk], width: int) -> list[str]:
    """Number, instant, place, what it says, who, time since and marks; each column as wide as these steps need it."""
    wide, rows = width >= 80, []
    for step in steps:
        row, since = step.row, in_words(step.gap) if step.gap is not None else ""
        remarks = ", ".join([*(["asked"] if row.id in asked else []), *(remark.value for remark in step.remarks)])
        marks, who = f"{WARNS if remarks else ''}{remarks}", sanitize(row.entry.scout, 24)
        # With little room marks stand where the name does, which the entry has in full above.
        rest = (who, "clock" if since[:1] == "-" else since and f"+{since}", marks) if wide else (marks or who, "", "")
        when = f"{step.number:>4} {row.recorded_at.astimezone(UTC):%d %b %H:%M}"
        rows.append((when, row.trap or row.block or "", step.said, *rest))
    at, place, said, who_wide, gap, marked = (max(map(cells, column)) for column in zip(*rows, strict=True))
    place = min(10, max(place, 6 * wide))
    left = width - (6 if wide else 4) - at - place - gap - marked
    name = min(who_wide, max(8, left - min(said, _LEAST_SAID)))
    said = max(4, min(left - name, max(said, _LEAST_SAID + max(0, width - 80) // 2)))
    lines = []
    for one in rows:
        # A row without marks has their room for what it says.
        own = max(said, min(cells(one[2]), said + (0 if one[-1] else marked)))
        lines.append(" ".join(map(padded, one, (at, place, own, name, gap, marked))).rstrip())
    return lines


_LEAST_SAID = 14
"""Columns of what an entry says, where it says as much, before its scout's name is cut."""


def about(replay: RoundReplay, at: int, talk: Talk | None, programme: Programme, size: tuple[int, int]) -> Content:
    """The entry of a step in full: who, when, on which laptop, what stands out, and what was asked."""
    width, height = size
    if not 0 < at <= len(replay.steps):
        return Content("  Before the first entry: Right next, End last, Space plays.")
    step = replay.steps[at - 1]
    row = step.row
    title = f"{sanitize(row.kind.capitalize())}  {_where(row.trap, row.block, programme, replay)}"
    said = [(line, "bold") for line in _wrapped(step.said, width)]
    who = f"by {sanitize(row.entry.scout, 24)} on {sanitize(row.entry.device, 20) or 'a laptop'}"
    at_utc = row.recorded_at.astimezone(UTC)
    when = f"{full_day(at_utc)} {at_utc:%H:%M:%S} UTC{_since(step) if width >= 80 else ''}"
    lines = [(sanitize(f"  {who}, {when}", width), "")]
    for words in step.remarks.values():
        lines += [(line, "bold $text-warning") for line in _wrapped(spoken_days(f"{WARNS}{words}", replay.on), width)]
    if talk is not None:
        lines += [(line, "bold" if talk.open else "$text-muted") for line in _wrapped(_talk(talk), width)]
    if (more := len(said) + len(lines) - height) > 0:
        lines = [*said[: height // 2], *lines][: height - 1]
        said, lines = lines, [(f"  and {more + 1} more lines: h shows all", "bold")]
    drawn = (Content.styled(words, style) for words, style in (*said, *lines))
    return Content("\n").join([Content.styled(rule(title, width), "bold"), *drawn])


def _since(step: ReplayStep) -> str:
    if step.gap is None:
        return ""
    return f", {in_words(step.gap)} after the one before" if step.gap else ", with the one before"


def _where(trap: str | None, block: str | None, programme: Programme, replay: RoundReplay) -> str:
    hanging = programme.hanging(trap, replay.last) if trap else None
    code = block or (hanging.block if hanging else "")
    return f"{sanitize(trap or '', 16)}  {f'block {Names(programme).block(code)}' if code else ''}".strip()


def _talk(talk: Talk) -> str:
    words = "; ".join(
        f"{row.says.value} by {sanitize(row.scout, 20)}{': ' if row.words else ''}{sanitize(row.words, 300)}"
        for row in talk.rows
    )
    return f"{WARNS if talk.open else ''}{'question ' if talk.newest.says is QuestionWord.ASKED else ''}{words}"


def _wrapped(words: str, width: int) -> list[str]:
    return wrap(words, max(20, width), initial_indent="  ", subsequent_indent="    ") or [""]


def changed(before: Summary | None, now: Summary, names: Names, width: int, height: int) -> Content:
    """What a step changed: each block as it stood before and after, and warnings that came or went."""
    old = {(row.block, row.species): row for row in before.blocks} if before else {}
    rows = [row for row in now.blocks if _differs(old.get((row.block, row.species)), row, before)]
    pairs = [one for row in rows for one in (("was", old.get((row.block, row.species)), ""), ("new", row, "bold"))]
    judged = [(word, row, style) for word, row, style in pairs if row is not None]
    lines = [(f"{word}{block_line(row, names, width=width)}", style) for word, row, style in judged]
    said, said_before = ([words for _, words in warnings(one, now.on)] for one in (now, before or now))
    lines += [(f"  {WARNS}new: {words}", "bold $text-warning") for words in said if words not in said_before]
    lines += [(f"  gone: {words}", "bold") for words in said_before if words not in said]
    if not lines:
        lines.append(("  No figure and no warning." if before else "", ""))
    rest = len(now.blocks) - len(rows)
    kept = sum(words in said_before for words in said)
    more = f"{rest} other rows, {kept} warning{'' if kept == 1 else 's'} as before: s shows all"
    if len(lines) > height - 3:
        lines, more = lines[: height - 3], f"and {several(len(lines) - height + 3, 'more line')}: s shows all"
    signs = block_legend([row for _, row, _ in judged[: len(lines)]])
    title = Content.styled(rule(f"What it changed then, as of {spoken_day(now.on, now.on)}\t{signs}", width), "bold")
    head = Content.styled(sanitize(f"   {block_head(width, weeks=False)}", width), "underline")
    drawn = [Content.styled(sanitize(words, width), style) for words, style in lines]
    return Content("\n").join([title, *([head] if rows else []), *drawn, Content(f"  {more}")][:height])


def _differs(old: BlockRow | None, new: BlockRow, before: Summary | None) -> bool:
    told = ("read", "counted", "mean_per_week", "status", "stage")
    return before is not None and (old is None or any(getattr(old, one) != getattr(new, one) for one in told))
