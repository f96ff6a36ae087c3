"""What the desk shows: the rounds, what is due beside them, and the next ten days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.app.screens.conflicts.view import open_lines
from roundtui.domain.figures.verdicts import AttentionKind, Summary, TroubleKind
from roundtui.domain.inventory.plan import PlanRow, PlanState
from roundtui.domain.programme.farm import Programme, in_no_route, natural_key
from roundtui.domain.programme.rounds import RoundState, Step, next_step, progress, steps
from roundtui.domain.round.recounts import QuestionWord, Talk
from roundtui.domain.text import cells, padded, sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.season.season import coming_words, waiting

if TYPE_CHECKING:
    from roundtui.domain.figures.verdicts import BlockRow
    from roundtui.domain.inventory.stock import LotStock
    from roundtui.report.round.due import Ahead, Found
    from roundtui.store.session import Session

FIRST_TIME = """
  First time here? A round in five lines; F2 has the whole page.

  Enter opens the marked round. Every trap is its count and Enter; 0 is a count.
  l liner, r lure, k kill strip, c not cleared: before Enter, in any order.
  x and a letter: not read. xm: the trap is missing.
  z goes back to the last entry. What you entered is on the disk at once.
  After the last trap Enter shows the summary.
"""


def state_words(state: RoundState) -> str:
    """Where a round stands, first its word."""
    so_far = progress(state, None)
    done = len(state.done)
    found = "".join(f", {number} {reason}" for reason, number in so_far.found)
    if not state.traps:
        return "no trap to read"
    if state.started_on is None:
        return f"due        {len(state.traps)} traps"
    begun = state.started_on.isoformat()
    if state.left:
        return f"under way  {done} of {len(state.traps)}, {len(state.left)} left{found}, begun {begun}"
    unread = f", {so_far.unread} unread" if so_far.unread else ""
    return f"done       {done} of {len(state.traps)}{unread}{found}, begun {begun}"


def first_due(rounds: Mapping[str, RoundState]) -> int:
    """Place of the round to open first: one under way, else the first that is due."""
    states = list(rounds.values())
    under_way = [at for at, state in enumerate(states) if state.left and state.done]
    due = [at for at, state in enumerate(states) if state.left]
    return next(iter(under_way + due), 0)


def route_of(programme: Programme, trap: str | None, block: str | None) -> str | None:
    """A route that visits a trap, or a trap of a block; None where there is none."""
    blocks = {label: {row.block for row in rows} for label, rows in programme.hangings.items()}
    for route, labels in programme.routes.items():
        if trap in labels or (trap is None and any(block in blocks.get(label, ()) for label in labels)):
            return route
    return None


def round_lines(rounds: Mapping[str, RoundState], marked: int, width: int, height: int) -> list[tuple[str, bool]]:
    """A line for each round, and whether it is the marked one; no more than fit."""
    first = max(0, min(marked - height // 2, len(rounds) - height))
    lines = []
    for at, (route, state) in enumerate(list(rounds.items())[first : first + height], first):
        line = f"{'>' if at == marked else ' '} {padded(route, 18)} {state_words(state)}"
        lines.append((padded(line, width), at == marked))
    return lines


def way_lines(programme: Programme, rounds: Mapping[str, RoundState], on: date) -> tuple[str, ...]:
    """What a scout has to know before setting out: blocks of the round that are closed, farms that belong at the end.

    Args:
        programme: What is set up.
        rounds: How far each round has come.
        on: The day.

    Returns:
        A line for each, with its route; none where nothing of the kind is set up.
    """
    closed = any(
        block.no_entry_before is not None and block.no_entry_before > on for block in programme.blocks.values()
    )
    if not closed and not any(farm.visit_last for farm in programme.farms.values()):
        return ()
    from roundtui.domain.programme.rounds import closed_blocks, out_of_order

    lines = []
    for route, state in rounds.items():
        # A block whose traps are all read may be gone into again, for a sample or a lost lure: it stays named.
        blocks = closed_blocks(programme, state.traps, on)
        if blocks:
            named = ", ".join(f"{sanitize(block, 12)} before {first.isoformat()}" for block, first in blocks)
            lines.append(f"! {sanitize(route, 18)}: NO ENTRY into block {named}")
        early = out_of_order(programme, state.left, on)
        if early is not None:
            farm, other = (programme.farms[code].name for code in (early.farm, early.before))
            words = f"{sanitize(farm, 24)} should come last, and is before {sanitize(other, 24)}"
            lines.append(f"! {sanitize(route, 18)}: {words}")
    return tuple(lines)


WEEK_DAYS = 7
_MOST_ASKED = 3


@dataclass(frozen=True, slots=True)
class Due:
    """What is due apart from the rounds, as short lines."""

    late: tuple[tuple[str, int], ...]
    """Traps past the day of their visit, a week after the last count where no interval is asked for; its age. [d]"""
    lines: tuple[str, ...]
    """Upkeep and open questions, a line each."""
    asked: tuple[Talk, ...] = ()
    """Questions about entries that nobody has closed, the newest last."""


def due(programme: Programme, found: Found, on: date) -> Due:
    """What is due, from the record and its summary.

    Args:
        programme: What is set up.
        found: What stands on the day.
        on: The day.
    """
    history, summary, asked = found.made.history, found.made.summary, found.asked
    conflicts = open_lines(found.conflicts, summary.conflicts, found.differing)
    late = []
    for label in programme.hangings:
        hanging = programme.hanging(label, on)
        if hanging is None:
            continue
        counts = [
            v.read_on for v in history.visits.get(label, ()) if v.count is not None and hanging.hangs_on(v.read_on)
        ]
        last = max(counts, default=hanging.hung_on)
        if last is not None and on > found.due.get(label, last + timedelta(days=WEEK_DAYS)):
            late.append((label, (on - last).days))
    late.sort(key=lambda pair: (-pair[1], natural_key(pair[0])))
    upkeep = [*_upkeep(summary), *_stock(found.made.observations.lots)]
    lost = [sanitize(label, 10) for label in in_no_route(programme, on)]
    unrouted = [_listed("! Hang in no route, so no round reads them", lost, 76)] if lost else []
    today = [sanitize(label, 10) for label, day in sorted(found.due.items()) if day == on]
    lines = [
        *([_listed("Visit due today by plan.toml", today, 76)] if today else []),
        *unrouted,
        *conflicts,
        *_attention(summary),
        *_questions(summary),
        *_asked(asked),
        *_vials(found.vials),
        *upkeep,
    ]
    return Due(tuple(late), tuple(lines), tuple(asked))


def due_text(found: Due, width: int, height: int) -> str:
    """The lines under the rounds, cut to their place."""
    late = [f"{sanitize(label, 10)} {days} d" for label, days in found.late]
    own = any(days <= WEEK_DAYS for _, days in found.late)
    lines = [_listed("Past their day" if own else "Past a week", late, width)] if late else ["Past a week: no trap"]
    lines += found.lines
    if not found.lines:
        lines.append("Upkeep: nothing due.  Questions: none open")
    if len(lines) > height:
        lines = [*lines[: height - 1], f"and {len(lines) - height + 1} more: s shows all"]
    return "\n".join(sanitize(line, width) for line in lines)


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
    TroubleKind.SCENTED_BODY: "contaminated body",
}


def _questions(summary: Summary) -> list[str]:
    lines = [
        f"! Two readings contradict: {sanitize(row.trap, 12)} on {row.read_on.isoformat()}" for row in summary.conflicts
    ]
    lines += [
        f"! {_TROUBLES[row.kind].capitalize()}: {sanitize(row.trap, 12)}"
        + (f" and {sanitize(row.partner, 12)}" if row.partner else "")
        + (f", since {row.since.isoformat()}" if row.since else "")
        for row in summary.integrity
        if row.partner is None or natural_key(row.trap) < natural_key(row.partner)
    ]
    lines += [
        (
            f"! Called on an older figure: block {sanitize(row.block, 12)} {row.species} was told {row.notified}, now "
            f"{row.now.value}"
        )
        for row in summary.older_figure_calls
    ]
    return lines


def _asked(talks: Sequence[Talk]) -> list[str]:
    """The questions spoken about last, the newest first, and the key that leads to it."""
    lines = [f"? Questions open ({len(talks)}): q goes to the newest"] if talks else []
    for talk in reversed(talks[-_MOST_ASKED:]):
        row = talk.newest
        did = "asks" if row.says is QuestionWord.ASKED else "answers"
        place = sanitize(row.trap or row.block or "an entry", 12)
        lines.append(
            f"? {place}, {row.about_on.isoformat()}: {sanitize(row.scout, 16)} {did}: {sanitize(row.words, 200)}"
        )
    return lines


def _vials(number: int) -> list[str]:
    return [f"? Vials to identify ({number}): m v identifies them"] if number else []


def _upkeep(summary: Summary) -> list[str]:
    lines = []
    for item in ("lure", "liner", "kill-strip"):
        rows = [row for row in summary.upkeep if row.item == item]
        overdue = [sanitize(row.trap, 10) for row in rows if (row.days_overdue or 0) >= 0]
        soon = [sanitize(row.trap, 10) for row in rows if (row.days_overdue or 0) < 0]
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
    from roundtui.report.figures.sections import lot_words

    return [f"! {lot_words(lot)}" for lot in lots if lot.soon]


_KINDS = {
    AttentionKind.OVER: "Over in the last seven days",
    AttentionKind.WITHIN: "Within the threshold",
    AttentionKind.SAMPLE: "Sample over its plan",
    AttentionKind.NOT_DOWN: "Not coming down after a treatment",
    AttentionKind.CANNOT_TELL: "Cannot tell",
    AttentionKind.CHANGED: "Status hangs on a changed or unlikely count",
    AttentionKind.FEW_TRAPS: "Mean of few traps",
}
"""What stands before the blocks of each kind; suspect traps are named one by one."""


def _attention(summary: Summary) -> list[str]:
    """What needs attention, a line for each kind with its blocks; those over by how sure it is."""
    from roundtui.report.figures.summary import settled_words

    known = {(row.block, row.species): row for row in summary.blocks}
    rows = [(one, known.get((one.block, one.species))) for one in summary.attention]
    rows.sort(key=lambda pair: -(pair[1].sure.chance if pair[1] and pair[1].sure else 1))
    lines = []
    for kind, title in _KINDS.items():
        named = [
            f"{sanitize(one.block, 12)} {sanitize(one.species, 8)}".rstrip() + (_sure(row) if kind in _SURE else "")
            for one, row in rows
            if one.kind is kind
        ]
        if named:
            mark = "! " if kind is not AttentionKind.FEW_TRAPS else ""
            lines.append(_listed(f"{mark}{title}", named, 76))
        if kind is AttentionKind.OVER:
            lines += [
                f"  {sanitize(row.block, 12)} {sanitize(row.species, 8)}: {words}"
                for one, row in rows
                if one.kind is kind and row is not None and (words := settled_words(row))
            ][:_MOST_OPEN]
    return lines


_SURE = (AttentionKind.OVER, AttentionKind.WITHIN)
_MOST_OPEN = 2
"""Blocks that could be either, of which is said what would settle it."""


def _sure(row: BlockRow | None) -> str:
    if row is None or row.sure is None:
        return ""
    from roundtui.domain.figures.certainty import chance_words

    if row.sure.certainty is None:
        return f" (over: {chance_words(row.sure.over)})"
    return f" ({row.sure.certainty.words}: {chance_words(row.sure.chance)})"


TITLE = "Next ten days (d): forecast, not spray advice"
"""Stands above the lines."""


def ahead(found: Ahead) -> tuple[str, ...]:
    """Lines of what is ahead: traps to hang, biofixes that are only proposed, then a line for each event."""
    open_rows = waiting(found.biofixes)
    where = dict.fromkeys(f"{sanitize(row.block, 12)} {row.species}" for row in open_rows)
    first = [f"Biofix to confirm ({len(open_rows)}): {', '.join(where)}"] if open_rows else []
    return (*_hanging(found.hanging), *first, *(coming_words(one) for one in found.coming))


def _hanging(rows: Sequence[PlanRow]) -> list[str]:
    """Blocks whose traps are overdue to hang, or due within two weeks, a line each kind."""
    lines = []
    for state, words in ((PlanState.OVERDUE, "! Traps overdue to hang"), (PlanState.SOON, "Traps to hang soon")):
        named = [row for row in rows if row.state is state and row.hang_by is not None]
        if named:
            where = ", ".join(
                f"{sanitize(row.block, 12)} {sanitize(row.species, 5)} {row.hang_by:%m-%d}" for row in named
            )
            lines.append(f"{words} ({len(named)}), n shows the plan: {where}")
    return lines


def ahead_text(lines: Sequence[str], width: int, height: int) -> str:
    """As many of the lines as have room."""
    shown = list(lines[:height])
    if len(lines) > height:
        shown = [*lines[: height - 1], f"and {len(lines) - height + 1} more"]
    return "\n".join(sanitize(line, width) for line in shown)


def _steps(session: Session) -> tuple[Step, ...]:
    try:
        rules = sum(rule.office for rule in session.office.rules)
    except RoundtuiError:
        rules = 0
    return steps(session.programme, rules)


def due_step(session: Session) -> Step | None:
    """What is to be set up next.

    Args:
        session: The folder that is open.
    """
    return next_step(_steps(session))


def beginning(session: Session) -> Content:
    """The steps to the first round.

    Args:
        session: The folder that is open.
    """
    found = _steps(session)
    due = next_step(found)
    rows: list[str | tuple[str, str]] = [("No round is due yet: what is set up, and what comes next\n\n", "bold")]
    for step in found:
        mark = ">" if step is due else " "
        have = str(step.have) if step.done else "may wait" if not step.needed else "none"
        rows.append((f" {mark} {step.name:<9} {have}\n", "bold reverse" if step is due else ""))
    if due is not None:
        words = [f"\nNext: {due.name}.", f"  Each is {due.words}.", "  One by one: e opens the register, a adds a row."]
        if due.table:
            words.append("  A table of yours: b brings it, and shows what it reads before it writes.")
        words.append(f"  Or write them into {due.file} with a spreadsheet, and open the folder again.")
        rows += [f"{line}\n" for line in words]
    return Content.assemble(*rows)
