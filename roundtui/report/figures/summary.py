"""The rest of a summary: what was not read, unlikely counts, upkeep due.

Whom to call after a round, who has been told what, and who was called on an older figure.
Blocks of a summary as tables: over first, then within, below and the rest, with what stands behind each figure.
What is wrong between traps and their lures or bodies, and which readings disagree, in plain sentences.
The summary as rich tables, for the command line and for the app's summary screen.
The summary as the contract's JSON: exact inside, floats on the way out, null where a figure does not exist.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from roundtui.domain.entries import Notified
from roundtui.domain.figures import verdicts
from roundtui.domain.figures.certainty import PAST_PEAK, Certainty, settles, sure_words
from roundtui.domain.figures.figures import LONGEST_DAYS
from roundtui.domain.figures.figures import MARK as ESTIMATE
from roundtui.domain.figures.summary import to_call
from roundtui.domain.figures.verdicts import AttentionKind, BlockRow, Status
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import Programme, grouped, natural_key
from roundtui.domain.text import padded, sanitize, spoken_day, spoken_days
from roundtui.report import text as numbers
from roundtui.report.bars import bar, trend
from roundtui.report.text import WORDS, Names, Section, as_name, as_note, day, heading, json_of, paragraph, titled

if TYPE_CHECKING:
    from rich.console import RenderableType


def not_read_section(rows: Sequence[verdicts.NotRead], names: Names) -> Section:
    """Traps without a count in the seven days, and why.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a paragraph for each block; empty where every trap was read.
    """
    blocks: dict[str, list[str]] = {}
    for row in rows:
        why = "taken down or moved before the visit" if row.left else "no entry"
        words = f"{as_name(row.trap)} {row.reason.value if row.reason else why}"
        blocks.setdefault(row.block, []).append(f"{words} ({as_note(row.note)})" if row.note else words)
    said = (f"{f'{names.place(block)}: ' if block else ''}{'; '.join(traps)}." for block, traps in blocks.items())
    return titled(f"Not read: {numbers.several(len(rows), 'trap')}", said)


def long_section(rows: Sequence[verdicts.LongReading], names: Names) -> Section:
    """Readings without a weekly rate, with the days they cover.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    said = []
    for row in rows:
        words = f"{numbers.several(row.count, 'moth')} in {row.days} days to {day(row.read_on)}"
        said.append(f"{as_name(row.trap)}: {words}{_in(row.block, names)}")
    return titled(f"Readings over more than {LONGEST_DAYS} days: no weekly rate, not in the mean", said)


def _in(block: str, names: Names) -> str:
    return f" [{names.place(block)}]." if block else "."


def unlikely_section(rows: Sequence[verdicts.Unlikely], names: Names) -> Section:
    """Counts that the trap's past and the round make unlikely.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    said = []
    for row in rows:
        words = f"{as_name(row.trap)}"
        words += f" on {day(row.read_on)}" if row.read_on else ""
        words += f": {row.slip.words(row.count)}" if row.slip is not None else f": {row.count}"
        said.append(words + _in(row.block, names))
    return titled("Unlikely counts: saved as typed, check them", said)


def upkeep_section(rows: Sequence[verdicts.UpkeepDue], width: int) -> Section:
    """Lures, liners and kill strips that are due, or will be within a week.

    Args:
        rows: As the summary lists them.
        width: Columns to fill.

    Returns:
        A title and a table; empty where nothing is due.
    """
    if not rows:
        return []
    said = []
    for row in rows:
        late = row.days_overdue is None or row.days_overdue >= 0
        names = as_name(row.trap), as_name(row.item)
        cells = ([("!" if late else "", "")], *names, _due(row.days_overdue), _because(row))
        said.append(("bold" if late else "", cells))
    section: Section = [heading("Upkeep"), *numbers.tabled(" 2|Trap 10|Item 10|Due 13|Because", width, said)]
    if any(row.assumed for row in rows):
        section.append(paragraph("assumed: the usual life of the species, counted from hanging; no lot on record."))
    if any(row.item == "kill-strip" for row in rows):
        section.append(paragraph("Handle kill strips with gloves, as their label says."))
    return section


def _due(days_overdue: int | None) -> str:
    if days_overdue is None or days_overdue == 0:
        return "now"
    return (
        f"{numbers.several(days_overdue, 'day')} over"
        if days_overdue > 0
        else f"in {numbers.several(-days_overdue, 'day')}"
    )


def _because(row: verdicts.UpkeepDue) -> str:
    words = []
    if row.why == "catch" and row.catch is not None:
        words.append(f"{numbers.several(row.catch, 'moth')} on it")
    if row.since is not None:
        words.append(f"in since {spoken_days(day(row.since))}")
    if row.life_days is not None:
        words.append(f"lasts {numbers.several(row.life_days, 'day')}")
    if row.assumed:
        words.append("assumed")
    return ", ".join(words) or as_name(row.why)


WINDOW_DAYS = 7
"""Days whose tellings belong to a summary. [d]"""


ATTENTION_MARKS = {AttentionKind.OVER: "▲", AttentionKind.WITHIN: "◆", AttentionKind.CANNOT_TELL: "?"}
"""One character for a kind of attention; any other has an exclamation mark."""


def attention_mark(kind: AttentionKind) -> str:
    """The character of a kind of attention."""
    return ATTENTION_MARKS.get(kind, "!")


def attention_section(items: Sequence[verdicts.Attention], names: Names, rows: Sequence[BlockRow] = ()) -> Section:
    """What needs attention, before anything else is said.

    Args:
        items: As the summary lists them.
        names: Names of farms and blocks.
        rows: Blocks of the summary: one that nobody read is never said to need nothing.

    Returns:
        A title and a line for each; one line that says so where nothing does.
    """
    unread = [f"{names.block(row.block)} {as_name(row.species)}" for row in rows if row.status is Status.NOT_READ]
    if not items and not unread:
        return [heading("Needs attention: nothing")]
    read = f"Needs attention: nothing in the blocks read; {len(unread)} of {len(rows)} not read"
    section: Section = [heading(f"Needs attention ({len(items) + bool(unread)})" if items else read)]
    if unread:
        section.append(paragraph(f"{MARKS[Status.NOT_READ]} Not read: {numbers.listed(unread)}."))
    for one in items:
        style = "bold" if one.kind is AttentionKind.OVER else ""
        words = f"{attention_mark(one.kind)} {names.place(one.block)}, {attention_words(one)}."
        section.append(paragraph([(words, style)]))
    return section


def attention_words(one: verdicts.Attention) -> str:
    """An item of the list without its place: the pest, and what it is.

    Args:
        one: The item.
    """
    pest = f"{as_name(one.species)}: " if one.species and one.kind is not AttentionKind.SAMPLE else ""
    return f"{pest}{as_note(one.words)}"


def call_section(
    items: Sequence[verdicts.Attention], rows: Sequence[BlockRow], notified: Sequence[Notified], on: date, names: Names
) -> Section:
    """Growers with something to act on, the most urgent first, each with all of theirs that needs attention.

    Args:
        items: What needs attention.
        rows: Blocks of the summary.
        notified: Tellings on record.
        on: Day of the summary.
        names: Names of farms and blocks.

    Returns:
        A title and, for each farm, whom to call and what has been told already; empty where nobody needs a call.
    """
    farms = grouped((one.farm, one) for one in to_call(items))
    known = {(row.block, row.species): row for row in rows}
    said = []
    for farm, mine in farms.items():
        grower, phone = names.contact(farm)
        over = any(one.kind is AttentionKind.OVER for one in mine)
        line = f"{attention_mark(mine[0].kind)} {names.farm(farm)}: {grower}, {phone}"
        said.append(paragraph([(line, "bold" if over else "")]))
        for one in mine:
            words = f"{names.block(one.block)}, {attention_words(one)}."
            row = known.get((one.block, one.species))
            by_status = one.kind in (AttentionKind.OVER, AttentionKind.WITHIN) and row is not None
            said.append(paragraph(f"{words} {_notified(row, notified, on)}" if by_status and row else words, 4))
    return titled("Whom to call", said)


def _notified(row: BlockRow, notified: Sequence[Notified], on: date) -> str:
    mine = [
        entry
        for entry in notified
        if (entry.block, entry.species) == (row.block, row.species)
        and on - timedelta(days=WINDOW_DAYS) < entry.round_on <= on
    ]
    if not mine:
        return "No call made yet."
    newest = max(mine, key=lambda entry: (entry.round_on, entry.notified_on, entry.id))
    by, how = as_name(newest.by), as_name(newest.how)
    what = f" ({as_name(newest.status)})" if newest.status != row.status.value else ""
    return f"Notified on {day(newest.notified_on)}, by {by}, {how}{what}."


def older_figure_calls_section(entries: Sequence[verdicts.OlderFigureCall], names: Names) -> Section:
    """Growers who were told what the record no longer shows.

    Args:
        entries: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    said = []
    for entry in entries:
        by, how = as_name(entry.by), as_name(entry.how)
        grower, phone = names.contact(names.farm_code(entry.block))
        said.append(
            f"! {names.place(entry.block)}, {as_name(entry.species)}, round of {day(entry.round_on)}: "
            f"told {as_name(entry.notified)} on {day(entry.notified_on)} by {by}, {how}; "
            f"the record now says {entry.now.value}. {grower}, {phone}."
        )
    return titled("!! Called on an older figure", said, "bold red")


MARKS = {Status(word): mark for word, mark, *_ in WORDS["status"]}
"""What says a status without colour; the heading above spells it out."""
TITLES = {Status(word): title for word, _, title, *_ in WORDS["status"]}
"""A status in words."""
_STYLES = {Status.OVER: "bold red"}
_COLUMNS = (("Pest", 6), ("Catch", 7), ("Threshold", 9), ("Traps", 6), ("Days", 6), ("Highest", 7), ("Previous", 8))
_MARK_WIDTH = 2
_LEGEND = "Catch: per trap per week. Traps: counted of hung. Days: of exposure. Highest: highest trap."
_SURE = (
    "How sure: the chance that many traps here would have said the same this week{}. Many traps: what they would "
    "likely have averaged (8 in 10). Not rated: not worked out, which is not sure. The status is the rule's and stays; "
    "this is no advice to act or to wait."
)
_TENTHS = {Certainty.SURE: "9", Certainty.LIKELY: "7 or 8", Certainty.EITHER: "4 to 6", Certainty.FIGURE: "under 4"}
_LOOKS_AT = {kind: words for kind, words, _ in WORDS["looks at"]}


def block_sections(
    rows: Sequence[BlockRow],
    names: Names,
    width: int,
    unlikely: Sequence[verdicts.Unlikely] = (),
    fruit: Mapping[tuple[str, str], str] | None = None,
) -> list[Section]:
    """A section for each status that occurs, and one for the rules that were used.

    Args:
        rows: Blocks of the summary, in its order.
        names: Names of farms and blocks.
        width: Columns to fill.
        unlikely: Counts to look at again, named beside the block whose figure they are in.
        fruit: What a fruit sample found, by block and species.

    Returns:
        Sections to put below each other.
    """
    if not rows:
        return [[heading("No trap hung in these seven days.")]]
    legend = f"{_LEGEND} {ESTIMATE}: rests on an estimate." if any(row.estimated for row in rows) else _LEGEND
    used = {row.sure.certainty for row in rows if row.sure}
    words = ", ".join(f"{one.words} {tenths}" for one, tenths in _TENTHS.items() if one in used)
    if used or any(row.not_rated for row in rows):
        legend = f"{legend} {_SURE.format(f' ({words} in 10)' if words else '')}"
    sections: list[Section] = [[heading(legend, "")]]
    for status, mark in MARKS.items():
        chosen = [row for row in rows if row.status is status]
        if not chosen:
            continue
        section: Section = [heading(f"{mark} {TITLES[status]}", _STYLES.get(status, "bold"))]
        section.append(_line(("Block", *(title for title, _ in _COLUMNS)), "", width, style="underline"))
        for row in chosen:
            section += [
                _line(_cells(row, names), mark, width, style=_STYLES.get(status, "")),
                paragraph(_notes(row, names, unlikely, (fruit or {}).get((row.block, row.species))), _MARK_WIDTH + 1),
            ]
        sections.append(section)
    sections.append(_rules(rows))
    return sections


def _line(cells: Sequence[str], mark: str, width: int, style: str) -> numbers.Line:
    """A row of the table of blocks: all but name and pest of a block stand at the right."""
    room = max(8, width - sum(columns + 1 for _, columns in _COLUMNS) - _MARK_WIDTH - 1)
    wide = (room, *(columns for _, columns in _COLUMNS))
    said = ((words, columns, style, at > 1) for at, (words, columns) in enumerate(zip(cells, wide, strict=True)))
    return numbers.Line((mark, _MARK_WIDTH, "", False), *said)


def _cells(row: BlockRow, names: Names) -> tuple[str, ...]:
    edges = row.band if row.band and row.rule and row.rule.kind == "mean" else ()
    return (
        names.block(row.block),
        as_name(row.species),
        numbers.figure(row.mean_per_week, edges or ()) + _mark(row, "mean_per_week"),
        numbers.band(row.band),
        f"{row.counted}/{row.hung}",
        numbers.days(row.days),
        numbers.figure(row.max_per_week) + _mark(row, "max_per_week"),
        numbers.figure(row.previous_per_week) + _mark(row, "previous_per_week"),
    )


BLOCK_LEGEND = "* highest  + sum  ~ weeks  ! few  w weak  » past high"
_VALUE_OF = {"single-trap": "*", "cumulative": "+", "running": "~"}
_SHORT = {Status.CANNOT_TELL: "unknown", Status.NO_RULE: "no rule", Status.NOT_READ: "not read"}


def judged_value(row: BlockRow) -> Fraction | None:
    """The number that the rule looks at; without a rule the mean. [moths/trap/week, or summed]"""
    return row.rule.value if row.rule is not None else row.mean_per_week


def judged_words(row: BlockRow) -> str:
    """The same in words, with ``*`` or ``+`` behind it where it is not the mean; a blank where it is."""
    value = judged_value(row)
    sign = _VALUE_OF.get(row.rule.kind, "") if row.rule is not None and value is not None else ""
    return f"{'-' if value is None else numbers.figure(value, row.band or ())}{sign or ' '}"


def block_head(more: int = 0) -> str:
    """Names of the columns of ``block_line``."""
    block, high = f"{'block':<{15 + more}}", f"0{'':{3 + more}}high"
    return f" status     {block} pest   catch  {high} threshold traps days {8 + more} weeks"


def block_line(row: BlockRow, names: Names, weeks: Sequence[Fraction | None] = (), more: int = 0) -> str:
    """A block in one line of 79 columns: the number that the rule looks at, as figure and as bar.

    Args:
        row: The block.
        names: Names of blocks.
        weeks: Its catch in the last weeks, the oldest first.
        more: Columns by which name, bar and weeks are each longer, where there is room.
    """
    word, said = _SHORT.get(row.status, row.status.value), judged_words(row)
    traps = f"{row.counted}/{row.hung}{'!' if row.thin and row.counted else ''}{'w' if row.weak_evidence else ''}"
    threshold = numbers.band(row.band) if row.band else ""
    return (
        f" {MARKS[row.status]} {word:<8} {padded(names.block(row.block), 15 + more)} {padded(row.species, 5)}"
        f"{said:>8} {bar(judged_value(row), row.band, 8 + more)}{threshold:>8} {traps:<6}{numbers.days(row.days):>4} "
        f"{trend(weeks)}"
    )


def block_words(row: BlockRow, names: Names, unlikely: Sequence[verdicts.Unlikely], fruit: str | None) -> str:
    """What stands behind the figure of a block, in sentences.

    Args:
        row: The block.
        names: Names of farms and blocks.
        unlikely: Counts to look at again.
        fruit: What a fruit sample found.
    """
    before = f" Previous {numbers.figure(row.previous_per_week)}." if row.previous_per_week is not None else ""
    rule = f" Source: {as_note(row.rule.source)}." if row.rule is not None else ""
    band = f"{numbers.figure(judged_value(row), row.band)}, threshold {numbers.band(row.band)}; " if row.band else ""
    return f"{band}{spoken_days(''.join(words for words, _ in _notes(row, names, unlikely, fruit)))}{before}{rule}"


def call_lines(
    items: Sequence[verdicts.Attention], rows: Sequence[BlockRow], notified: Sequence[Notified], on: date, names: Names
) -> list[tuple[str, str, bool, str]]:
    """Growers to call, the most urgent first.

    Args:
        items: What needs attention.
        rows: Blocks of the summary.
        notified: Calls on record.
        on: Day of the summary.
        names: Names of farms and blocks.

    Returns:
        For each the code of the farm, a line, whether the call is made, and all that is to be said.
    """
    farms = grouped((one.farm, one) for one in to_call(items))
    since = on - timedelta(days=WINDOW_DAYS)
    found = []
    for farm, mine in farms.items():
        grower, phone = names.contact(farm)
        blocks = {row.block for row in rows if row.farm == farm}
        calls = [one for one in notified if one.block in blocks and since < one.round_on <= on]
        newest = max(calls, key=lambda one: (one.round_on, one.notified_on, one.id), default=None)
        urgent = "  ".join(dict.fromkeys(f"{attention_mark(one.kind)} {one.block} {one.species}" for one in mine))
        said = f"{day(newest.notified_on)}, {newest.how}" if newest is not None else urgent
        line = (
            f"[{'x' if newest else ' '}] {padded(names.farm(farm), 20)} {padded(grower, 18)} {padded(phone, 12)} {said}"
        )
        whole = "; ".join(f"{names.block(one.block)}, {attention_words(one)}" for one in mine)
        found.append((farm, as_note(line), newest is not None, f"{urgent}. {whole}."))
    return found


def _mark(row: BlockRow, key: str) -> str:
    return ESTIMATE if row.estimates(key) else ""


def _notes(row: BlockRow, names: Names, unlikely: Sequence[verdicts.Unlikely], fruit: str | None) -> list[numbers.Part]:
    if row.status is Status.NOT_READ:
        notes = [names.farm(row.farm), *_standing(row)]
    else:
        notes = [names.farm(row.farm), *_rule(row), *_behind(row), *_standing(row)]
    notes += [
        f"{as_name(count.trap)} has an unlikely {count.count}"
        for count in unlikely
        if count.block == row.block and names.species(count.trap) == row.species
    ]
    words = [(f"{'; '.join(notes)}.", "")]
    if row.weak_evidence:
        then = f"; {fruit}" if fruit else ": check the fruit"
        words.append((f" Under mating disruption a low catch is weak evidence{then}.", "bold"))
    return words


NOT_WRITTEN = dict(WORDS["not written"])
"""Set-up columns that a rule may ask for, in words."""


def _rule(row: BlockRow) -> list[str]:
    notes = []
    if row.why:
        notes.append(as_note(row.why))
    if row.rule is not None:
        notes.append(_judged(row, row.rule))
        if row.band and row.rule.value == row.band[1]:
            over = row.status is Status.OVER
            notes.append(f"exactly at the upper number, which {'counts as' if over else 'is not yet'} over")
    if row.assumed:
        notes.append(f"assumed to fit, for nobody wrote down {', '.join(NOT_WRITTEN[name] for name in row.assumed)}")
    return notes


def _behind(row: BlockRow) -> list[str]:
    """What stands behind the figure, and beside it."""
    notes = []
    if suspect(row):
        notes.append(f"with the suspect traps {numbers.figure(row.mean_with_suspect)}")
    if row.counted:
        # Where exposures differ, seven of these are not the mean of rates that the rule looks at.
        even = row.per_day is not None and 7 * row.per_day == row.mean_per_week
        pooled = f", {numbers.figure(row.per_day, decimals=2)} a trap a day" if even else ""
        notes.append(f"catch {row.catch}{pooled}")
    if row.unlike:
        notes.append(f"pools readings of {row.unlike[0]} to {row.unlike[1]} days, which need not catch alike")
    if row.thin and row.counted:
        far = row.sure is not None and row.sure.certainty is Certainty.SURE
        notes.append(f"few traps: under three counted{', yet far from the threshold' if far else ''}")
    notes += sure_notes(row)
    notes += [PAST_PEAK] if row.past_peak else []
    estimates = row.estimates("mean_per_week")
    if estimates:
        notes.append(f"{ESTIMATE} {numbers.several(estimates, 'count is an estimate', 'counts are estimates')}")
    if not estimates and row.estimates("previous_per_week"):
        notes.append(f"{ESTIMATE} the previous figure rests on an estimate")
    if row.edge_mean is not None:
        notes.append(f"edge traps {numbers.figure(row.edge_mean)}{_mark(row, 'edge_mean')}, not in the figure")
    if row.read != row.counted:
        notes.append(f"{numbers.several(row.read, 'trap')} read, {row.counted} in the figure")
    return notes


def sure_notes(row: BlockRow) -> list[str]:
    """How sure the status is, and what would tell more; the status itself is the rule's.

    Args:
        row: The block.
    """
    if row.sure is None or row.band is None:
        return [f"how sure: not rated, {row.not_rated}"] if row.not_rated else []
    band = float(row.band[0]), float(row.band[1])
    more = settles(row.sure, row.counted, band, suspect=suspect(row))
    return [sure_words(row.sure, row.status.value, band), *filter(None, [more])]


def suspect(row: BlockRow) -> bool:
    """Whether a suspect trap was read beside those of the mean, and would change it."""
    return row.mean_with_suspect is not None and row.mean_with_suspect != row.mean_per_week


def _standing(row: BlockRow) -> list[str]:
    """What holds whether the block was read or not."""
    notes = []
    if row.previous_on is not None and row.previous_per_week is not None:
        notes.append(f"the previous figure is of {day(row.previous_on)}")
    if row.cumulative is not None:
        notes.append(f"season {numbers.figure(row.cumulative)}{_mark(row, 'cumulative')} a trap")
    if row.stage is not None:
        notes.append(f"stage {as_name(row.stage)}")
    return notes


def _judged(row: BlockRow, rule: verdicts.RuleApplied) -> str:
    name = f"rule {as_name(rule.id)}"
    if rule.kind == "mean" and rule.value == row.mean_per_week:
        return name
    if row.status is Status.NO_RULE:
        return f"{name}, {as_note(rule.source)}"
    value = "cannot be told" if rule.value is None else numbers.figure(rule.value, row.band or ())
    return f"{name} compares {_LOOKS_AT.get(rule.kind, as_name(rule.kind))}: {value}"


def _rules(rows: Sequence[BlockRow]) -> Section:
    used: dict[str, str] = {}
    for row in rows:
        if row.rule is not None and row.rule.id not in used:
            when = f", {row.rule.date.isoformat()}" if row.rule.date else ""
            looks_at = _LOOKS_AT.get(row.rule.kind, as_name(row.rule.kind))
            judged = f"{looks_at}, {numbers.band(row.band)}" if row.band else "for the time, not for a verdict"
            used[row.rule.id] = f"{as_name(row.rule.id)}: {judged}. Source: {as_note(row.rule.source)}{when}."
    return titled("Rules used", used.values())


_CLEAN_BODY = "and a clean body, since plastic keeps the scent"


def integrity_line(troubles: Sequence[verdicts.Trouble]) -> str:
    """The same in a line: which traps, and why; empty where there is none.

    Args:
        troubles: As the summary lists them; a swapped pair is told once.
    """
    by_kind: dict[verdicts.TroubleKind, list[str]] = {}
    for one in sorted(troubles, key=lambda one: list(verdicts.TroubleKind).index(one.kind)):
        labels = sorted({one.trap, one.partner or one.trap}, key=natural_key)
        pair = " and ".join(as_name(label) for label in labels)
        if pair not in by_kind.setdefault(one.kind, []):
            by_kind[one.kind].append(pair)
    said = (f"{kind.words} {', '.join(labels)}" for kind, labels in by_kind.items())
    return f"!! Suspect, not in the means: {'; '.join(said)}" if by_kind else ""


def warnings(summary: verdicts.Summary, on: date) -> Iterator[tuple[object, str]]:
    """What a summary warns of, a line each, with what it is about; a swapped pair is told once.

    Args:
        summary: The summary.
        on: The day it is read on, whose year goes without saying.
    """
    for row in summary.integrity:
        if row.partner is None or natural_key(row.trap) < natural_key(row.partner):
            labels = " and ".join(sanitize(label, 12) for label in (row.trap, row.partner) if label)
            found = f" ({sanitize(row.found, 12)})" if row.found else ""
            since = f", since {spoken_day(row.since, on)}" if row.since else ""
            yield row, f"{row.kind.words.capitalize()}: {labels}{found}{since}"
    for one in summary.unlikely:
        why = one.slip.words(one.count) if one.slip is not None else f"{one.count}"
        yield one, f"Unlikely count: {sanitize(one.trap, 12)}, {why}"
    for call in summary.older_figure_calls:
        was = f"block {sanitize(call.block, 12)} {call.species} was told {sanitize(call.notified, 12)}"
        yield call, f"Called on an older figure: {was}, now {call.now.value}"
    for two in summary.conflicts:
        counts = " and ".join(f"{count} by {sanitize(scout, 12)}" for scout, count in two.counts)
        yield two, f"Two counts of {sanitize(two.trap, 12)}, {spoken_day(two.read_on, on)}: {counts}"


def integrity_section(troubles: Sequence[verdicts.Trouble], names: Names) -> Section:
    """Traps whose catch cannot be relied on: which, since when, what to do.

    Args:
        troubles: As the summary lists them; a swapped pair is told once.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence or three for each; empty where there is none.
    """
    told: set[str] = set()
    said: list[str] = []
    by_trap = {trouble.trap: trouble for trouble in troubles}
    for trouble in troubles:
        if trouble.trap not in told:
            partner = by_trap.get(trouble.partner) if trouble.partner else None
            told |= {trouble.trap, *([partner.trap] if partner else [])}
            said.append(_pair(trouble, partner, names) if partner else _alone(trouble, names))
    section = titled("!! Suspect traps", said, "bold red", sign="bold red")
    known = paragraph("Their catch since the day named stays on record but is not in the means.")
    return [section[0], known, *section[1:]] if section else []


def _trap(trouble: verdicts.Trouble) -> str:
    return f"{as_name(trouble.trap)} ({as_name(trouble.species)})"


def _pair(trouble: verdicts.Trouble, partner: verdicts.Trouble, names: Names) -> str:
    places = (
        names.place(trouble.block)
        if trouble.block == partner.block
        else f"{names.place(trouble.block)}; {names.place(partner.block)}"
    )
    since = (
        f"both since {day(trouble.since)}"
        if trouble.since == partner.since
        else f"{as_name(trouble.trap)} since {day(trouble.since)}, {as_name(partner.trap)} since {day(partner.since)}"
    )
    return (
        f"{_trap(trouble)} and {_trap(partner)} hold each other's lure, {since} [{places}]. Put in each species' "
        f"own lure, new, {_CLEAN_BODY}."
    )


def _alone(trouble: verdicts.Trouble, names: Names) -> str:
    trap, place, since = _trap(trouble), names.place(trouble.block), day(trouble.since)
    own = as_name(trouble.species)
    found = as_name(trouble.found) if trouble.found else "another species"
    match trouble.kind:
        case verdicts.TroubleKind.NO_LURE:
            return f"{trap} is without a lure since {since} [{place}]. Put in a lure for {own}."
        case verdicts.TroubleKind.SCENTED_BODY:
            return f"The body of {trap} keeps the scent of {found} since {since} [{place}]. Replace it by a clean body."
        case verdicts.TroubleKind.SWAPPED_LURES:
            other = as_name(trouble.partner or "")
            return (
                f"{trap} holds the lure of {other} ({found}) and the other way round, since {since} [{place}]. Put "
                f"in each species' own lure, new, {_CLEAN_BODY}."
            )
        case verdicts.TroubleKind.WRONG_LURE:
            return f"{trap} holds a lure for {found} since {since} [{place}]. Put in a lure for {own} {_CLEAN_BODY}."


def conflict_section(conflicts: Sequence[verdicts.Conflict], names: Names) -> Section:
    """Readings of one trap on one day that disagree.

    Args:
        conflicts: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    said = ["Not counted until one of the two is corrected."] if conflicts else []
    for conflict in conflicts:
        counts = numbers.listed([f"{as_name(scout)} {count}" for scout, count in conflict.counts])
        words = f"! {as_name(conflict.trap)} on {day(conflict.read_on)}"
        said.append(words + (f": {counts}" if counts else "") + _in(conflict.block, names))
    return titled("!! Two readings of one trap on one day", said, "bold red")


def summary_tables(
    summary: verdicts.Summary,
    programme: Programme,
    *,
    notified: Sequence[Notified] = (),
    observations: Sequence[Section] = (),
    fruit: Mapping[tuple[str, str], str] | None = None,
    width: int = 80,
) -> list[RenderableType]:
    """Everything a summary says, what needs a hand first.

    Traps that cannot be relied on and readings that disagree stand above all figures, since they bear on them. Nothing
    is said by colour alone, and text from people is shown as text.

    Args:
        summary: The summary of one day.
        programme: Names and phone numbers.
        notified: Tellings on record, of any day.
        observations: What stands beside the figures; see ``observation_sections``.
        fruit: What a fruit sample found, by block and species; see ``report.sampling.fruit_words``.
        width: Columns to fill; 80 is what it is made for.

    Returns:
        Renderables to print below each other.
    """
    names = Names(programme)
    return numbers.stacked(
        [
            _title(summary),
            attention_section(summary.attention, names, summary.blocks),
            integrity_section(summary.integrity, names),
            conflict_section(summary.conflicts, names),
            older_figure_calls_section(summary.older_figure_calls, names),
            *block_sections(summary.blocks, names, width, summary.unlikely, fruit or {}),
            *observations,
            call_section(summary.attention, summary.blocks, notified, summary.on, names),
            not_read_section(summary.not_read, names),
            long_section(summary.long_readings, names),
            unlikely_section(summary.unlikely, names),
            upkeep_section(summary.upkeep, width),
            _cautions(),
        ]
    )


def _title(summary: verdicts.Summary) -> Section:
    words = f"Summary of the seven days to {summary.on.isoformat()}"
    return [heading(f"{words}, route {as_name(summary.route)}" if summary.route else words)]


def _cautions() -> Section:
    return titled("Before anything is done", (f"- {caution}" for caution in SUMMARY_CAUTIONS))


def summary_json(summary: verdicts.Summary) -> dict[str, Any]:
    """What ``summary --json`` prints.

    Args:
        summary: The summary of one day.

    Returns:
        A value made of dicts, lists, text, numbers, booleans and None, with the contract's keys in its order.
    """
    return {
        "on": summary.on.isoformat(),
        "blocks": [_block(row) for row in summary.blocks],
        "integrity": [_trouble(trouble) for trouble in summary.integrity],
        "upkeep": [json_of(due, "trap item why days_overdue catch") for due in summary.upkeep],
        "not_read": [json_of(row, "trap block reason") for row in summary.not_read],
        "unlikely": [{"trap": row.trap, "count": row.count} for row in summary.unlikely],
        "conflicts": [json_of(row, "trap read_on entries") for row in summary.conflicts],
        "long_readings": [json_of(row, "trap read_on count days") for row in summary.long_readings],
        "attention": [json_of(one, "kind farm block species trap words") for one in summary.attention],
    }


def _block(row: BlockRow) -> dict[str, Any]:
    figures = (
        "hung read counted mean_per_week max_per_week mean_with_suspect edge_mean previous_per_week cumulative band"
    )
    certainty = "level_low=sure.low level_high=sure.high chance=sure.chance certainty=sure.certainty"
    return {
        **json_of(row, f"farm block species {figures} status thin"),
        "rule": None if row.rule is None else json_of(row.rule, "id kind value source date"),
        **json_of(row, f"weak_evidence stage rules assumed {certainty}"),
    }


def _trouble(trouble: verdicts.Trouble) -> dict[str, Any]:
    return json_of(trouble, "kind farm block trap species found since partner")
