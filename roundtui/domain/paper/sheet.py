"""A paper tally sheet: the order of its rows, the totals at its foot, and what a pasted column says.

A blank row is not a zero and no entry. Every row has a day of its own, so that a sheet may run over several.

One row of a tally sheet as it is typed: keys go in, the text of the row and the next step come out.

The blank sheet for the clipboard: which rows it has, and what a scout should know of each before writing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from enum import StrEnum
from itertools import groupby
from operator import attrgetter

from roundtui.domain.entries import YES, Draft, NoReading, Visit
from roundtui.domain.figures.verdicts import UpkeepDue
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.records import Frozen
from roundtui.domain.round.agenda import own_lots
from roundtui.domain.round.checks import nearest
from roundtui.domain.round.entry import NUMLOCK_KEYS, NUMLOCK_OFF
from roundtui.domain.round.tally import MARKS_HINT, REASONS, parse_tally
from roundtui.domain.round.walk import catch, read_before
from roundtui.domain.text import parse_short_day, sanitize
from roundtui.errors import Problem

MOST_SHOWN = 40
"""Characters of a pasted text that a problem repeats."""
_HALF_A_YEAR = 182


class SheetRow(Frozen, kw_only=True):
    """One row of a sheet."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day that is written on the row, or at the head of the sheet."""
    draft: Draft | None = None
    """What stands in it; None: blank, which is not a zero."""
    id: str = ""
    """Id of what stands in it; empty where it is blank."""
    scout: str = ""
    """Whose entry it is."""


class Totals(Frozen):
    """What stands at the foot of a sheet."""

    rows: int
    """Rows looked at."""
    count: int
    """Moths, those left in a trap included, as the column adds up."""
    others: int
    """Other insects."""
    not_read: tuple[tuple[NoReading, int], ...]
    """Rows with a reason instead of a count, by reason."""
    blank: int
    """Rows that say nothing."""

    def __str__(self) -> str:
        reasons = ", ".join(f"{number} {reason.value}" for reason, number in self.not_read)
        why = f" ({reasons})" if reasons else ""
        unread = sum(number for _, number in self.not_read)
        return f"count {self.count}   others {self.others}   blank {self.blank}   not read {unread}{why}"


def totals(drafts: Iterable[Draft | None]) -> Totals:
    """Totals of the rows of a sheet.

    Args:
        drafts: What the rows say; None for a blank one.
    """
    rows = tuple(drafts)
    said = [draft for draft in rows if draft is not None]
    counts = [draft.count for draft in said if draft.count is not None]
    reasons = [draft.no_reading for draft in said if draft.no_reading is not None]
    return Totals(
        rows=len(rows),
        count=sum(counts),
        others=sum(draft.others or 0 for draft in said),
        not_read=tuple((reason, reasons.count(reason)) for reason in NoReading if reason in reasons),
        blank=len(rows) - len(said),
    )


_NAMED = 3
"""Rows that are named where a total does not fit."""


def control_words(rows: Sequence[SheetRow], paper: int) -> str:
    """Whether the total that stands on the paper is that of the rows; where not, rows that one slip of a key explains.

    It finds a digit that was lost, which no look at single counts does.

    Args:
        rows: Rows of the sheet.
        paper: Total of the counts, as somebody added it up on the paper.
    """
    counts = [(row.trap, row.draft.count) for row in rows if row.draft is not None and row.draft.count is not None]
    off = paper - sum(count for _, count in counts)
    if not off:
        return f"The paper's total, {paper}, is that of the rows"
    slips = [(trap, count) for trap, count in counts if count + off >= 0 and _slipped(str(count), str(count + off))]
    named = ", ".join(f"{sanitize(trap, 12)} {count}: {count + off}?" for trap, count in slips[:_NAMED])
    return f"The paper says {paper}, the rows {paper - off}. Look at {named or 'each row again'}"


def _slipped(one: str, other: str) -> bool:
    """Whether a digit was lost, a digit was added, or two that stand together were swapped."""
    short, long = sorted((one, other), key=len)
    if len(short) == len(long):
        return any(one[:at] + one[at + 1] + one[at] + one[at + 2 :] == other for at in range(len(one) - 1))
    return len(long) == len(short) + 1 and any(long[:at] + long[at + 1 :] == short for at in range(len(long)))


def in_order(traps: Sequence[str], kept: Sequence[str]) -> tuple[str, ...]:
    """The traps of a route in the order of its paper.

    Args:
        traps: Labels in walking order.
        kept: The order of the paper, as it was kept; it may name traps that are gone, or lack new ones.

    Returns:
        Every trap once. One that the paper does not know follows the one it follows on the way.
    """
    known = set(traps)
    order = [trap for trap in dict.fromkeys(kept) if trap in known]
    there = set(order)
    before: str | None = None
    for trap in dict.fromkeys(traps):
        if trap not in there:
            order.insert(0 if before is None else order.index(before) + 1, trap)
            there.add(trap)
        before = trap
    return tuple(order)


def moved(order: Sequence[str], trap: str, place: int) -> tuple[str, ...]:
    """An order in which a trap stands at another place, and the others follow as before.

    Args:
        order: Labels.
        trap: The one to move.
        place: Where it shall stand, from 0.
    """
    rest = [label for label in order if label != trap]
    return (*rest[:place], trap, *rest[place:])


def plainly_lured(draft: Draft, programme: Programme, trap: str, on: date) -> Draft:
    """An entry whose lure without a lot is given the lot wherever there is only one it can be.

    Args:
        draft: The entry.
        programme: For lots.
        trap: Label of the trap it is about.
        on: Its day.
    """
    hanging = programme.hanging(trap, on)
    if draft.lure != YES or hanging is None:
        return draft
    lots = own_lots(programme, hanging, on)
    return replace(draft, lure=lots[0].lot) if len(lots) == 1 else draft


def day_written(text: str, today: date) -> date | Problem:
    """The day that somebody wrote on a row: ``2031-06-03``, ``06-03``, ``603`` or ``3``.

    Args:
        text: As typed.
        today: No reading is later; a day without a year or a month is the last one before or on this day.

    Returns:
        The day, or what is wrong.
    """
    written = sanitize(text.strip(), MOST_SHOWN)
    day = parse_short_day(text, today)
    if day is None:
        return Problem("", f"{written} is no day", "write 2031-06-03, 06-03 or the day alone")
    if day > today:
        return Problem("", f"{day} is still to come", f"the day is {today}")
    # A day a little ahead is a slip and not last year's.
    if (today - day).days > _HALF_A_YEAR and written != day.isoformat():
        return Problem("", f"{written} would be {day}", "write the whole day if that is meant")
    return day


def pasted(text: str, rows: Sequence[SheetRow]) -> tuple[tuple[Draft | None, ...], tuple[Problem, ...]]:
    """What a pasted column says, row by row.

    Args:
        text: Lines, each in the tally notation, a number alone being the least of it; a label and a tab may stand
            before it.
        rows: The rows from the mark on, which the lines are for.

    Returns:
        One draft a line, None for a blank one; and every problem. With a problem nothing is to be recorded.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    if len(lines) > len(rows):
        words = f"{len(lines)} lines are pasted, and {len(rows)} rows are left"
        return (), (Problem("", words, "nothing is saved; copy the rows of this sheet only"),)
    drafts: list[Draft | None] = []
    problems: list[Problem] = []
    for row, line in zip(rows, lines, strict=False):
        cells = [cell.strip() for cell in line.split("\t")]
        where = f"row of {sanitize(row.trap, MOST_SHOWN)}"
        wrong = _wrong_cells(cells, row, where)
        if wrong is not None:
            problems.append(wrong)
        elif not cells[-1]:
            drafts.append(None)
        elif row.draft is not None:
            hint = "paste on rows without one; a correction is typed"
            problems.append(Problem(where, "there is an entry already", hint))
        else:
            draft, found = parse_tally(cells[-1], where=where)
            drafts.append(draft)
            problems += found
    return (() if problems else tuple(drafts)), tuple(problems)


def _wrong_cells(cells: Sequence[str], row: SheetRow, where: str) -> Problem | None:
    if len(cells) > 2:
        return Problem(where, f"{len(cells)} columns are pasted", "copy one column, or the labels and one column")
    if len(cells) == 2 and cells[0].casefold() != row.trap.casefold():
        hint = nearest(cells[0], [row.trap]) or "copy the rows in the order of the sheet"
        return Problem(where, f"the pasted row is of {sanitize(cells[0], MOST_SHOWN)}", hint)
    return None


MOST_TYPED = 20_000
"""Longest text of a row; as long as a note can be. [characters]"""
MARKS = frozenset("lrkbcexown0123456789 ")
"""Characters that a row can begin with."""
PAD = {"+": "l", "*": "r", "/": "x", ".": "c", ",": "c"}
"""Keys of the number pad, and the marks they stand for."""
_LABEL = re.compile(r'\s*(?:"(?:[^"]|"")*"|[^\s"]\S*)')
_COLON = re.compile(r"\s*:")


class Line(StrEnum):
    """What the next key is text of."""

    ROW = "row"
    GO_TO = "go-to"
    DAY = "day"
    STAGE = "stage"
    """Fruit stage of the row's block."""
    PLACE = "place"
    """Which trap stands on this row of the paper."""


class Ask(StrEnum):
    """What a row asks of the screen around it."""

    NOTHING = ""
    ENTER = "enter"
    UP = "up"
    DOWN = "down"
    OLD_TEXT = "old-text"
    LINE = "line"
    """The line that stands open was ended."""
    PAST = "past"
    LAST = "last"
    SUMMARY = "summary"
    SECOND = "second"
    DIFFERENCES = "differences"
    RIGHT_SHEET = "right-sheet"
    WITHDRAW = "take-back"
    BACK = "back"
    HELP = "help"
    MENU = "menu"
    SURE = "sure"
    """A row waits for yes: what it changes is to be said first."""


class Typing(Frozen, kw_only=True):
    """A row under way."""

    line: Line = Line.ROW
    text: str = ""
    """What is typed on the row."""
    words: str = ""
    """What is typed on the line that stands open."""
    keys: int = 0
    """Keys pressed since the row was begun."""
    looked: bool = False
    """Whether the key before was a bare Up or Down."""
    leaving: bool = False
    """Whether Escape was pressed while something was typed."""
    refused: bool = False
    """Whether the row could not be put on record just now: a digit then begins it anew."""
    ask: Ask = Ask.NOTHING
    said: str = ""
    """A word to the person at the keys."""


_COMMANDS: Mapping[str, Ask | Line] = {
    "g": Line.GO_TO,
    "d": Line.DAY,
    "f": Line.STAGE,
    "z": Ask.LAST,
    "s": Ask.SUMMARY,
    "v": Ask.SECOND,
    "y": Ask.RIGHT_SHEET,
    "m": Ask.MENU,
    "menu-1": Ask.DIFFERENCES,
    "menu-2": Line.PLACE,
    "menu-3": Ask.WITHDRAW,
    "menu-4": Ask.PAST,
    "?": Ask.HELP,
}
_MOVED = {"i": "m 2", "u": "m 3", "p": "m 4"}
_OPENING = {
    Line.GO_TO: "a trap of this sheet; Enter goes there, Escape cancels",
    Line.DAY: "day of this row and those after it, as 2031-06-03, 06-03 or 3; Enter sets it, Escape cancels",
    Line.STAGE: "fruit stage of this row's block, two digits; Enter saves it, Escape cancels",
    Line.PLACE: "label of the trap on this row of the paper; the order is kept. Escape cancels",
}


def press(now: Typing, key: str) -> Typing:
    """What a key does.

    Args:
        now: The row so far.
        key: One character, or the name of a key: enter, escape, backspace, up, down …
    """
    clean = replace(now, ask=Ask.NOTHING, said="", looked=False, leaving=False, refused=False, keys=now.keys + 1)
    if now.refused and key.isascii() and key.isdigit():
        clean = replace(clean, text="")
    if now.line is not Line.ROW:
        return _on_line(clean, key)
    match key:
        case "enter":
            return replace(clean, ask=Ask.ENTER, looked=now.looked)
        case "up" | "down":
            return replace(clean, ask=Ask.UP if key == "up" else Ask.DOWN)
        case "escape":
            return _escape(clean, now.leaving)
        case "backspace":
            return replace(clean, text=now.text[:-1]) if now.text else replace(clean, ask=Ask.OLD_TEXT)
    return replace(clean, said=NUMLOCK_OFF) if key in NUMLOCK_KEYS else _character(clean, key)


def typed_on(now: Typing, text: str) -> Typing:
    """A row with a piece of text added at its end, as by a paste.

    Args:
        now: The row so far.
        text: One line.
    """
    if now.line is not Line.ROW:
        return replace(now, words=(now.words + text)[:MOST_TYPED], said="", ask=Ask.NOTHING)
    return replace(now, text=(now.text + text)[:MOST_TYPED], said="", ask=Ask.NOTHING, keys=now.keys + len(text))


def in_words(text: str) -> bool:
    """Whether the next character belongs to a note or a label, where every character is itself.

    Args:
        text: A row as typed so far.
    """
    at = 0
    while at < len(text):
        letter = text[at].lower()
        if letter == "n":
            return True
        colon = _COLON.match(text, at + 1) if letter in "rbw" else None
        if colon is not None:
            label = _LABEL.match(text, colon.end())
            if label is None or (label.end() == len(text) and not text.endswith('"')):
                return True
            at = label.end()
        else:
            at += 1
    return False


def _escape(now: Typing, again: bool) -> Typing:
    if not now.text:
        return replace(now, ask=Ask.BACK)
    if again:
        return replace(now, text="", said=f"{now.text[:20]} dropped, not saved")
    return replace(now, leaving=True, said=f"{now.text[:20]} is not saved yet: Enter saves, Escape again drops it")


def _character(now: Typing, key: str) -> Typing:
    if len(key) != 1 and key not in _COMMANDS:
        return now
    if not now.text:
        return _first(now, key.lower())
    if len(now.text) >= MOST_TYPED:
        return replace(now, said=f"A row holds {MOST_TYPED} characters")
    if not in_words(now.text):
        if key == "-":
            return replace(now, said=f"{now.text[-20:]} is typed: - stays here, Up records it and goes up")
        key = _reason(now.text, PAD.get(key, key))
    return replace(now, text=now.text + key)


def _first(now: Typing, key: str) -> Typing:
    """The first key of a row: a mark begins it, any other letter acts."""
    if key == "-":
        return replace(now, ask=Ask.UP)
    mark = PAD.get(key, key)
    if mark in MARKS:
        return replace(now, text=mark.strip())
    does = _COMMANDS.get(key)
    if isinstance(does, Line):
        return replace(now, line=does, words="", said=_OPENING[does])
    if isinstance(does, Ask):
        return replace(now, ask=does)
    return replace(now, said=f"Moved: {_MOVED[key]}" if key in _MOVED else f"{key} is no mark: {MARKS_HINT}")


def _reason(text: str, key: str) -> str:
    """After ``x`` a digit of the number pad stands for a letter."""
    letters = tuple(REASONS)
    after_x = text.rstrip()[-1:].lower() == "x"
    return letters[int(key) - 1] if after_x and key in "123456" else key


def _on_line(now: Typing, key: str) -> Typing:
    match key:
        case "enter":
            return replace(now, ask=Ask.LINE) if now.words.strip() else replace(now, line=Line.ROW)
        case "escape":
            return replace(now, line=Line.ROW, words="")
        case "backspace":
            return replace(now, words=now.words[:-1])
    return replace(now, words=now.words + key) if len(key) == 1 and len(now.words) < 200 else now


COLUMNS = ("count", "others", "liner", "lure", "strip", "not read", "note")
"""What is written on a row, in the order in which a hand writes it."""
LEGEND = (
    "count: 0 is a count, a blank is none. Add c where moths were not cleared, e for an estimate.",
    "not read: s skipped, c closed, m missing, d down, g damaged, o other (say why in the note).",
    "liner, lure, strip: tick what was replaced; write the lot of a lure where it is not the trap's usual one.",
    "note: b and the label for a new body; w and what was found for a wrong lure, or none.",
    "As typed: 4 l r   0   xm   12c o3   4 r:LOT   b:LABEL   w:SPECIES   n:half under leaves",
)
"""The notation, for the foot of the sheet."""
CAUTIONS = (
    "Check the entry interval with the grower and read the posted signs; stay out until it is over.",
    "Gloves for lures, another pair for each kind, and as their label says for kill strips. Take spent ones away.",
    "Clean boots, hands and tools between farms.",
)
"""Short cautions; the longer ones stand on the summary."""


class PaperRow(Frozen):
    """One row of the blank sheet."""

    trap: str
    """Label of the trap."""
    species: str
    """Its species."""
    where: str
    """Row, tree, edge, as far as they are set up."""
    last: str
    """What it showed last; empty where it showed nothing yet."""
    due: tuple[str, ...]
    """Upkeep due now, and within a week with the days left."""


class PaperBlock(Frozen):
    """Rows of one block that follow each other on the sheet."""

    farm: str
    """Name of the farm; empty where the block before is of the same."""
    block: str
    """Code, name and crop of the block."""
    note: str
    """Warnings of the block."""
    rows: tuple[PaperRow, ...]
    """Its rows."""


class Paper(Frozen):
    """The blank sheet of a route."""

    route: str
    """Name of the route."""
    on: date
    """Day at its head."""
    blocks: tuple[PaperBlock, ...]
    """Blocks in the order of the sheet."""

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return sum(len(block.rows) for block in self.blocks)


def paper(
    programme: Programme,
    route: str,
    on: date,
    order: Sequence[str],
    *,
    visits: Mapping[str, Sequence[Visit]],
    upkeep: Sequence[UpkeepDue],
) -> Paper:
    """The blank sheet of a route for a day.

    Args:
        programme: What is set up.
        route: Name of the route.
        on: The day.
        order: Traps in the order of the paper.
        visits: Present visits per trap, in order.
        upkeep: What is due.
    """
    blocks: list[PaperBlock] = []
    farm: str | None = None
    hung = [hanging for trap in order if (hanging := programme.hanging(trap, on)) is not None]
    for block, hangings in groupby(hung, key=attrgetter("block")):
        rows = tuple(
            _row(one, visits.get(one.trap, ()), [due for due in upkeep if due.trap == one.trap], on) for one in hangings
        )
        of = programme.farm_of(block)
        blocks.append(_block(programme, block, on, rows, named=of != farm))
        farm = of
    return Paper(route, on, tuple(blocks))


def _block(programme: Programme, code: str, on: date, rows: tuple[PaperRow, ...], *, named: bool) -> PaperBlock:
    block = programme.blocks.get(code)
    farm = programme.farms.get(block.farm) if block else None
    words = [code]
    note = ""
    if block is not None:
        words += [block.name if block.name != block.block else "", f"{block.crop} {block.variety}".strip()]
        words.append("mating disruption" if block.disrupted else "")
        if block.no_entry_before is not None and block.no_entry_before > on:
            note = f"NO ENTRY before {block.no_entry_before.isoformat()}: ask the grower"
    name = (farm.name if farm else "no farm") if named else ""
    return PaperBlock(name, ", ".join(word for word in words if word), note, rows)


def _row(hanging: Trap, visits: Sequence[Visit], upkeep: Sequence[UpkeepDue], on: date) -> PaperRow:
    before = read_before(visits, on)
    due = tuple(
        one.item if one.days_overdue is None or one.days_overdue >= 0 else f"{one.item} in {-one.days_overdue} d"
        for one in upkeep
    )
    return PaperRow(
        hanging.trap,
        hanging.species,
        ", ".join(hanging.spot),
        catch(before[0]) if before else "",
        tuple(words.replace("kill-strip", "strip") for words in due),
    )
