"""The plan of a season as rich tables, for the command line and the Plan screen.

The plan of a season, packing lists and the stock of lures as JSON, with the keys that others rely on.
Packing lists and the stock of lures as rich tables, for the command line and the Plan screen.

What a screen asks and tells of a season's plan: packing lists, stock, lures bought or counted, labels.
"""

from __future__ import annotations

from calendar import month_abbr
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roundtui.domain.entries import Stocked
from roundtui.domain.figures.learned import WEEKS_ARE_NO_TRAPS, Needed
from roundtui.domain.inventory.packing import Packing, PackItem
from roundtui.domain.inventory.plan import PlanRow, PlanState, SeasonPlan
from roundtui.domain.inventory.plan_rules import SAME_PLACE_SOURCE, VisitRule, every_words
from roundtui.domain.inventory.stock import LotState, LotStock, check_stock
from roundtui.domain.programme.cautions import KILL_STRIP, LURES
from roundtui.domain.programme.farm import Programme, grouped
from roundtui.domain.text import listed, sanitize, several, spoken_day, spoken_days
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET
from roundtui.errors import ProblemsError
from roundtui.report import text
from roundtui.report.bars import bar
from roundtui.report.text import Names, Section, as_name, heading, json_of, paragraph, stacked, titled
from roundtui.store.inventory import PlanRecord

if TYPE_CHECKING:
    from roundtui.store.session import Session

MARKS = {PlanState.OVERDUE: "!", PlanState.NO_DATE: "?"}
"""What says a state beside its word, where there is something to do."""


def plan_tables(plan: SeasonPlan, programme: Programme, width: int = 80) -> Section:
    """A plan, what is overdue first.

    Args:
        plan: The plan.
        programme: Names.
        width: Columns to fill.
    """
    rows = plan.by_urgency()
    late, few, needed, visits = _sections(plan, Names(programme))
    why = _why_section([row for row in rows if row.state is not PlanState.HUNG], Names(programme))
    return stacked([plan_list(plan, programme, width, rows), late, few, needed, why, visits])


def plan_list(
    plan: SeasonPlan, programme: Programme, width: int, rows: Sequence[PlanRow], marked: int | None = None
) -> Section:
    """Rows of a plan, a line each.

    Args:
        plan: The plan.
        programme: Names.
        width: Columns to fill.
        rows: Those that are shown.
        marked: Which of them is marked; None: none can be.
    """
    title = f"Season {plan.season}, seen from {plan.span.on.isoformat()}"
    if not plan.rows:
        words = "No trap hung last season or this one, and plan.toml names no number: there is nothing to plan."
        return [heading(title), paragraph(words)]
    table = _plan_table(rows, Names(programme), width, plan.span.on, marked)
    return [heading(title), paragraph(_counted(plan)), *table]


def plan_row(plan: SeasonPlan, programme: Programme, row: PlanRow) -> Section:
    """What each rule gives for one row, whole; then what the plan says of all.

    Args:
        plan: The plan.
        programme: Names.
        row: The row.
    """
    names = Names(programme)
    return stacked([_why_section([row], names), *_sections(plan, names)])


def _sections(plan: SeasonPlan, names: Names) -> list[Section]:
    rows = plan.by_urgency()
    needed = needed_section({(row.block, row.species): row.needed for row in rows if row.needed}, names)
    return [_late_section(rows, names), _few_section(rows, names), needed, _visits_section(plan.visits)]


def _visits_section(rules: Sequence[VisitRule]) -> Section:
    """How often traps are visited where plan.toml says otherwise than once a week."""
    section: Section = [heading("Visits by plan.toml; others once a week")] if rules else []
    for rule in rules:
        months = f"in {', '.join(month_abbr[one] for one in rule.months)}" if rule.months else ""
        span = [f"{float(one):g}" for one in rule.degree_days or ()]
        limits = (
            sanitize(rule.species, 5),
            f"for {as_name(rule.market)}" if rule.market else "",
            months,
            f"{rule.biofix} biofix" if rule.biofix else "",
            f"{' to '.join(span)} degree-days after biofix" if span else "",
        )
        holds = ", ".join(filter(None, limits)) or "all"
        section.append(
            paragraph(f"{holds}: {every_words(rule.every)}. Source: {sanitize(rule.source, text.NOTE_WIDTH)}")
        )
    return section


def _counted(plan: SeasonPlan) -> str:
    found = {state: sum(1 for row in plan.rows if row.state is state) for state in PlanState}
    words = [f"{found[state]} {state}" for state in PlanState if found[state]]
    ends = f" Traps come down about {plan.ends_on.isoformat()}, as last season." if plan.ends_on else ""
    traps = sum(row.traps for row in plan.rows)
    kinds = several(len(plan.rows), "block and species", "blocks and species")
    return f"{kinds}: {', '.join(words)}. {several(traps, 'trap')}.{ends}"


def _plan_table(rows: Sequence[PlanRow], names: Names, width: int, on: date, marked: int | None) -> Section:
    said, lead = [], 1 if marked is None else 2
    room = width - 57 - lead
    for at, row in enumerate(rows):
        by, why = spoken_day(row.hang_by, on) if row.hang_by else "no date", "no rule has a day"
        if row.decided_by is not None:
            why = spoken_days(row.decided_by.words, on) if room > 40 else row.decided_by.rule
        why = sanitize(why, room) if room >= 10 else ""
        some = f"{len(row.hung)} of " if row.hung and row.state is not PlanState.HUNG else ""
        what = sanitize(names.block(row.block), 16), sanitize(row.species, 5), f"{some}{row.traps}"
        cells = (*what, by, sanitize(_state(row), 15), why)
        mark = f"{'>' if at == marked else ' '}{MARKS.get(row.state, '')}"[-lead:]
        style = "bold reverse" if at == marked else "bold" if row.state is PlanState.OVERDUE else ""
        said.append((style, (mark, *cells)))
    return text.tabled(f" {lead}|Block 16|Pest 4|Traps >6|Hang by 10| 15|Because", width, said)


def _state(row: PlanRow) -> str:
    if row.state is PlanState.HUNG:
        return f"hung {row.hung_on.day} {row.hung_on:%b}" if row.hung_on else "hung"
    if row.days_left is None:
        return ""
    if row.days_left < 0:
        return f"overdue {several(-row.days_left, 'day')}"
    return f"in {several(row.days_left, 'day')}" if row.days_left else "today"


def _late_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """Blocks whose first check was not zero last season, and traps hung late in this one."""
    first, late = [], []
    for row in rows:
        past, name = row.past, f"{names.block(row.block)} {sanitize(row.species, 5)}"
        if past is not None and past.hung_too_late and past.first_read is not None:
            first.append(f"{name} {past.first_moths} on {past.first_read.isoformat()}")
        if row.late_days is not None and row.hung_on is not None:
            late.append(f"{name} on {row.hung_on.isoformat()}, {several(row.late_days, 'day')} late")
    said = []
    if first:
        words = "Last season the first check was not zero, so its biofix is doubtful"
        said.append(f"{words}: {'; '.join(first)}.")
    if late:
        said.append(f"This season: {'; '.join(late)}.")
    return titled("Hung too late", said)


def _few_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """Numbers below what is advised, and traps lost last season."""
    few: dict[str, list[str]] = {}
    lost = []
    for row in rows:
        name = f"{names.block(row.block)} {sanitize(row.species, 5)}"
        if row.advised is not None and row.traps < row.advised:
            few.setdefault(row.advice_source, []).append(f"{name} {row.traps} of {row.advised}")
        if row.past is not None and row.past.lost:
            lost.append(f"{name} {', '.join(sanitize(trap, 20) for trap in row.past.lost)}")
    said = [f"{'; '.join(numbers)}. [{sanitize(source, 400)}]" for source, numbers in few.items()]
    if few:
        words = "The number stays last season's, so that figures compare"
        said.append(f"{words} [{SAME_PLACE_SOURCE}]. plan.toml can set another.")
    lost_section = titled("Lost last season", [f"{'; '.join(lost)}."] if lost else [])
    return stacked([titled("Fewer traps than advised", said), lost_section])


def needed_section(needed: Mapping[tuple[str, str], Needed], names: Names) -> Section:
    """How many traps tell the two numbers of a block's rule apart.

    Args:
        needed: By block and species.
        names: Names of farms and blocks.
    """
    said = grouped(
        (f"{sanitize(species, 5)}: {one.words}", names.block(block)) for (block, species), one in needed.items()
    )
    lines = [f"{words}: {', '.join(dict.fromkeys(blocks))}." for words, blocks in said.items()]
    lines += [WEEKS_ARE_NO_TRAPS] if lines else []
    return titled("Traps needed to tell the two numbers of a rule apart", lines)


def _why_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """What every rule says of some rows."""
    section: list[str | text.Line] = []
    sources: dict[str, str] = {}
    for row in rows:
        said = []
        for reason in row.reasons:
            on = reason.on.isoformat() if reason.on else "no day"
            place = ", another place's date" if reason.elsewhere else ""
            said.append(f"{on}{place}: {sanitize(reason.words, text.NOTE_WIDTH)} [{as_name(reason.rule)}]")
            sources.setdefault(reason.rule, reason.source)
        section.append(paragraph(f"{names.place(row.block)}, {sanitize(row.species, 5)}, {row.why}"))
        section += [paragraph(words, 4) for words in said]
    said_by = (f"[{as_name(rule)}] {sanitize(source, 400)}" for rule, source in sources.items())
    return titled("What each rule gives; the earliest decides", [*section, *said_by])


def plan_json(plan: SeasonPlan) -> dict[str, Any]:
    """What ``plan --json`` prints.

    Args:
        plan: The plan.
    """
    return {
        **json_of(plan, "season on=span.on first=span.first last=span.last ends_on"),
        "rows": [_row(row) for row in plan.rows],
    }


def _row(row: PlanRow) -> dict[str, Any]:
    return {
        **json_of(
            row,
            "farm block species traps why advised advice_source hung hung_on hang_by days_left late_days"
            " state decided_by=decided_by.rule",
        ),
        "reasons": [json_of(reason, "rule kind on words source elsewhere") for reason in row.reasons],
        "last_season": json_of(row.past, _LAST_SEASON) if row.past else None,
        "needed": needed_json(row.needed) if row.needed else None,
    }


_LAST_SEASON = "season traps lost hung_on first_read first_moths first_catch hung_too_late ended_on"


def needed_json(one: Needed) -> dict[str, Any]:
    """Traps needed, as JSON."""
    return json_of(one, "low high k assumed traps_80 traps_90")


def packing_json(found: Packing, on: date) -> dict[str, Any]:
    """What ``packing --json`` prints.

    Args:
        found: The list.
        on: The day from which one looks.
    """
    lines = [json_of(line, "item species? detail? needed in_store to_buy words traps") for line in found.lines]
    return {**json_of(found, "route? season round_on=on traps"), "on": on.isoformat(), "lines": lines}


def stock_json(lots: Iterable[LotStock], on: date, unknown: int) -> dict[str, Any]:
    """What ``stock --json`` prints; ``left`` is null for a lot that was never bought or counted on record.

    Args:
        lots: The lots.
        on: The day.
        unknown: Lures put out since the first count whose lot nobody wrote down.
    """
    return {
        "on": on.isoformat(),
        "without_lot": unknown,
        "lots": [
            json_of(
                lot,
                "lot species left=held.left since=held.since counted=held.counted bought=held.bought"
                " used=held.used expires_on needed_next needed runs_out_on state traps",
            )
            for lot in lots
        ],
    }


_FEW_TRAPS, _MOST_TRAPS = 8, 40
"""Traps named, at most: on a small screen, and where there is room."""


def packing_tables(found: Packing, on: date, width: int = 80) -> Section:
    """The packing list of a season, or of a round.

    Args:
        found: The list.
        on: The day from which one looks.
        width: Columns to fill.
    """
    title, nothing = f"To pack for season {found.season}, from {on.isoformat()}", "Nothing is needed."
    if found.route:
        title = f"To pack for the round {as_name(found.route)}"
        title += f" of {found.on.isoformat()}, {several(len(found.traps), 'trap')}" if found.on else ""
        nothing = nothing if found.on else "None of its traps can be read: nothing to pack."
    if not found.lines:
        return stacked([[heading(title), paragraph(nothing)]])
    rows, whole, room = [], [], width - 49 if width > 58 else 0
    for line in found.lines:
        buy = line.to_buy
        kept = line.item in (PackItem.BODY, PackItem.LURE)
        there = "?" if kept and line.in_store is None else "" if line.in_store is None else str(line.in_store)
        of = " ".join(part for part in (line.species, line.detail) if part)
        told, most = found.route or room > 60, _MOST_TRAPS if room > 60 else _FEW_TRAPS
        traps = listed((sanitize(trap, 20) for trap in line.traps), most) if told else ""
        words = line.words + (f": {traps}" if traps else "")
        cells = (line.item.value, sanitize(of, 14), str(line.needed), there, "" if buy is None else str(buy), "")
        if len(words) > room:
            whole.append(paragraph(f"{line.item.value.capitalize()}{f' {of}' if of else ''}: {words}"))
        rows.append(("", ("!" if buy else "", *cells, sanitize(words, room) if room else "")))
    columns = " 1|Item 13|For 14|Need >4|There >5|Buy >4| 1|"
    section: Section = [heading(title), *text.tabled(columns, width, rows), *whole]
    if any(line.in_store is None for line in found.lines):
        section.append(paragraph("? not counted: the stock page (3) takes a count."))
    cautions = {PackItem.LURE: LURES, PackItem.KILL_STRIP: KILL_STRIP}
    items = {line.item for line in found.lines}
    section += [paragraph(words) for item, words in cautions.items() if item in items]
    return stacked([section])


def stock_tables(lots: Sequence[LotStock], on: date, unknown: int = 0, width: int = 80) -> Section:
    """Lures in stock, by lot.

    Args:
        lots: The lots.
        on: The day.
        unknown: Lures put out since the first count whose lot nobody wrote down.
        width: Columns to fill.
    """
    title = f"Lures in stock on {on.isoformat()}"
    if not lots:
        words = "No lot is set up, or all are expired and used up: the register's lots or lures.csv take one."
        return stacked([[heading(title), paragraph(words)]])
    rows, narrow, wide = [], width < 67, width > 100
    for lot in sorted(lots, key=lambda lot: not lot.warned):
        there, needed = lot.held.left, Fraction(lot.needed)
        filled = [] if narrow else ["" if there is None else bar(Fraction(max(0, there)), (needed, needed))]
        expires = f"{lot.expires_on.day} {lot.expires_on:%b %Y}" if lot.expires_on else "no date"
        cells = [sanitize(lot.lot, 14), sanitize(lot.species, 5), "?" if there is None else str(there), *filled]
        cells += [str(lot.needed_next), str(lot.needed), expires, _lot_state(lot), *([_reckoned(lot)] if wide else [])]
        rows.append(("bold" if lot.warned else "", ("!" if lot.warned else "", *cells)))
    section: Section = [heading(title)]
    named = "Lot 7|Pest 5|Left >4|4 wks >5" if narrow else "Lot 14|Pest 5|Left >4| 10|4 weeks >7"
    ends = "Enough 11|Reckoned from" if wide else "Enough"
    section += text.tabled(f" 1|{named}|Season >6|Expires 11|{ends}", width, rows)
    words = "Left: as last counted, and bought since, less put out since; ? not counted."
    signs = ", ".join(said for said in ("| is Season", "» is more") if any(said[0] in cells[4] for _, cells in rows))
    words += " 4 weeks, Season: lures the traps will take." + f" Bar: {signs}." * bool(signs)
    section.append(paragraph(words))
    if unknown:
        words = f"{several(unknown, 'lure')} put out since the first count, lot not recorded"
        section.append(paragraph(f"{words}: taken from no lot."))
    return stacked([section])


def _lot_state(lot: LotStock) -> str:
    if lot.state is LotState.SHORT and lot.runs_out_on is not None:
        return f"to {lot.runs_out_on.day} {lot.runs_out_on:%b}"
    return {LotState.NOT_COUNTED: "", LotState.ENOUGH: "yes"}.get(lot.state, lot.state.value)


def _reckoned(lot: LotStock) -> str:
    """How what is left comes about."""
    held = lot.held
    if held.since is None:
        return ""
    day = f"{held.since.day} {held.since:%b}"
    if held.counted is None:
        return f"{held.bought} bought from {day} on, {held.used} put out"
    return f"{held.counted} counted {day}, {held.bought} bought since, {held.used} put out"


FOLDER = "labels"
"""Folder inside the scouting folder in which labels are written."""
SIZE = "label-size"
"""Setting that keeps the size of labels."""


class PlanDesk:
    """Reads and tells for the Plan screen. Reading is meant for a thread.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session

    def read(self, season: int | None) -> tuple[PlanRecord, tuple[Packing, ...]]:
        """The plan, and what is packed: for the season, then for the next round of each route.

        It is read over a connection of its own, and all at once: afterwards there is none.

        Args:
            season: Year of the season; None: the running one, or the next once all traps are down.

        Raises:
            RoundtuiError: The store, ``plan.toml`` or ``models.toml`` cannot be used.
        """
        session = self.session
        with session.connection() as conn:
            record = PlanRecord(conn, session.folder, session.on, session.office, season)
            return record, tuple(record.packing(route) for route in ("", *record.programme.routes))

    def enter(self, entry: Stocked) -> None:
        """Put lures bought or counted on record. When this returns they are on the disk.

        Args:
            entry: What was bought or counted.

        Raises:
            ProblemsError: It is impossible; nothing was recorded.
            RoundtuiError: Nothing was recorded.
        """
        from roundtui.store.record import journal

        session = self.session
        problems = check_stock(entry, session.programme)
        if problems:
            raise ProblemsError("Nothing was recorded", problems)
        journal.record(session.conn, [entry], session.author, session.clock())
        session.forget()

    @property
    def size(self) -> str:
        """Size of labels used last."""
        kept = self.session.kept(SIZE)
        return kept if kept in SHEETS else USUAL_SHEET

    def write_labels(self, size: str) -> tuple[Path, int]:
        """Write the labels of all traps, as a page and as a text.

        Args:
            size: A word of ``SHEETS``.

        Returns:
            The page, and how many labels.

        Raises:
            RoundtuiError: There is no trap, or the files cannot be written.
        """
        from roundtui.report.traps.labels import write_labels

        session = self.session
        page = session.folder / FOLDER / f"labels-{session.on.isoformat()}-{size}.html"
        number = write_labels(session.conn, session.on, page, size)
        write_labels(session.conn, session.on, page.with_suffix(".txt"), size)
        session.keep(SIZE, size)
        return page, number
