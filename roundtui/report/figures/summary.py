"""What a summary says: whom to call, what bears on its figures, its blocks, what was not read, what is due.

As lines for the screens, as tables for page and command line, and as the contract's JSON: exact inside, floats on the
way out, null where a figure does not exist.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from roundtui.domain.figures import verdicts
from roundtui.domain.figures.certainty import PAST_PEAK, Certainty, interval_words, settles, side_words
from roundtui.domain.figures.figures import window_start
from roundtui.domain.figures.learned import COMPARED
from roundtui.domain.figures.rules import rule_name
from roundtui.domain.figures.summary import to_call
from roundtui.domain.figures.verdicts import AttentionKind, BlockRow, Status
from roundtui.domain.programme.farm import grouped, natural_key
from roundtui.domain.text import full_day, listed, padded, sanitize, several, spoken_day, spoken_days
from roundtui.report import text
from roundtui.report.bars import NARROW, WIDE, bar, trend
from roundtui.report.text import WORDS, Names, Section, as_name, as_note, day, heading, json_of, paragraph, titled

if TYPE_CHECKING:
    from roundtui.domain.entries import Notified
    from roundtui.store.figures.summary import DaySummary


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
        blocks.setdefault(row.block, []).append(f"{as_name(row.trap)} {_unread_words(row)}")
    said = (f"{f'{names.place(block)}: ' if block else ''}{'; '.join(traps)}." for block, traps in blocks.items())
    return titled(f"Not read: {several(len(rows), 'trap')}", said)


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
        cells = ("!" if late else "", *names, _due(row.days_overdue), _because(row))
        said.append(("bold" if late else "", cells))
    section: Section = [heading("Upkeep"), *text.tabled(" 2|Trap 10|Item 10|Due 13|Because", width, said)]
    if any(row.assumed for row in rows):
        section.append(paragraph("assumed: the usual life of the species, counted from hanging; no lot on record."))
    if any(row.item == "kill-strip" for row in rows):
        section.append(paragraph("Handle kill strips with gloves, as their label says."))
    return section


def _due(days_overdue: int | None) -> str:
    if not days_overdue:
        return "now"
    span = several(abs(days_overdue), "day")
    return f"{span} over" if days_overdue > 0 else f"in {span}"


def _because(row: verdicts.UpkeepDue) -> str:
    words = []
    if row.why == "catch" and row.catch is not None:
        words.append(f"{several(row.catch, 'moth')} on it")
    if row.since is not None:
        words.append(f"in since {full_day(row.since)}")
    if row.life_days is not None:
        words.append(f"lasts {several(row.life_days, 'day')}")
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
        section.append(paragraph(f"{MARKS[Status.NOT_READ]} Not read: {listed(unread)}."))
    for one in items:
        style = "bold" if one.kind is AttentionKind.OVER else ""
        where = names.place(one.block) if one.block else "No block here"
        words = f"{attention_mark(one.kind)} {where}, {attention_words(one)}."
        section.append(paragraph([(words, style)]))
    return section


def attention_words(one: verdicts.Attention) -> str:
    """An item of the list without its place: the pest, and what it is.

    Args:
        one: The item.
    """
    pest = f"{as_name(one.species)}: " if one.species and one.kind is not AttentionKind.SAMPLE else ""
    return f"{pest}{as_note(one.words)}"


def call_section(made: DaySummary) -> Section:
    """Growers with something to act on, the most urgent first, each with all of theirs that needs attention.

    Args:
        made: The summary.

    Returns:
        A title and, for each farm, whom to call and what has been told already; empty where nobody needs a call.
    """
    said = []
    for _, line, done, more in call_lines(made):
        said += [paragraph([(line, "" if done else "bold")]), paragraph(more, 6)]
    return titled("Whom to call", said)


MARKS = {Status(word): mark for word, mark, *_ in WORDS["status"]}
"""What says a status without colour; the heading above spells it out."""
TITLES = {Status(word): title for word, _, title, *_ in WORDS["status"]}
"""A status in words."""
_LEGEND = "Catch: the number that the rule looks at. Traps: counted of hung. Days: of exposure."
_SURE = (
    "How sure: the chance that many traps here would have said the same this week{}. Many traps: what they would "
    "likely have averaged (8 in 10). Not rated: not worked out, which is not sure. The status is the rule's and stays; "
    "this is no advice to act or to wait."
)
_TENTHS = {Certainty.SURE: "9", Certainty.LIKELY: "7 or 8", Certainty.EITHER: "4 to 6", Certainty.FIGURE: "under 4"}
_LOOKS_AT = {kind: words for kind, words, _ in WORDS["looks at"]}


def block_sections(made: DaySummary, width: int) -> list[Section]:
    """A section for each status that occurs, and one for the rules that were used.

    Args:
        made: The summary.
        width: Columns to fill.

    Returns:
        Sections to put below each other.
    """
    rows, names = made.summary.blocks, Names(made.programme)
    if not rows:
        return [[heading("No trap hung in these seven days.")]]
    legend = f"{_LEGEND} {block_legend(rows)}"
    used = {row.sure.certainty for row in rows if row.sure}
    words = ", ".join(f"{one.words} {tenths}" for one, tenths in _TENTHS.items() if one in used)
    if used or any(row.not_rated for row in rows):
        legend = f"{legend} {_SURE.format(f' ({words} in 10)' if words else '')}"
    sections: list[Section] = [[heading(legend, "")]]
    head, details = text.Line([(block_head(width, weeks=False), "underline")]), Details(made)
    for status, mark in MARKS.items():
        chosen = [row for row in rows if row.status is status]
        if chosen:
            style = "bold red" if status is Status.OVER else ""
            section: Section = [heading(f"{mark} {TITLES[status]}", style or "bold"), head]
            for row in chosen:
                section.append(text.Line([(block_line(row, names, width=width), style)]))
                section.append(text.Line([("\n".join(details.lines(row, width - 4)), "")], 4))
            sections.append(section)
    sections.append(_rules(rows))
    return sections


_SIGNS = {"*": "highest", "+": "sum", "/": "weeks", "!": "few", "w": "weak", "|": "high", "»": "past high"}
_VALUE_OF = {"single-trap": "*", "cumulative": "+", "running": "/"}


def judged_value(row: BlockRow) -> Fraction | None:
    """The number that the rule looks at; without a rule the mean. [moths/trap/week, or summed]"""
    return row.rule.value if row.rule is not None else row.mean_per_week


def judged_words(row: BlockRow) -> str:
    """The same in words, with ``*`` or ``+`` behind it where it is not the mean; a blank where it is."""
    value = judged_value(row)
    sign = _VALUE_OF.get(row.rule.kind, "") if row.rule is not None and value is not None else ""
    return f"{'-' if value is None else text.figure(value, row.band or ())}{sign or ' '}"


def _traps(row: BlockRow) -> str:
    return f"{row.counted}/{row.hung}{'!' if row.thin and row.counted else ''}{'w' if row.weak_evidence else ''}"


def block_legend(rows: Sequence[BlockRow]) -> str:
    """What the signs mean that stand in some rows."""
    traps = "".join(_traps(row).replace("/", "") for row in rows)
    there = traps + "".join(f"{judged_words(row)}{bar(judged_value(row), row.band)}" for row in rows)
    return "  ".join(f"{sign} {word}" for sign, word in _SIGNS.items() if sign in there)


def block_head(width: int = 80, *, weeks: bool = True) -> str:
    """Names of the columns of ``block_line``."""
    if width < NARROW:
        return f"   {'status':<8} block pest  catch  0   high{'low–high':>9} trap d"
    more = 7 if width > WIDE else 0
    rest = f" {f'{8 + more} weeks':<{8 + more}}" * weeks + "  highest previous" * bool(more)
    block, high = f"{'block':<{15 + more}}", f"0{'':{3 + more}}high"
    return f" status     {block} pest   catch  {high} threshold traps days{rest}"


def block_line(row: BlockRow, names: Names, weeks: Sequence[Fraction | None] | None = None, width: int = 80) -> str:
    """A block in one line of at most 79 columns: the number that the rule looks at, as figure and as bar.

    Args:
        row: The block.
        names: Names of blocks.
        weeks: Its catch in the last weeks, the oldest first; None: left out.
        width: Columns there are: below 78 name and weeks are left out; over 119 all is longer, and there is more.
    """
    word, said = row.status.words, judged_words(row)
    threshold, status = text.band(row.band) if row.band else "", f" {MARKS[row.status]} {word:<8}"
    pest, value = padded(row.species, 5), judged_value(row)
    if width < NARROW:
        figures = f"{pest}{said:>6} {bar(value, row.band)}{threshold:>7} {_traps(row):<4} {text.days(row.days)}"
        return f"{status} {padded(row.block, 5)} {figures}"
    more = 7 if width > WIDE else 0
    line = (
        f"{status} {padded(names.block(row.block), 15 + more)} {pest}{said:>8} {bar(value, row.band, 8 + more)}"
        f"{threshold:>8} {_traps(row):<6}{text.days(row.days):>4}"
    )
    line += f" {trend(weeks[-8 - more :]):<{8 + more}}" if weeks is not None else ""
    if more:
        line += "".join(f"{text.figure(one):>9}" for one in (row.max_per_week, row.previous_per_week))
    return line


def call_lines(made: DaySummary, width: int = 80) -> list[tuple[str, str, bool, str]]:
    """Growers to call, the most urgent first.

    Args:
        made: The summary.
        width: Columns there are: below 78 the grower is left out of the line.

    Returns:
        For each the code of the farm, a line, whether the call is made, and all that is to be said.
    """
    names, found, on = Names(made.programme), [], made.summary.on
    warned = ((one, words) for one, words in warnings(made.summary, on) if isinstance(one, verdicts.OlderFigureCall))
    older = grouped((made.programme.farm_of(one.block), words) for one, words in warned)
    urgent_of = grouped((one.farm, one) for one in to_call(made.summary.attention))
    for farm in {**older, **urgent_of}:
        mine = urgent_of.get(farm, [])
        grower, phone = names.contact(farm)
        call = _call(made, farm)
        urgent = "  ".join(dict.fromkeys(f"{attention_mark(one.kind)} {_about(one)}" for one in mine))
        said, done = f"! older figure  {urgent}" if farm in older else urgent, call is not None and farm not in older
        said = f"{spoken_day(call.notified_on, on)}, {call.how}" if call is not None and done else said
        who = f"{padded(grower, 18 + 7 * (width > WIDE))} " if width >= NARROW else ""
        line = f"[{'x' if done else ' '}] {padded(names.farm(farm), 20)} {padded(phone, 12)} {who}{said}"
        whole = "; ".join(f"{names.block(one.block)}, {attention_words(one)}" for one in mine)
        more = ". ".join(filter(None, (f"{grower}, {phone}", _call_words(call), *older.get(farm, ()), whole)))
        found.append((farm, as_note(line), done, spoken_days(f"{more}.", on)))
    return found


def _about(one: verdicts.Attention) -> str:
    """Block and pest; where it is not the traps' figure that says so, the trap, or what was looked at."""
    if one.trap is not None:
        return one.trap
    more = {AttentionKind.SAMPLE: one.words.partition(" ")[0], AttentionKind.FEW_TRAPS: f"{one.species} few traps"}
    return f"{one.block} {more.get(one.kind, one.species)}"


def _call(made: DaySummary, farm: str) -> Notified | None:
    """The newest call made to a farm about a round of these seven days."""
    on, blocks = made.summary.on, {(row.block, row.species) for row in made.summary.blocks if row.farm == farm}
    calls = [
        one
        for one in made.history.notified
        if (one.block, one.species) in blocks and on - timedelta(days=WINDOW_DAYS) < one.round_on <= on
    ]
    return max(calls, key=lambda one: (one.round_on, one.notified_on, one.id), default=None)


def _call_words(call: Notified | None) -> str:
    if call is None:
        return "No call made yet"
    return f"Call made on {day(call.notified_on)} by {as_name(call.by)}, {as_name(call.how)}"


NOT_WRITTEN = dict(WORDS["not written"])
"""Set-up columns that a rule may ask for, in words."""


_TITLE_WIDE = 9


class Details:
    """What stands behind the figures of blocks, in short lines.

    Args:
        made: The summary.
    """

    def __init__(self, made: DaySummary) -> None:
        self._made, self._names = made, Names(made.programme)
        self._fruit: Mapping[tuple[str, str], str] = {}
        if made.observations.samples:
            from roundtui.report.sampling import fruit_words

            self._fruit = fruit_words(made)

    def lines(self, row: BlockRow, width: int, *, whole: bool = False) -> list[str]:
        """Its lines, what is needed first on top: a title, then its words.

        Args:
            row: The block.
            width: Columns to fill.
            whole: Whether its grower, and last the source of its rule, are said too.
        """
        said, points = [], list(self._said(row, whole=whole))
        words = spoken_days("\n".join(line for _, line in points), self._made.summary.on).split("\n")
        for (title, _), line in zip(points, words, strict=False):
            first, *rest = text.folds(line, max(10, width - _TITLE_WIDE - 1))
            said += [f"{title:<{_TITLE_WIDE}} {first}", *(f"{'':<{_TITLE_WIDE}} {more}" for more in rest)]
        if whole and row.rule is not None:
            said += text.folds(f"Source: {as_note(row.rule.source)}", width)
        return said

    def short(self, row: BlockRow) -> str:
        """The same in a sentence: block, what the rule looks at, what was counted, how sure."""
        traps = {trap.trap for trap in row.traps}
        said = [f"check {as_name(one.trap)}: {_odd(one)}" for one in self._made.summary.unlikely if one.trap in traps]
        said += [words for title, words in self._said(row) if title in ("Why", "Rule", "Counted", "How sure")]
        return f"{self._names.block(row.block)}, {row.species}: {spoken_days('; '.join(said), self._made.summary.on)}."

    def _said(self, row: BlockRow, *, whole: bool = False) -> Iterator[tuple[str, str]]:
        if row.why:
            yield "Why", as_note(row.why)
        if row.rule is not None and row.status is not Status.NOT_READ:
            yield "Rule", _judged(row, row.rule)
        if row.counted:
            yield "Counted", self._counted(row)
        if out := "; ".join(self._left_out(row)):
            yield "Left out", out
        if whole:
            yield "Grower", self._grower(row.farm)
        elif (per_day := row.per_day) is not None and 7 * per_day == row.mean_per_week:
            # Where exposures differ, seven of these are not the mean of rates that the rule looks at.
            yield "A day", f"{text.figure(per_day, decimals=2)} a trap"
        yield from self._seen(row)
        if before := "; ".join(_standing(row)):
            yield "Previous", before
        if sure := "; ".join(sure_notes(row)):
            yield "How sure", sure

    def _counted(self, row: BlockRow) -> str:
        slips = {one.trap: one for one in self._made.summary.unlikely if one.block == row.block}
        traps = []
        for trap in sorted(row.traps, key=lambda one: natural_key(one.trap)):
            odd = f" (unlikely: {_odd(slips[trap.trap])})" if trap.trap in slips else ""
            traps.append(f"{as_name(trap.trap)} {trap.moths} in {trap.days} d{odd}")
        few = " (few traps)" if row.thin else ""
        notes = [f"{several(row.catch, 'moth')} in {row.counted} of {several(row.hung, 'trap')}{few}"]
        notes[0] += f": {', '.join(traps)}" if traps else ""
        if row.unlike:
            notes.append(f"readings of {row.unlike[0]} to {row.unlike[1]} days need not catch alike")
        if estimates := row.estimates("mean_per_week"):
            notes.append(several(estimates, "count is an estimate", "counts are estimates"))
        return "; ".join(notes)

    def _left_out(self, row: BlockRow) -> Iterator[str]:
        """The block's traps that are not in its mean, each with its reason."""
        summary, names, key = self._made.summary, self._names, (row.block, row.species)
        for trouble in summary.integrity:
            if (trouble.block, trouble.species) == key:
                yield f"{as_name(trouble.trap)} {trouble.kind.words}"
        two = [one for one in summary.conflicts if one.read_on >= window_start(summary.on)]
        out: list[verdicts.Conflict | verdicts.LongReading | verdicts.NotRead]
        out = [*two, *summary.long_readings, *summary.not_read]
        for one in out:
            if (one.block, names.species(one.trap)) == key:
                yield f"{as_name(one.trap)} {_why_out(one)}"
        if suspect(row):
            yield f"with the suspect traps {text.figure(row.mean_with_suspect)}"
        if row.edge_mean is not None:
            yield f"edge traps {text.figure(row.edge_mean)}{_estimated(row, 'edge_mean')}"

    def _seen(self, row: BlockRow) -> Iterator[tuple[str, str]]:
        """What was seen beside the counts: samples, treatments."""
        fruit = self._fruit.get((row.block, row.species))
        if row.weak_evidence:
            yield "Fruit", f"under mating disruption a low catch is weak evidence; {fruit or 'check the fruit'}"
        for one in self._made.summary.attention:
            if one.kind is AttentionKind.SAMPLE and one.block == row.block and one.species in ("", row.species):
                traps = f"traps say {row.status.value}, the " if row.status in COMPARED else ""
                yield "Sample", f"{traps}{as_note(one.words)}"
        key = (row.block, row.species)
        said = [one for one in self._made.observations.treatments if (one.block, one.species) == key]
        if said:
            yield "Spray", f"reported {said[-1].treated_on.isoformat()}; in full: what the catch did since"

    def _grower(self, farm: str) -> str:
        grower, phone = self._names.contact(farm)
        called = _call(self._made, farm)
        wanted = called is not None or any(one.farm == farm for one in to_call(self._made.summary.attention))
        return f"{self._names.farm(farm)}: {grower}, {phone}{f'. {_call_words(called)}' if wanted else ''}"


def _why_out(one: verdicts.Conflict | verdicts.LongReading | verdicts.NotRead) -> str:
    match one:
        case verdicts.Conflict():
            return as_note(one.words)
        case verdicts.LongReading():
            moths = several(one.count, "moth")
            return f"{moths} in {one.days} days to {day(one.read_on)}, no weekly rate"
    return _unread_words(one)


def _unread_words(row: verdicts.NotRead) -> str:
    why = "taken down or moved before the visit" if row.left else "no entry"
    words = row.reason.value if row.reason else why
    return f"{words} ({as_note(row.note)})" if row.note else words


def sure_notes(row: BlockRow) -> list[str]:
    """How sure the status is, and what would tell more; the status itself is the rule's.

    Args:
        row: The block.
    """
    if row.sure is None or row.band is None:
        return [f"not rated, {row.not_rated}"] if row.not_rated else []
    band = float(row.band[0]), float(row.band[1])
    more = settles(row.sure, row.counted, band, suspect=suspect(row))
    words = [side_words(row.sure, row.status.value, band), f"many traps {interval_words(row.sure)}"]
    return [*words, *filter(None, [more])]


def suspect(row: BlockRow) -> bool:
    """Whether a suspect trap was read beside those of the mean, and would change it."""
    return row.mean_with_suspect is not None and row.mean_with_suspect != row.mean_per_week


def _standing(row: BlockRow) -> list[str]:
    """What holds whether the block was read or not."""
    notes = []
    if row.previous_per_week is not None:
        when = f" of {day(row.previous_on)}" if row.previous_on is not None else ""
        notes.append(f"{text.figure(row.previous_per_week)}{_estimated(row, 'previous_per_week')}{when}")
    if row.cumulative is not None:
        notes.append(f"season {text.figure(row.cumulative)}{_estimated(row, 'cumulative')} a trap")
    if row.stage is not None:
        notes.append(f"stage {as_name(row.stage)}")
    return [*notes, *([PAST_PEAK] if row.past_peak else [])]


def _estimated(row: BlockRow, key: str) -> str:
    return " (estimated)" if row.estimates(key) else ""


def _judged(row: BlockRow, rule: verdicts.RuleApplied) -> str:
    """The number that the rule looks at, how far it is from the threshold, and which rule."""
    name = f"rule {as_name(rule_name(rule.id))}"
    looks_at = _LOOKS_AT.get(rule.kind, as_name(rule.kind)).removeprefix("the ")
    if row.band is None or row.status is Status.NO_RULE:
        return f"{name}, for the time, not for a verdict"
    low, high = row.band
    said = f"{looks_at}: cannot be told, threshold {text.band(row.band)}"
    if rule.value is not None:
        at = f"exactly the upper number, {'counts as' if row.status is Status.OVER else 'not yet'} over"
        far = {
            Status.OVER: f"{text.figure(rule.value - high)} over {text.number(high)}",
            Status.WITHIN: f"between {text.number(low)} and {text.number(high)}",
            Status.BELOW: f"below {text.number(low)}",
        }.get(row.status, f"threshold {text.band(row.band)}")
        said = f"{looks_at} {text.figure(rule.value, row.band)}, {at if rule.value == high else far}"
    assumed = f"; assumed: {', '.join(NOT_WRITTEN[name] for name in row.assumed)}, not on record" if row.assumed else ""
    return f"{said} ({name}){assumed}"


def _rules(rows: Sequence[BlockRow]) -> Section:
    used: dict[str, str] = {}
    for row in rows:
        if row.rule is not None and row.rule.id not in used:
            when = f", {row.rule.date.isoformat()}" if row.rule.date else ""
            looks_at = _LOOKS_AT.get(row.rule.kind, as_name(row.rule.kind))
            judged = f"{looks_at}, {text.band(row.band)}" if row.band else "for the time, not for a verdict"
            used[row.rule.id] = f"{as_name(row.rule.id)}: {judged}. Source: {as_note(row.rule.source)}{when}."
    return titled("Rules used", used.values())


_TO_DO = dict(WORDS["to do"])
"""What puts a suspect trap right, by what is wrong."""


def suspect_words(troubles: Sequence[verdicts.Trouble]) -> str:
    """Which traps are suspect, and why, in a line; empty where none is.

    Args:
        troubles: As the summary lists them; a swapped pair is told once.
    """
    said: dict[str, str] = {}
    for one in sorted(troubles, key=lambda one: list(verdicts.TroubleKind).index(one.kind)):
        labels = sorted({one.trap, one.partner or one.trap}, key=natural_key)
        said[" ".join(map(as_name, labels))] = one.kind.words
    return ", ".join(f"{labels} {words}" for labels, words in said.items())


def not_read_line(rows: Sequence[verdicts.NotRead]) -> str:
    """The traps that were not read, in a line; empty where there is none."""
    said = (f"{as_name(row.trap)} {row.reason.value}" if row.reason else as_name(row.trap) for row in rows)
    return f"{MARKS[Status.NOT_READ]} Not read ({len(rows)}): {', '.join(said)}" if rows else ""


def warnings(summary: verdicts.Summary, on: date) -> Iterator[tuple[object, str]]:
    """What a summary warns of, a line each, with what it is about; a swapped pair is told once.

    Args:
        summary: The summary.
        on: The day it is read on, whose year goes without saying.
    """
    by_trap = {row.trap: row for row in summary.integrity}
    for row in summary.integrity:
        if row.partner not in by_trap or natural_key(row.trap) < natural_key(row.partner):
            both = [row, *([by_trap[row.partner]] if row.partner in by_trap else [])]
            labels = " and ".join(sanitize(label, 12) for label in (row.trap, row.partner) if label)
            found = f" ({sanitize(row.found, 12)})" if row.found else ""
            days = dict.fromkeys(spoken_day(one.since, on) for one in both if one.since)
            since = f", since {' and '.join(days)}" if days else ""
            yield row, f"{row.kind.words.capitalize()}: {labels}{found}{since}"
    for one in summary.unlikely:
        yield one, f"Unlikely count: {sanitize(one.trap, 12)}, {_odd(one)}"
    for call in summary.older_figure_calls:
        told = f"{sanitize(call.block, 12)} {sanitize(call.species, 12)} was told {sanitize(call.notified, 12)}"
        who = f"{spoken_day(call.notified_on, on)} by {as_name(call.by)}, {as_name(call.how)}"
        yield call, f"Called on an older figure: {told} on {who}; the record now says {call.now.value}"
    for two in summary.conflicts:
        yield two, f"{sanitize(two.trap, 12)}, {spoken_day(two.read_on, on)}: {as_note(two.words)}"


def _odd(one: verdicts.Unlikely) -> str:
    return one.slip.words(one.count) if one.slip is not None else f"{one.count}"


_WARNED = (
    (
        verdicts.Trouble,
        "!! Suspect traps",
        "Their catch since then stays on record but is not in the means.",
        "bold red",
    ),
    (verdicts.Conflict, "!! Two counts of one trap on one day", "Not counted until one is corrected.", "bold red"),
    (verdicts.OlderFigureCall, "!! Called on an older figure", "", "bold red"),
    (verdicts.Unlikely, "Unlikely counts: saved as typed, check them", "", "bold"),
)


def warning_sections(summary: verdicts.Summary, names: Names) -> Iterator[Section]:
    """What bears on the figures: suspect traps and what puts them right, counts that contradict each other, calls.

    Args:
        summary: The summary.
        names: Names of farms and blocks.

    Returns:
        For each kind a title and a sentence or two for each; empty where there is none.
    """
    warned = list(warnings(summary, summary.on))
    for kind, title, known, style in _WARNED:
        said = [words + _then(one, summary, names) for one, words in warned if isinstance(one, kind)]
        section = titled(title, said, style, sign=style)
        yield [section[0], *([paragraph(known)] if known else []), *section[1:]] if section else []


def _then(one: object, summary: verdicts.Summary, names: Names) -> str:
    """Where it is, and whom to call or what to do about it."""
    match one:
        case verdicts.Trouble():
            places = [
                names.place(one.block),
                *(names.place(r.block) for r in summary.integrity if r.trap == one.partner),
            ]
            do = _TO_DO[one.kind.value].format(own=as_name(one.species))
            return f" [{'; '.join(dict.fromkeys(places))}]. {do}."
        case verdicts.OlderFigureCall():
            return f". {', '.join(names.contact(names.programme.farm_of(one.block)))}."
        case verdicts.Conflict() | verdicts.Unlikely():
            return f" [{names.place(one.block)}]." if one.block else "."
    return ""


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
        "integrity": [json_of(one, "kind farm block trap species found since partner") for one in summary.integrity],
        "upkeep": [json_of(due, "trap item why days_overdue catch") for due in summary.upkeep],
        "not_read": [json_of(row, "trap block reason") for row in summary.not_read],
        "unlikely": [{"trap": row.trap, "count": row.count} for row in summary.unlikely],
        "conflicts": [json_of(row, "trap read_on entries") for row in summary.conflicts],
        "long_readings": [json_of(row, "trap read_on count days") for row in summary.long_readings],
        "attention": [json_of(one, "kind farm? block? species trap words") for one in summary.attention],
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
