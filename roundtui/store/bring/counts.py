"""Counts out of a person's table, one row a reading or one column a trap or a day; and the hangings of past seasons."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date, timedelta
from operator import itemgetter
from types import MappingProxyType

from roundtui.domain.entries import MOST_MOTHS, NONE, YES, NoReading, StageSeen, Visit
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.programme.species import species_code
from roundtui.domain.round.checks import check_visit, is_sure, nearest, sure_days
from roundtui.domain.round.tally import parse_tally
from roundtui.domain.text import sanitize, several
from roundtui.store.bring import answers as asking
from roundtui.store.bring.table import BLANK, TOTALS, Kind, Table, head_key, mark_meaning, number_of, target_of, yes_no
from roundtui.store.round.tally_file import StageRow, TallyRow, tally_row

WEEK = timedelta(days=7)
_SQUEEZE = re.compile(r"[\W_]+")
_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")
_VISIT_FIELDS = {one.name for one in fields(Visit)}


_OF_TRAP = ("farm", "block", "trap", "species")
_NOTHING_MORE = tally_row("", 0, Visit(trap="", read_on=date.min, count=0)).rest


@dataclass(slots=True)
class _Sure:
    """What cells of rows mean that held no fault, by what stands in them."""

    traps: dict[object, str] = field(default_factory=dict)
    days: dict[str, str] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    rests: dict[object, tuple[str, tuple[object, ...]]] = field(default_factory=dict)
    """Who read, and the columns of a visit behind its count, by all other cells."""


@dataclass(slots=True)
class CountsFound(asking.TableFound):
    """What a table would bring to the record."""

    blanks: int = 0
    """Cells for a count in which nothing stands, on a day that was read."""
    zeros: int = 0
    """Counts of zero."""
    visits: list[TallyRow] = field(default_factory=list)
    """Entries."""
    stages: list[StageRow] = field(default_factory=list)
    """Stages of blocks."""
    marks: Counter[tuple[str, str]] = field(default_factory=Counter)
    """Marks met, with what each became."""
    hangings: list[Trap] = field(default_factory=list)
    """Hangings that the readings of past seasons ask for."""

    @property
    def brings(self) -> int:
        """Entries, and stages of blocks."""
        return len(self.visits) + len(self.stages)

    def says(self) -> list[str]:
        """What was read, in words."""
        if self.questions and not self.rows:
            return []
        days, counts = sorted({row.read_on for row in self.visits}), sum(row.counted is not None for row in self.visits)
        words = [
            f"{self.so_many}: {several(len({row.trap for row in self.visits}), 'trap')}, {several(len(days), 'day')}"
            + (f" from {days[0]} to {days[-1]}" if days else ""),
            f"{several(counts, 'count')}, {self.zeros} of them zero; {len(self.visits) - counts} without a count;"
            f" {self.blanks} blank",
        ]
        if self.stages:
            words.append(f"{several(len(self.stages), 'stage')} of blocks")
        words += [
            f"{sanitize(mark, 30)} ({number}): {became or 'not known'}"
            for (mark, became), number in sorted(self.marks.items())[:40]
        ]
        if self.hangings:
            begun = Counter(row.hung_on.year for row in self.hangings if row.hung_on)
            seasons = ", ".join(f"{number} in {year}" for year, number in sorted(begun.items()))
            words.append(f"{len(self.hangings)} hangings that the register has not: {seasons};")
            words.append("  each from seven days before the season's first reading to its last")
        return words

    def sample(self, most: int) -> list[tuple[str, ...]]:
        """Headings, and the first entries."""
        visits = [row.visit for row in self.visits[:most]]
        return [
            ("trap", "read_on", "count", "no_reading", "note"),
            *(
                (
                    one.trap,
                    f"{one.read_on}",
                    "" if one.count is None else f"{one.count}",
                    one.no_reading or "",
                    one.note,
                )
                for one in visits
            ),
        ]


class Labels:
    """Traps by whatever a table calls them.

    Args:
        programme: What is set up.
    """

    def __init__(self, programme: Programme) -> None:
        self._programme = programme
        self._exact = {label.casefold(): label for label in programme.hangings}
        self._squeezed: dict[str, str | None] = {}
        for label in programme.hangings:
            key = squeezed(label)
            self._squeezed[key] = None if key in self._squeezed else label
        self._found: dict[tuple[str, ...], str | None] = {}

    def find(self, *parts: str) -> str | None:
        """The trap that a label means, or a label after the name of its block or farm.

        Args:
            parts: Label, and before it what it is a part of.

        Returns:
            None where it means none, or several.
        """
        if parts not in self._found:
            self._found[parts] = self._search(parts)
        return self._found[parts]

    def _search(self, parts: tuple[str, ...]) -> str | None:
        label = parts[-1]
        if label.casefold() in self._exact:
            return self._exact[label.casefold()]
        without = re.sub(r"[(\[].*?[)\]]", "", label).strip()
        words = without.split()
        tries = [label, without]
        if len(words) > 1 and target_of(Kind.COUNTS, words[0]) == "trap":
            tries.append(" ".join(words[1:]))
        for part in parts[:-1]:
            tries += [f"{part}{without}", *(f"{word}{without}" for word in part.split()[-1:])]
        for text in tries:
            found = self._squeezed.get(squeezed(text)) if text else None
            if found is not None:
                return found
        return None

    def score(self, cells: Sequence[str]) -> int:
        """How many cells are labels of traps."""
        return sum(1 for cell in cells if cell and not cell.isdigit() and self.find(cell) is not None)


def squeezed(label: str) -> str:
    """A label without spaces, marks, case and zeros that lead a number."""
    return _ZEROS.sub("", _SQUEEZE.sub("", label.casefold()))


def head_score(kind: Kind, labels: Labels | None = None) -> Callable[[Sequence[str]], int]:
    """How much a row looks like the head of a table.

    Args:
        kind: What the table holds.
        labels: Traps, for tables with a column for each.
    """
    days = asking.Days(asking.Order.DMY, 2000)

    def score(cells: Sequence[str]) -> int:
        found = {target for cell in cells if cell and (target := target_of(kind, cell))}
        points = 2 * len(found)
        if labels is not None:
            points += labels.score(cells)
            dated = sum(1 for cell in cells if len(cell) > 3 and days.day(cell) is not None)
            points += dated if dated > 1 else 0
        return points

    return score


def preview_counts(
    tables: Iterable[Table],
    programme: Programme,
    answers: asking.Answers,
    *,
    scout: str,
    today: date,
    season: tuple[int, int] = (1, 1),
) -> CountsFound:
    """Read a table as entries; nothing is written.

    Args:
        tables: The tables of the file.
        programme: What is set up.
        answers: What was said of such tables.
        scout: Who read, where a row does not say.
        today: No reading can be later.
        season: Month and day on which seasons start.
    """
    found, labels = CountsFound(answers), Labels(programme)
    readers = [_Reader(table, found, programme, labels, (scout, today)) for table in tables]
    if found.questions:
        return found
    for reader in readers:
        reader.read()
    unknown = Counter({mark: number for (mark, became), number in found.marks.items() if not became})
    if unknown:
        choices = (
            (BLANK, "nothing: it was not read"),
            ("0", "a count of zero"),
            *((mark, mark) for mark in asking.MARKS[1:]),
        )
        found.questions += [
            asking.Question(
                "mark",
                mark,
                f"What does {sanitize(mark, 20)} stand for (in {number} {'cell' if number == 1 else 'cells'})?",
                choices,
            )
            for mark, number in unknown.items()
        ]
        return found
    found.hangings = past_hangings(programme, found.visits, season, today)
    _leave_out_impossible(found, replace(programme, traps=(*programme.traps, *found.hangings)), today)
    return found


class _Reader(asking.RowsReader):
    """Entries of one table."""

    def __init__(
        self, table: Table, found: CountsFound, programme: Programme, labels: Labels, by: tuple[str, date]
    ) -> None:
        self.scout, today = by
        super().__init__(table, found, today)
        self.programme, self.labels, self.found = programme, labels, found
        self.sure = _Sure()
        self.traps: dict[int, str] = {}
        self.dated: dict[int, date] = {}
        self._shape(self.others)
        self._ask(self.others)

    def _shape(self, others: list[int]) -> None:
        """See whether the counts stand one a row, in a column for each trap, or in one for each day."""
        head, above = self.table.head, self.table.above
        if "count" in self.places and "trap" in self.places and "read_on" in self.places:
            self._leave(others)
            return
        if "trap" in self.places and "read_on" not in self.places:
            heads = [head[at] for at in others if head[at]]
            self.days.prove(heads)
            self.dated = {at: day for at in others if head[at] and (day := self.days.day(head[at])) is not None}
        elif "trap" not in self.places:
            for at in others:
                upper = (above[at],) if at < len(above) and above[at] != head[at] else ()
                label = self.labels.find(*upper, head[at]) if head[at] else None
                if label is not None and label not in self.traps.values():
                    self.traps[at] = label
        self._leave([at for at in others if at not in self.dated and at not in self.traps])

    def _leave(self, others: list[int]) -> None:
        """Name columns that are not taken; one of numbers under a heading that nobody knows may be a trap's."""
        self.unknown = [
            at
            for at in others
            if self.traps
            and (heading := self.table.head[at])
            and not set(head_key(heading).split()) & TOTALS
            and self._holds_numbers(at)
        ]
        self.leave(at for at in others if at not in self.unknown)

    def _holds_numbers(self, at: int) -> bool:
        texts = [cells[at] for (_, cells), _ in zip(self.table.rows(), range(60), strict=False) if cells[at]]
        return bool(texts) and sum(text.isdigit() for text in texts) * 2 >= len(texts)

    def _ask(self, others: list[int]) -> None:
        free = [at for at in others if at not in self.traps and at not in self.dated]
        wide = bool(self.traps or self.dated)
        missing = [
            column
            for column, there in (
                ("trap", "trap" in self.places or self.traps),
                ("read_on", "read_on" in self.places or self.dated),
                ("count", wide or "count" in self.places or "no_reading" in self.places),
            )
            if not there
        ]
        for column in missing:
            self.ask_column(column, free)
        if missing:
            return
        if "read_on" in self.places:
            at = self.places["read_on"]
            texts = {cells[at] for _, cells in self.table.rows()}
        else:
            texts = {self.table.head[at] for at in self.dated} | {self.table.head[at] for at in free}
        proved = self.days.prove(texts)
        if self.days.lacks_year and self.days.year is None:
            self.ask("year", f"Of which year are the days of {self.table.name}?")
        elif not proved:
            self.ask_order(texts)
        if "read_on" not in self.places:
            self.dated = {at: day for at in self.dated if (day := self.days.day(self.table.head[at])) is not None}
        self.found.order = self.days.order

    def read(self) -> None:
        """Read every row."""
        if not (self.traps or self.dated):
            self._readings()
            return
        for line, cells in self.table.rows():
            self.found.rows += 1
            if self.traps:
                self._row_of_a_day(cells, line)
            else:
                self._row_of_a_trap(cells, line)

    def _readings(self) -> None:
        """Rows of one reading each. Cells that were read once, and held no fault, are not read again in other rows."""
        found, sure = self.found, self.sure
        name, (at_day, at_count) = self.table.name, (self.places["read_on"], self.places.get("count", -1))
        who_at = [self.places[column] for column in _OF_TRAP if column in self.places]
        rest_at = [at for column, at in self.places.items() if column not in (*_OF_TRAP, "read_on", "count")]
        who_of, rest_of = itemgetter(*who_at), itemgetter(*rest_at) if rest_at else len
        for line, cells in self.table.rows():
            found.rows += 1
            who, rest = who_of(cells), rest_of(cells)
            text = cells[at_count] if at_count >= 0 else ""
            try:
                scout, said = sure.rests[rest]
                row = TallyRow(name, line, scout, sure.traps[who], sure.days[cells[at_day]], sure.counts[text], said)
            except KeyError:
                self._reading(cells, line, (who, rest))
            else:
                found.zeros += row.counted == 0
                found.visits.append(row)

    def _where(self, line: int) -> str:
        return f"{self.table.name}, line {line}"

    def _day(self, cells: Sequence[str], where: str) -> date | None:
        text = self.cell(cells, "read_on")
        day = self.days.day(text)
        if day is None and not set(head_key(text).split()[:1]) & TOTALS:
            if text:
                self.found.faults.add("is no date", text, where, "state the order with --dates, or correct it")
            elif any(map(str.isdigit, cells)) and not any(set(head_key(cell).split()[:1]) & TOTALS for cell in cells):
                self.found.faults.add("no date stands there", "", where, "write the day of the reading")
        return day

    def _trap(self, cells: Sequence[str], where: str) -> str | None:
        text = self.cell(cells, "trap")
        parts = [part for column in ("farm", "block") if (part := self.cell(cells, column))]
        label = self.labels.find(*parts, text)
        if label is None and text and not set(head_key(text).split()[:1]) & TOTALS:
            hint = nearest(text, self.programme.hangings) or "bring the traps first"
            self.found.faults.add("is no trap that is set up", text, where, hint)
        elif label is None and not text and any(cells):
            self.found.faults.add("no trap stands there", "", where, "write the trap's label")
        if label is not None and (species := self.cell(cells, "species")):
            code, own = species_code(species), self.programme.hangings[label][0].species
            if code is not None and code != own:
                words = f"is not the species of the trap, which is for {own}"
                self.found.faults.add(words, f"{label} {code}", where, "look which of the two is wrong")
                return None
        return label

    def _row_of_a_day(self, cells: Sequence[str], line: int) -> None:
        day = self._day(cells, self._where(line))
        if day is None:
            return
        for at in self.unknown:
            if cells[at]:
                heading = self.table.head[at]
                hint = nearest(heading, self.programme.hangings) or "bring the traps first"
                self.found.faults.add("is no trap that is set up", heading, self._where(line), hint)
        for at, label in self.traps.items():
            self._add(label, day, cells[at], cells, line)

    def _row_of_a_trap(self, cells: Sequence[str], line: int) -> None:
        label = self._trap(cells, self._where(line))
        if label is None:
            return
        for at, day in self.dated.items():
            self._add(label, day, cells[at], cells, line)

    def _reading(self, cells: Sequence[str], line: int, keys: tuple[object, object]) -> None:
        where, (who, rest) = self._where(line), keys
        day = self._day(cells, where)
        label = self._trap(cells, where) if day is not None else None
        if day is None or label is None:
            return
        before = len(self.found.faults)
        more = self._more(cells, where)
        if len(self.found.faults) > before:
            return
        text = self.cell(cells, "count")
        row = self._add(label, day, text, cells, line, more=more)
        self._stage(label, day, cells, where)
        if row is None or row.counted is None or not (text.isdigit() and text.isascii()) or self.cell(cells, "stage"):
            return
        self.sure.traps[who], self.sure.days[self.cell(cells, "read_on")] = label, row.read_on
        self.sure.counts[text] = row.counted
        if "females" not in more:
            self.sure.rests.setdefault(rest, (row.scout, row.rest))

    def _stage(self, label: str, day: date, cells: Sequence[str], where: str) -> None:
        code = self.cell(cells, "stage")
        hanging = self.programme.hanging(label, day) or self.programme.hangings[label][0]
        if not code:
            return
        if len(code) != 2 or not code.isdigit() or not code.isascii():
            self.found.faults.add("is no stage", code, where, "write its two-digit BBCH code, as 07 or 65")
        elif all((row.seen.block, row.seen.seen_on) != (hanging.block, day) for row in self.found.stages[-50:]):
            seen = StageSeen(block=hanging.block, seen_on=day, code=code, scout=self.cell(cells, "scout") or self.scout)
            self.found.stages.append(StageRow(where, seen))

    def _more(self, cells: Sequence[str], where: str) -> dict[str, object]:  # noqa: C901
        """What a row says beside the count."""
        more: dict[str, object] = {}
        for column in self.places:
            text = self.cell(cells, column)
            if not text or column in ("trap", "read_on", "count", "species", "block", "farm", "stage", "scout"):
                continue
            if column == "note":
                more["note"] = text
            elif column == "no_reading":
                reason = text if text in set(NoReading) else self.answers.marks.get(text) or mark_meaning(text)
                if reason is None:
                    more |= {"no_reading": NoReading.OTHER, "note": text}
                elif reason != BLANK:
                    more["no_reading"] = NoReading(reason)
            elif column in ("others", "females"):
                number = number_of(text)
                if number is None or number.value % 1 or not 0 <= number.value <= MOST_MOTHS:
                    self.found.faults.add(f"is no number of {column}", text, where, "write it in digits")
                elif column in _VISIT_FIELDS:
                    more[column] = int(number.value)
            elif column == "lure":
                more["lure"] = self._lure(text, where)
            elif (said := yes_no(text)) is None:
                self.found.faults.add(f"is neither yes nor no ({column})", text, where, "write yes or no")
            elif said:
                more[column] = said == "yes"
        return more

    def _lure(self, text: str, where: str) -> str | None:
        lots = {lot.casefold(): lot for lot in self.programme.lots}
        if text.casefold() in lots:
            return lots[text.casefold()]
        if text.casefold() == NONE:
            return NONE
        said = yes_no(text)
        if said is None:
            self.found.faults.add("is no lot, nor yes or no (lure)", text, where, "bring the lots first, or write yes")
        return YES if said == "yes" else None

    def _add(
        self,
        label: str,
        day: date,
        text: str,
        cells: Sequence[str],
        line: int,
        *,
        more: Mapping[str, object] = MappingProxyType({}),
    ) -> TallyRow | None:
        if not more and text.isdigit() and text.isascii() and len(text) <= 4 and "scout" not in self.places:
            row = TallyRow(self.table.name, line, self.scout, label, day.isoformat(), int(text), _NOTHING_MORE)
            self.found.zeros += row.counted == 0
            self.found.visits.append(row)
            return row
        where = self._where(line)
        said = self._count(text, where)
        if said is None:
            return None
        values = {**said, **{key: value for key, value in more.items() if value is not None}}
        if values.get("no_reading") is not None and values.get("count") is not None:
            self.found.faults.add("is a count, and a reason stands beside it", text, where, "keep one of the two")
            return None
        scout = self.cell(cells, "scout") or self.scout
        visit = Visit(trap=label, read_on=day, scout=scout, **values) if values else None  # type: ignore[arg-type]
        if visit is None or not visit.says_something:
            self.found.blanks += 1
            return None
        self.found.zeros += visit.count == 0
        self.found.visits.append(row := tally_row(self.table.name, line, visit))
        return row

    def _count(self, text: str, where: str) -> dict[str, object] | None:  # noqa: PLR0911
        """What a cell for a count says; None where it cannot be taken."""
        if text.isdigit() and text.isascii() and len(text) <= 4:
            return {"count": int(text)}
        if not text:
            return {}
        meaning = self.answers.marks.get(text)
        if meaning is not None and meaning.isdigit():
            self.found.marks[text, meaning] += 1
            return {"count": int(meaning)}
        meaning = meaning or mark_meaning(text)
        if meaning is not None:
            self.found.marks[text, "not read" if meaning == BLANK else meaning] += 1
            return {} if meaning == BLANK else {"no_reading": NoReading(meaning)}
        number = number_of(text)
        if number is not None:
            if number.value % 1 or not 0 <= number.value <= MOST_MOTHS:
                self.found.faults.add("is no count", text, where, f"a count is a whole number from 0 to {MOST_MOTHS}")
                return None
            self.found.marks[text, str(int(number.value))] += 1
            return {"count": int(number.value)}
        draft = parse_tally(text)[0] if text[0].isdigit() or text[0] in "xX" else None
        if draft is not None:
            self.found.marks[text, "as in a tally"] += 1
            names = [one.name for one in fields(draft)]
            return {name: value for name in names if (value := getattr(draft, name)) not in (None, "")}
        self.found.marks[text, ""] += 1
        return None


def past_hangings(programme: Programme, rows: Iterable[TallyRow], season: tuple[int, int], today: date) -> list[Trap]:
    """Hangings that readings ask for on whose days the register has the trap nowhere.

    A season's hanging begins seven days before its first reading and ends with its last. A trap of which nobody wrote
    down when it was hung gets one for each season, so that no winter counts as days of exposure.

    Args:
        programme: What is set up.
        rows: The readings.
        season: Month and day on which seasons start.
        today: The present season's hanging stays open.
    """

    def year_of(day: date) -> int:
        return day.year if (day.month, day.day) >= season else day.year - 1

    days: dict[tuple[str, int], list[date]] = {}
    spans = {trap: found for trap, found in sure_days(programme, today).items() if programme.hangings[trap][-1].hung_on}
    for row in rows:
        if is_sure(spans, row.trap, row.read_on):
            continue
        hangings, read_on = programme.hangings.get(row.trap, ()), date.fromisoformat(row.read_on)
        undated = len(hangings) == 1 and hangings[0].hung_on is None
        if undated or not any(one.hangs_on(read_on) for one in hangings):
            days.setdefault((row.trap, year_of(read_on)), []).append(read_on)
    found = []
    for (label, year), read in sorted(days.items(), key=lambda item: (natural_key(item[0][0]), item[0][1])):
        hangings = programme.hangings[label]
        later = [one for one in hangings if one.hung_on is not None and one.hung_on > max(read)]
        like = later[0] if later else hangings[-1]
        before = [one.down_on for one in hangings if one.down_on is not None and one.down_on <= min(read)]
        hung_on = max([min(read) - WEEK, *before])
        down_on = None if year == year_of(today) and not later else max(read)
        found.append(
            replace(like, hung_on=hung_on, down_on=down_on, lot="", body_label="", funnel_label="", lid_label="")
        )
    return found


def _leave_out_impossible(found: CountsFound, programme: Programme, today: date) -> None:
    """Leave out rows that cannot be, and of two rows for one trap and day all but the first that says the same."""
    kept: list[TallyRow] = []
    spans, possible = sure_days(programme, today), {_NOTHING_MORE}
    """What may stand beside a count, whatever the count."""
    seen: dict[tuple[str, bool, str], dict[str, TallyRow]] = {}
    twice: set[tuple[str, str, bool, str]] = set()
    for row in found.visits:
        if row.counted is None or row.rest not in possible or not is_sure(spans, row.trap, row.read_on):
            problems = check_visit(row.visit, programme, today=today, where=row.where)
            for problem in problems:
                words = problem.message.replace(f"{sanitize(row.trap, 40)} ", "").replace(row.read_on, "that day")
                found.faults.add(words, f"{row.trap} on {row.read_on}", row.where, "correct the row, or the register")
            if problems:
                continue
            if row.visit.females is None:
                possible.add(row.rest)
        other = seen.setdefault((row.trap, row.recount, row.scout.casefold()), {}).setdefault(row.read_on, row)
        if other is row:
            kept.append(row)
        elif other.own != row.own:
            twice.add(_key(row))
            for one in (other, row):
                words = "is there twice with two counts; neither is taken"
                found.faults.add(words, f"{row.trap} on {row.read_on}", one.where, "take out the wrong one")
    found.visits = [row for row in kept if not twice or _key(row) not in twice]


def _key(row: TallyRow) -> tuple[str, str, bool, str]:
    return row.trap, row.read_on, row.recount, row.scout.casefold()


def hanging_fields(row: Trap) -> dict[str, str]:
    """A hanging as fields of traps.csv.

    Args:
        row: The hanging.
    """
    fields = {name: getattr(row, name) for name in ("trap", "block", "species", "style", "row", "tree")}
    days = {name: str(getattr(row, name) or "") for name in ("hung_on", "down_on")}
    return fields | days | {"edge": "yes" if row.edge else "no"}
