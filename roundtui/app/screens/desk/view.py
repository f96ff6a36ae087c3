"""What the desk shows below its rounds: the week, what is due, and the next ten days; read when the rounds stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.app.screens.desk.rounds import Due, route_of
from roundtui.app.widgets.board import Part, Row
from roundtui.domain.figures.verdicts import AttentionKind, OlderFigureCall, Status, Summary, Trouble, Unlikely
from roundtui.domain.inventory.plan import PlanRow, PlanState
from roundtui.domain.programme.farm import Programme, in_no_route, natural_key
from roundtui.domain.programme.rounds import Step, next_step, steps
from roundtui.domain.round.recounts import QuestionWord, Talk
from roundtui.domain.round.walk import due_at, weekly_thresholds
from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.bars import NARROW
from roundtui.report.round.due import read_ahead, read_due
from roundtui.report.season.season import coming_words, waiting
from roundtui.report.text import Names
from roundtui.store.session import reading_session

if TYPE_CHECKING:
    from textual.content import Content

    from roundtui.report.round.due import Ahead, Found
    from roundtui.store.figures.summary import DaySummary
    from roundtui.store.session import Session

WEEK_DAYS = 7


def read(folder: str, on: str) -> Iterator[object]:
    """What the desk shows below its rounds, for a thread or process of its own.

    Args:
        folder: The scouting folder.
        on: The day, ISO 8601.

    Returns:
        What is due; then a part on the next ten days.

    Raises:
        RoundtuiError: The store, or a file of the office, cannot be used.
    """
    with reading_session(Path(folder), date.fromisoformat(on)) as session:
        yield due(session.programme, read_due(session), session.on)
        try:
            yield ahead(read_ahead(session))
        except RoundtuiError as error:
            yield Part("Next ten days", (Row(f" ! {sanitize(error.message, 200)}"),))


def due(programme: Programme, found: Found, on: date) -> Due:
    """What is due, from the record and its summary.

    Args:
        programme: What is set up.
        found: What stands on the day.
        on: The day.
    """
    summary, invented = found.made.summary, ", ".join(found.invented)
    attention = [
        *([Row(f" ! Invented, not for use: {invented}", ("register", "rules"))] if invented else []),
        *_listed("Hang in no route, so no round reads them", [(one, one) for one in in_no_route(programme, on)], "!"),
        *_conflicts(found, on),
        *_troubles(programme, summary, on),
        *_asked(programme, found.asked),
        *([Row(f" ! Vials to identify ({found.vials})", ("vials",))] if found.vials else []),
        *_attention(summary),
    ]
    parts = (
        Part(f"Needs attention {len(attention)}", _or_nothing(*attention)),
        Part("Due", _or_nothing(*_calls(found), *_late(programme, found, on), *_upkeep(summary), *_stock(found))),
    )
    question = asked[0].opens if (asked := _asked(programme, found.asked)) else ()
    narrow, usual, wide = (_week(found.made, width) for width in (60, 80, 120))
    return Due((narrow, usual, wide), parts, question, due_at(summary), weekly_thresholds(summary), found.due)


def _or_nothing(*rows: Row) -> tuple[Row, ...]:
    return rows or (Row("   nothing"),)


def _week(made: DaySummary, width: int) -> Part:
    """Blocks over and within, and how many there are of each status."""
    from roundtui.report.figures.summary import MARKS, Details, block_head, block_line

    summary, details, rows = made.summary, Details(made), []
    names, numbers = Names(made.programme), Counter(row.status for row in summary.blocks)
    unlikely = {one.trap for one in summary.unlikely}
    for row in summary.blocks:
        if row.status in _SHOWN:
            line = block_line(row, names, width=width)[1:].rstrip()
            if any(trap.trap in unlikely for trap in row.traps):
                check = " ! check" if width >= NARROW else " check"
                line = sanitize(line, width - 1 - len(check)) + check
            style = "bold $text-error" if row.status is Status.OVER else ""
            rows.append(Row(line, ("season", row.block, row.species), style, details.short(row)))
    if rest := len(summary.blocks) - len(rows):
        said = f"   and {rest} of {len(summary.blocks)} below, without a rule or not read: s shows all"
        rows.append(Row(said, ("summary",)))
    words = {Status.OVER: "over", Status.WITHIN: "within", Status.BELOW: "below"}
    said = "  ".join(
        f"{mark} {numbers[status]} {words.get(status, '') if width >= NARROW else ''}".rstrip()
        for status, mark in MARKS.items()
        if numbers[status]
    )
    return Part(f"This week {said}", tuple(rows), block_head(width, weeks=False))


def _late(programme: Programme, found: Found, on: date) -> list[Row]:
    """Traps whose last count is more than a week old, the oldest first."""
    late = []
    for label in programme.hangings:
        hanging = programme.hanging(label, on)
        if hanging is None:
            continue
        visits = found.made.history.visits.get(label, ())
        counts = [v.read_on for v in visits if v.count is not None and hanging.hangs_on(v.read_on)]
        last = max(counts, default=hanging.hung_on)
        if last is not None and on > found.due.get(label, last + timedelta(days=WEEK_DAYS)):
            late.append((label, (on - last).days))
    late.sort(key=lambda pair: (-pair[1], natural_key(pair[0])))
    today = [(label, label) for label, day in sorted(found.due.items()) if day == on]
    rows = _listed("Not read for over 7 days", [(label, f"{label} {days} d") for label, days in late])
    return [*_listed("Visit due today by plan.toml", today), *rows]


def _listed(title: str, items: Sequence[tuple[str, str]], mark: str = " ") -> list[Row]:
    """A title, how many, and all of them; it opens these traps of the register, the first one marked."""
    if not items:
        return []
    words = ", ".join(sanitize(said, 24) for _, said in items)
    labels = tuple(label for label, _ in items)
    return [Row(f" {mark} {title} ({len(items)}): {words}", ("register", "traps", labels[0], labels, title))]


def _conflicts(found: Found, on: date) -> list[Row]:
    rows = []
    if found.conflicts:
        from roundtui.app.screens.conflicts.view import line

        rows += [Row(f" ! {line(one, on)}", ("conflicts", at), "bold") for at, one in enumerate(found.conflicts)]
    if found.differing:
        rows.append(Row(f" ! Set-up rows that differ ({found.differing})", ("set_up_rows",)))
    return rows


def _troubles(programme: Programme, summary: Summary, on: date) -> list[Row]:
    from roundtui.report.figures.summary import suspect_words, warnings

    rows, said = [], list(warnings(summary, on))
    if summary.integrity:
        labels = tuple(one.trap for one in summary.integrity)
        known = "; ".join(words for one, words in said if isinstance(one, Trouble))
        opens = ("register", "traps", labels[0], labels, "Suspect traps")
        rows.append(Row(f" ! Suspect: {suspect_words(summary.integrity)}", opens, "", f"Not in the means. {known}."))
    for one, words in said:
        if isinstance(one, Unlikely):
            hanging = programme.hanging(one.trap, on)
            place = ("season", hanging.block, hanging.species, one.trap) if hanging is not None else ()
            rows.append(Row(f" ! {words}", place))
        elif isinstance(one, OlderFigureCall):
            rows.append(Row(f" ! {words}", ("summary", None, 1)))
    return rows


def _asked(programme: Programme, talks: Sequence[Talk]) -> list[Row]:
    """Open questions, the newest first, each with the entry that it is about."""
    rows = []
    for talk in reversed(talks):
        row = talk.newest
        did = "asks" if row.says is QuestionWord.ASKED else "answers"
        place = sanitize(row.trap or row.block or "an entry", 12)
        route = route_of(programme, row.trap, row.block) or next(iter(programme.routes), None)
        said = f" ! {place}, {row.about_on:%d %b}: {sanitize(row.scout, 16)} {did}: {sanitize(row.words, 200)}"
        rows.append(Row(said, ("replay", route, row.about_on, row.entry) if route is not None else ()))
    return rows


def _upkeep(summary: Summary) -> list[Row]:
    rows = []
    for item in ("lure", "liner", "kill-strip"):
        here = [row for row in summary.upkeep if row.item == item]
        words = item.replace("-", " ").capitalize()
        late = [(row.trap, row.days_overdue or 0) for row in here if (row.days_overdue or 0) >= 0]
        overdue = [(trap, f"{trap} {days} d late" if days else trap) for trap, days in late]
        soon = [(row.trap, row.trap) for row in here if (row.days_overdue or 0) < 0]
        rows += _listed(f"{words} due", overdue, "!") + _listed(f"{words} due within a week", soon)
    return rows


def _stock(found: Found) -> list[Row]:
    """Lots that run out or expire in the next four weeks."""
    lots = [lot for lot in found.made.observations.lots if lot.soon]
    if not lots:
        return []
    from roundtui.report.figures.sections import lot_words

    return [Row(f" ! {lot_words(lot)}", ("plan",)) for lot in lots]


def _calls(found: Found) -> list[Row]:
    from roundtui.report.figures.summary import call_lines

    lines = call_lines(found.made)
    return [Row(f" ! Call {line[4:]}", ("summary", None, 1), "", more) for _, line, done, more in lines if not done]


_KINDS = {
    AttentionKind.SAMPLE: "Sample over its plan",
    AttentionKind.NOT_DOWN: "Not coming down after a treatment",
    AttentionKind.CHANGED: "Status hangs on a changed or unlikely count",
    AttentionKind.FEW_TRAPS: "Mean of few traps",
}
"""What stands before the blocks of each kind; suspect traps are named one by one."""


def _attention(summary: Summary) -> list[Row]:
    """What needs attention of the blocks, a row each; those over and within stand in the week."""
    return [
        Row(
            f" ! {title}: {sanitize(one.block, 12)} {sanitize(one.species, 8)}".rstrip(),
            ("sample", one.block) if kind is AttentionKind.SAMPLE else ("season", one.block, one.species),
            "",
            f"{sanitize(one.block, 12)} {sanitize(one.species, 8)}: {sanitize(one.words, 300)}",
        )
        for kind, title in _KINDS.items()
        for one in summary.attention
        if one.kind is kind
    ]


_SHOWN = (Status.OVER, Status.WITHIN, Status.CANNOT_TELL)


def ahead(found: Ahead) -> Part:
    """What is ahead: traps to hang, biofixes that are only proposed, then a row for each event."""
    open_rows = waiting(found.biofixes)
    where = ", ".join(dict.fromkeys(f"{sanitize(row.block, 12)} {row.species}" for row in open_rows))
    biofix = []
    if open_rows:
        keys = tuple((row.block, row.species) for row in open_rows)
        biofix = [Row(f"   Biofix to confirm ({len(keys)}): {where}", ("season", *keys[0], "", keys))]
    events = [Row(f"   {coming_words(one)}", ("season", one.blocks[0], one.row.species)) for one in found.coming]
    return Part("Next ten days: forecast, not spray advice", (*_hanging(found.hanging), *events, *biofix))


def _hanging(rows: Sequence[PlanRow]) -> list[Row]:
    """Blocks whose traps are overdue to hang, or due within two weeks, a row each kind."""
    lines = []
    for state, words in ((PlanState.OVERDUE, "! Traps overdue to hang"), (PlanState.SOON, "  Traps to hang soon")):
        named = [row for row in rows if row.state is state and row.hang_by is not None]
        if named:
            where = ", ".join(
                f"{sanitize(row.block, 12)} {sanitize(row.species, 5)} {row.hang_by:%d %b}" for row in named
            )
            lines.append(Row(f" {words} ({len(named)}): {where}", ("plan",)))
    return lines


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
    from textual.content import Content

    found = _steps(session)
    due = next_step(found)
    rows: list[str | tuple[str, str]] = [("No round is due yet: what is set up, and what comes next\n\n", "bold")]
    for step in found:
        mark = ">" if step is due else " "
        have = str(step.have) if step.done else "may wait" if not step.needed else "none"
        rows.append((f" {mark} {step.name:<9} {have}\n", "bold reverse" if step is due else ""))
    if due is not None:
        words = [f"\nNext: {due.name}.", f"  Each is {due.words}.", "  One by one: e opens the register, a adds a row."]
        words.append("  A table of yours: b brings it, and shows what it reads before it writes.")
        words.append(f"  Or write them into {due.file} with a spreadsheet, and open the folder again.")
        rows += [f"{line}\n" for line in words]
    return Content.assemble(*rows)
