"""A sample while it is counted: one key for each unit found, and two Enters more. Pure: a key gives a new value.

Samples that were begun and not recorded, as text that outlives a crash.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from enum import StrEnum
from functools import partial

from roundtui.domain.entries import Sample, SampleKind
from roundtui.domain.records import Frozen
from roundtui.domain.sampling.findings import GRADES, MOST, plans_on, sought_of
from roundtui.domain.sampling.records import MonthDay, Plan, SampleVerdict, Seen, Sought, checkpoint, judge, plural

CORRECTED = "corrected in the sample"
"""Reason that stands on a correction made here."""
FOUND, ENTRY, STING, OTHER, SAMPLED = "f", "e", "g", "o", "n"
"""Marks of what was keyed, as they are kept: a unit found, a fruit with an entry, a sting only, another injury; and,
with a number behind it, how many units were looked at. A number behind a unit found is the animals on it."""


class Step(StrEnum):
    """What the field takes."""

    COUNT = "Count"
    """Found units, and the number looked at."""
    EACH = "On this one"
    """Animals or marks on a unit that has some."""
    PREDATORS = "With predators"
    """Units with predators or parasites."""
    TREES = "Trees"
    """Trees it is spread over."""
    GRADE = "Grade"
    """Severity, 0 to 5."""
    PLACE = "Place"
    """Where in the block."""
    NOTE = "Note"
    """Free words."""


TEXT_STEPS = frozenset({Step.PLACE, Step.NOTE})
"""Steps in which every character is text."""


class Wish(StrEnum):
    """What the counting asks of the screen around it."""

    NOTHING = ""
    RECORD = "record"
    BACK = "back"


BESIDE = ("beneficials", "trees", "grade", "place", "note", "replaces")
"""What is said of a sample beside what was keyed, by name."""


class Counting(Frozen, kw_only=True):
    """A sample so far."""

    block: str
    """Code of the block."""
    sampled_on: date
    """Day on which it was begun."""
    sought: Sought
    """What is looked for."""
    plan: Plan | None
    """Plan it is walked by."""
    plans: tuple[Plan, ...] = ()
    """Plans to choose from."""
    marks: tuple[str, ...] = ()
    """What was keyed, in order."""
    beneficials: int | None = None
    """Units with predators."""
    trees: int | None = None
    """Trees."""
    grade: int | None = None
    """Severity."""
    place: str = ""
    """Where in the block."""
    note: str = ""
    """Free words."""
    replaces: str | None = None
    """Id of the sample on record that this one sets right."""
    step: Step = Step.COUNT
    """What the field takes now."""
    text: str = ""
    """Digits typed and not taken yet."""
    line: str = ""
    """Line of text, where the field takes one."""
    said: str = ""
    """A word to whoever looks."""
    wish: Wish = Wish.NOTHING
    """What is asked of the screen."""

    @property
    def key(self) -> tuple[str, date, tuple[SampleKind, str, str]]:
        """What tells it from all others that were begun."""
        return self.block, self.sampled_on, self.sought.key

    def _number(self, mark: str) -> int:
        return sum(one[:1] == mark for one in self.marks)

    @property
    def found(self) -> int:
        """Units with it; of fruit those injured, stings apart."""
        return self._number(FOUND) + self._number(ENTRY) + self._number(OTHER)

    @property
    def stings(self) -> int:
        """Fruit with a sting only."""
        return self._number(STING)

    @property
    def looked(self) -> int:
        """Units looked at, as somebody has said last; 0 where nobody has."""
        return next((int(mark[1:]) for mark in reversed(self.marks) if mark[0] == SAMPLED), 0)

    @property
    def settled(self) -> bool:
        """Whether the number looked at was said last of all, so that Enter records."""
        return bool(self.marks) and self.marks[-1][0] == SAMPLED

    @property
    def counted(self) -> int | None:
        """Animals or marks on all units; None where they were not counted on every unit found."""
        numbers = [mark[1:] for mark in self.marks if mark[0] == FOUND]
        if not self.sought.counted or "" in numbers:
            return None
        return sum(map(int, numbers))

    @property
    def seen(self) -> Seen:
        """What a plan is asked about."""
        least = sum(int(mark[1:] or 1) for mark in self.marks if mark[0] == FOUND)
        return Seen(self.looked, self.found, self.counted, least if self.sought.counted else 0)

    @property
    def verdict(self) -> SampleVerdict:
        """What the plan says so far."""
        return judge(self.plan, self.seen, self.sought.by_presence)

    @property
    def ends_at(self) -> int:
        """Units that Enter alone stands for."""
        units = self.plan.units if self.plan is not None else self.sought.units
        return max(checkpoint(self.plan, units, self.seen), self.looked, self.found + self.stings)

    @property
    def sample(self) -> Sample:
        """The entry."""
        fruit = self.sought.kind is SampleKind.FRUIT
        return Sample(
            block=self.block,
            sampled_on=self.sampled_on,
            kind=self.sought.kind,
            pest=self.sought.code,
            looked_at=self.sought.looked_at,
            looked=self.looked,
            found=self.found,
            plan=self.plan.id if self.plan is not None else "",
            counted=self.counted,
            entries=self._number(ENTRY) if fruit else None,
            stings=self.stings if fruit else None,
            other_injury=self._number(OTHER) if fruit else None,
            reason=CORRECTED if self.replaces else "",
            **{name: getattr(self, name) for name in BESIDE},
        )


def marks_of(sample: Sample) -> tuple[str, ...]:
    """Marks that a sample on record could have been keyed with: what was on which unit is not kept, and all else is.

    Args:
        sample: The sample.
    """
    entries, other = sample.entries or 0, sample.other_injury or 0
    rest = max(0, sample.found - entries - other)
    found = [FOUND] * rest
    if sample.counted is not None and rest:
        found = [f"{FOUND}{sample.counted - rest + 1}", *[f"{FOUND}1"] * (rest - 1)]
    return (*found, *[ENTRY] * entries, *[OTHER] * other, *[STING] * (sample.stings or 0), f"{SAMPLED}{sample.looked}")


def press(now: Counting, key: str) -> Counting:
    """What a key does to a sample.

    Args:
        now: The sample so far; ``line`` is up to date where the field takes text.
        key: One character, or the name of a key.
    """
    now = replace(now, said="", wish=Wish.NOTHING)
    if now.step in TEXT_STEPS:
        return _text(now, key)
    key = key.lower() if len(key) == 1 else key
    if key.isascii() and key.isdigit():
        return _digit(now, key)
    if now.step is not Step.COUNT:
        return _number_step(now, key)
    act = (_FRUIT if now.sought.kind is SampleKind.FRUIT else _LEAF).get(key) or _ACTS.get(key)
    return act(now) if act is not None else _say(now, f"{key} does nothing here: ? shows the keys")


def _say(now: Counting, words: str) -> Counting:
    return replace(now, said=words)


def _digit(now: Counting, digit: str) -> Counting:
    if now.step is Step.GRADE:
        if int(digit) >= len(GRADES):
            return _say(now, f"No grade {digit}: 0 absent to 5 severe")
        return replace(now, step=Step.COUNT, grade=int(digit), said=f"Grade {digit}: {GRADES[int(digit)]}")
    text = (now.text + digit).lstrip("0") or "0"
    if int(text) > MOST:
        return _say(now, f"{MOST} is the most a sample can have")
    return replace(now, text=text)


def _text(now: Counting, key: str) -> Counting:
    if key == "escape":
        return replace(now, step=Step.COUNT, line="", said=f"{now.step} as before")
    if key != "enter":
        return now
    words = " ".join(now.line.split())
    kept = replace(now, step=Step.COUNT, line="")
    return replace(kept, note=words) if now.step is Step.NOTE else replace(kept, place=words)


def _number_step(now: Counting, key: str) -> Counting:
    if key == "escape" or (key == "backspace" and not now.text):
        return _say(replace(now, step=Step.COUNT, text=""), f"{now.step}: cancelled")
    if key == "backspace":
        return replace(now, text=now.text[:-1])
    if key != "enter":
        return _say(now, "Digits, then Enter. Escape cancels")
    return _taken(now, int(now.text)) if now.text else _say(now, "Nothing typed: digits, or Escape")


def _taken(now: Counting, number: int) -> Counting:
    if number == 0 and now.step is not Step.PREDATORS:
        return _say(now, "Type how many, or Escape")
    back = replace(now, step=Step.COUNT, text="")
    if now.step is Step.EACH:
        return replace(back, marks=(*now.marks, f"{FOUND}{number}"), said=f"{number} {now.sought.counted} on it")
    return replace(back, beneficials=number) if now.step is Step.PREDATORS else replace(back, trees=number)


def _enter(now: Counting) -> Counting:
    if now.text:
        looked = int(now.text)
        if looked < max(now.found + now.stings, 1):
            least = max(now.found + now.stings, 1)
            return _say(replace(now, text=""), f"{looked} checked is not possible: {least} at the least")
        return replace(now, text="", marks=(*now.marks, f"{SAMPLED}{looked}"))
    if now.settled and (now.verdict.more == 0 or now.ends_at == now.looked):
        return _record(now)
    if now.sought.kind is SampleKind.FRUIT:
        # A blank Enter would claim hundreds of fruit that nobody may have looked at.
        return _say(now, f"How many {plural(now.sought.looked_at)} were checked? Type it, then Enter")
    return replace(now, marks=(*now.marks, f"{SAMPLED}{now.ends_at}"))


def _record(now: Counting) -> Counting:
    if now.text:
        return _say(now, f"{now.text} is typed: Enter accepts it")
    if not now.looked:
        return _say(now, f"How many {plural(now.sought.looked_at)} were checked? Type it, then Enter")
    if now.found + now.stings > now.looked:
        return _say(now, f"{now.found + now.stings} found of {now.looked} checked: type how many by now")
    return replace(now, wish=Wish.RECORD)


def _backspace(now: Counting) -> Counting:
    if now.text:
        return replace(now, text=now.text[:-1])
    if not now.marks:
        return _say(now, "Nothing to undo")
    return replace(now, marks=now.marks[:-1], said=f"Undone: {_mark_words(now, now.marks[-1])}")


def _mark_words(now: Counting, mark: str) -> str:
    if mark[0] == SAMPLED:
        return f"{mark[1:]} looked at"
    if mark[0] == FOUND and mark[1:]:
        return f"one with {mark[1:]} {now.sought.counted}"
    return {FOUND: "one found", ENTRY: "an entry", STING: "a sting", OTHER: "another injury"}[mark[0]]


def _mark(now: Counting, *, mark: str) -> Counting:
    return _typed(now) if now.text else replace(now, marks=(*now.marks, mark))


def _open(now: Counting, *, step: Step) -> Counting:
    line = {Step.NOTE: now.note, Step.PLACE: now.place}.get(step, "")
    return _typed(now) if now.text else replace(now, step=step, line=line)


def _typed(now: Counting) -> Counting:
    return _say(now, f"{now.text} is typed: Enter sets it as checked, Backspace drops it")


def _each(now: Counting) -> Counting:
    if not now.sought.counted:
        return _say(now, "Presence is enough here: f for each one found")
    return _open(now, step=Step.EACH)


def _next_plan(now: Counting) -> Counting:
    choices: tuple[Plan | None, ...] = (*now.plans, None)
    if len(choices) == 1:
        return _say(now, "No published plan for this: the interval only")
    at = choices.index(now.plan) if now.plan in choices else -1
    return replace(now, plan=choices[(at + 1) % len(choices)])


def _back(now: Counting) -> Counting:
    return replace(now, text="") if now.text else replace(now, wish=Wish.BACK)


_ACTS: Mapping[str, Callable[[Counting], Counting]] = {
    "enter": _enter,
    "backspace": _backspace,
    "escape": _back,
    "f": partial(_mark, mark=FOUND),
    "+": partial(_mark, mark=FOUND),
    "menu-1": _record,
    "menu-2": _next_plan,
    "menu-3": partial(_open, step=Step.PREDATORS),
    "menu-4": partial(_open, step=Step.TREES),
    "menu-5": partial(_open, step=Step.GRADE),
    "menu-6": partial(_open, step=Step.PLACE),
    **{key: partial(_say, words=f"Moved: m {number}") for number, key in enumerate("rpbtvw", 1)},
    "n": partial(_open, step=Step.NOTE),
}
_LEAF: Mapping[str, Callable[[Counting], Counting]] = {"h": _each, "*": _each}
_FRUIT: Mapping[str, Callable[[Counting], Counting]] = {
    "e": partial(_mark, mark=ENTRY),
    "j": partial(_mark, mark=STING),
    "o": partial(_mark, mark=OTHER),
    "*": partial(_mark, mark=ENTRY),
    "/": partial(_mark, mark=STING),
    "-": partial(_mark, mark=OTHER),
}


_MARK = re.compile(r"[fego][0-9]{0,5}|n[0-9]{1,5}")
_MOST = 40
_KEPT = ("block", "sampled_on", "kind", "pest", "looked_at", "plan", *BESIDE)


def counting_of(sample: Sample, marks: Sequence[str], table: Sequence[Sought], day: MonthDay) -> Counting:
    """A sample gone on with.

    Args:
        sample: What it says, apart from what was keyed.
        marks: What was keyed.
        table: What is looked for.
        day: Month and day on which it was begun, as plans have them.
    """
    sought = sought_of(table, sample.kind, sample.pest, sample.looked_at)
    return Counting(
        block=sample.block,
        sampled_on=sample.sampled_on,
        sought=sought,
        plan=next((plan for plan in sought.plans if plan.id == sample.plan), None),
        plans=plans_on(sought, day),
        marks=tuple(marks),
        **{name: getattr(sample, name) for name in BESIDE},
    )


def written(begun: Iterable[Counting]) -> str:
    """Samples that were begun, as text to keep.

    Args:
        begun: The samples.
    """
    rows = [{name: getattr(one.sample, name) for name in _KEPT} | {"marks": one.marks} for one in begun]
    return json.dumps(rows, default=str)


def read(text: str) -> tuple[tuple[Sample, tuple[str, ...]], ...]:
    """Samples out of text that was kept, each with what was keyed; what is none is left out.

    Args:
        text: As ``written`` gives it; empty for none.
    """
    try:
        rows = json.loads(text) if text else []
    except ValueError:
        return ()
    found = map(_kept, rows[-_MOST:]) if isinstance(rows, list) else ()
    return tuple(one for one in found if one is not None)


def _kept(row: object) -> tuple[Sample, tuple[str, ...]] | None:
    try:
        said = dict(row)  # type: ignore[call-overload]
        marks = tuple(str(mark) for mark in said.pop("marks"))
        day, kind = date.fromisoformat(said.pop("sampled_on")), SampleKind(said.pop("kind"))
        sample = Sample(sampled_on=day, kind=kind, looked=0, found=0, **said)
    except (TypeError, ValueError, KeyError):
        return None
    return (sample, marks) if all(map(_MARK.fullmatch, marks)) else None
