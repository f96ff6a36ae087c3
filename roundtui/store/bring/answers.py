"""What a person said of her tables, kept in ``mappings``; what is still to be asked; and what is wrong, by its kind."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from roundtui.domain.text import plain
from roundtui.domain.toml_table import TableReader
from roundtui.domain.visits import NoReading
from roundtui.errors import Problem, ProblemsError, StoreError
from roundtui.store.bring.days import Order
from roundtui.store.bring.table import Table
from roundtui.store.bring.words import BLANK, LEFT_OUT, Kind, head_key, target_of, targets
from roundtui.store.files import write_whole
from roundtui.store.toml_file import read_toml

FOLDER = "mappings"
"""Folder inside the scouting folder with one file for each kind of table."""
MARKS = (BLANK, *(reason.value for reason in NoReading if reason is not NoReading.OTHER))
"""What a mark can stand for, beside a number."""
FOR_ALL = ("crop", "species", "block", "farm")
"""Columns that a table may lack, where one answer holds for all its rows."""
_FACTS = ("dates", "unit", "station", "route", "year", *FOR_ALL)
_TO_ASK = "?"
"""A fact that is still to be asked, since no column has it."""
_SHOWN = 40
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Question:
    """Something that nobody can know but the person whose table it is."""

    about: str
    """What the answer is kept as: column, mark, dates, unit, station, route or year."""
    of: str
    """Which column or mark; empty for what holds for the whole file."""
    words: str
    """The question."""
    choices: tuple[tuple[str, str], ...] = ()
    """Answers that can be given, each with its words; none: any text."""


@dataclass(slots=True)
class Answers:
    """Everything that was said of the tables of a kind."""

    kind: Kind
    """Which kind."""
    columns: dict[str, str] = field(default_factory=dict)
    """Headings as they are compared, each with the column it is; ``LEFT_OUT``: not taken."""
    marks: dict[str, str] = field(default_factory=dict)
    """Marks in the place of counts, each with what it stands for: one of ``MARKS``, or a number."""
    files: dict[str, dict[str, str]] = field(default_factory=dict)
    """Files by name, each with what holds for it: order of dates, unit, station, route, year."""

    def fact(self, file: str, about: str) -> str:
        """What was said of a file; empty where nothing was."""
        return self.files.get(file, {}).get(about, "")

    def take(self, file: str, question: Question, answer: str) -> None:
        """Take an answer.

        Args:
            file: Name of the file.
            question: What was asked.
            answer: One of its choices, or any text where it has none.
        """
        if question.about == "column":
            if not answer:
                self.files.setdefault(file, {})[question.of] = _TO_ASK
            else:
                self.columns = {head: to for head, to in self.columns.items() if to != question.of}
                self.columns[head_key(answer)] = question.of
        elif question.about == "mark":
            self.marks[question.of] = answer
        else:
            self.files.setdefault(file, {})[question.about] = answer


def read_answers(folder: Path, kind: Kind, file: str, given: Path | None, dates: str | None) -> Answers:
    """What was kept of earlier tables, and above it what is given now.

    Args:
        folder: The scouting folder.
        kind: What the table holds.
        file: Name of the table's file.
        given: A file in the form of a kept one; None: none is given.
        dates: Order of day, month and year; None: not stated.

    Raises:
        ProblemsError: A file cannot be used.
        StoreError: The given file is not there.
    """
    answers = Answers(kind)
    kept = folder / FOLDER / f"{kind}.toml"
    if given is not None and not given.is_file():
        raise StoreError(f"there is no file {plain(str(given), 200)}", "check the name after --map")
    for path in (kept, given):
        if path is not None:
            _read(answers, path, file)
    if dates:
        answers.files.setdefault(file, {})["dates"] = dates
    return answers


def _read(answers: Answers, path: Path, file: str) -> None:
    table, problem = read_toml(path, "look at the line it names; docs/set-up.md shows how a mapping is written")
    problems = [problem] if problem is not None else []
    reader = TableReader(table or {}, path.name)
    known = (*targets(answers.kind), LEFT_OUT)
    for heading, target in _texts(reader, "columns"):
        if target not in known:
            reader.problem("columns", f"{plain(target, _SHOWN)} is no column", f"one of {', '.join(known[:-1])}")
        answers.columns[head_key(heading)] = target
    for mark, meaning in _texts(reader, "marks"):
        if meaning not in MARKS and not meaning.isdigit():
            hint = f"one of {', '.join(MARKS)}, or a number"
            reader.problem("marks", f"{plain(meaning, _SHOWN)} is nothing a mark can stand for", hint)
        answers.marks[mark] = meaning
    said = reader.value("files")
    for name, facts in said.items() if isinstance(said, Mapping) else ():
        inner = TableReader(facts if isinstance(facts, Mapping) else {}, f"{path.name}, {plain(str(name), _SHOWN)}")
        answers.files.setdefault(str(name), {}).update(_facts(inner))
        inner.refuse_unknown()
        problems += inner.problems
    answers.files.setdefault(file, {}).update(_facts(reader))
    reader.refuse_unknown()
    problems += reader.problems
    if problems:
        raise ProblemsError(f"{plain(path.name, 80)} cannot be used; nothing was changed", tuple(problems), "mend it")


def _facts(reader: TableReader) -> dict[str, str]:
    found = {}
    for about in _FACTS:
        value = reader.value(about)
        if value is None:
            continue
        text = str(value)
        choices = {"dates": tuple(Order), "unit": ("F", "C")}.get(about)
        if choices is not None and text not in choices:
            reader.problem(about, f"{plain(text, _SHOWN)} is none of {', '.join(choices)}", "write one of them")
        found[about] = text
    return found


def _texts(reader: TableReader, key: str) -> Iterable[tuple[str, str]]:
    said = reader.value(key)
    return [(str(one), str(other)) for one, other in said.items()] if isinstance(said, Mapping) else []


def keep_answers(folder: Path, answers: Answers) -> None:
    """Keep what was said, for the next table of the kind.

    Args:
        folder: The scouting folder.
        answers: What was said.

    Raises:
        StoreError: It cannot be written.
    """
    facts = {name: said for name, said in answers.files.items() if said}
    if not (answers.columns or answers.marks or facts):
        return
    lines = [f"# How tables of {answers.kind} are read; bring keeps what it was told here. See docs/set-up.md.", ""]
    for key, pairs in (("columns", answers.columns), ("marks", answers.marks)):
        if pairs:
            lines += [f"[{key}]", *(f"{_text(one)} = {_text(other)}" for one, other in pairs.items()), ""]
    for name, said in facts.items():
        lines += [f"[files.{_text(name)}]", *(f"{about} = {_text(value)}" for about, value in said.items()), ""]
    write_whole(folder / FOLDER / f"{answers.kind}.toml", "\n".join(lines))


def _text(value: str) -> str:
    return json.dumps(value.encode("utf-8", "replace").decode().replace("\x7f", ""), ensure_ascii=False)


@dataclass(slots=True)
class Faults:
    """What is wrong with a file, each kind of it once with how often and where."""

    found: dict[tuple[str, str], list[tuple[str, str]]] = field(default_factory=dict)
    """By what it is and what to do: places and samples, the first few of them."""
    times: dict[tuple[str, str], int] = field(default_factory=dict)
    """How often each was met."""

    def add(self, what: str, sample: str, where: str, hint: str = "") -> None:
        """Note a fault.

        Args:
            what: What it is, as "is no date".
            sample: What stands there; the first is shown.
            where: Table and line.
            hint: What to do.
        """
        key = what, hint
        self.times[key] = self.times.get(key, 0) + 1
        places = self.found.setdefault(key, [])
        if len(places) < _NAMED:
            places.append((where, sample))

    def __len__(self) -> int:
        return sum(self.times.values())

    def listed(self) -> tuple[Problem, ...]:
        """One problem for each kind."""
        problems = []
        for (what, hint), places in self.found.items():
            number = self.times[what, hint]
            samples = ", ".join(dict.fromkeys(f"'{plain(sample, _SHOWN)}'" for _, sample in places if sample))
            more = " …" if number > len(places) else ""
            lines = ", ".join(where.rpartition("line ")[2] for where, _ in places) + more
            head = places[0][0].rpartition(", line ")[0]
            times = f"{number} times: " if number > 1 else ""
            problems.append(Problem(f"{head}, line {lines}", f"{times}{f'{samples} ' if samples else ''}{what}", hint))
        return tuple(problems)


def place_columns(kind: Kind, table: Table, answers: Answers) -> tuple[dict[str, int], list[int]]:
    """Which column stands where.

    Args:
        kind: What the table holds.
        table: The table.
        answers: What was said of its headings.

    Returns:
        Places by column, each column once; and places that are none.
    """
    places: dict[str, int] = {}
    others: list[int] = []
    said = {at: answers.columns.get(head_key(head)) for at, head in enumerate(table.head) if head_key(head)}
    for at, target in said.items():
        if target and target not in places:
            places[target] = at
    for at, heading in enumerate(table.head):
        if at in places.values() or said.get(at) == LEFT_OUT:
            continue
        found = target_of(kind, heading) if heading and said.get(at) is None else None
        if found is not None and found not in places:
            places[found] = at
        else:
            others.append(at)
    return places, others


def ask_column(kind: Kind, target: str, table: Table, others: Iterable[int], known: str = "") -> Question:
    """The question which column is one that has to be there, or what holds for all rows where none is.

    Args:
        kind: What the table holds.
        target: The column.
        table: The table.
        others: Places it can have.
        known: What was said before: that no column has it.
    """
    heads = tuple((table.head[at], table.head[at]) for at in others if table.head[at])
    if target in FOR_ALL:
        if known == _TO_ASK or not heads:
            return Question(target, "", f"What is the {target} of all {kind} in {table.name}?")
        heads = (*heads, ("", "none of them: it is the same for all rows"))
    return Question("column", target, f"Which column of {table.name} is the {target} of the {kind}?", heads)
