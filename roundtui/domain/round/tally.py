"""The tally notation: one trap's entry as it stands on a paper sheet, as ``4 l r`` or ``x m``.

One parser serves the count field, the paper sheet and the files. Samples of leaves and fruit have keys of their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from roundtui.domain import entries
from roundtui.domain.round.checks import contradictions
from roundtui.domain.text import sanitize
from roundtui.errors import Problem

REASONS = {
    "s": entries.NoReading.SKIPPED,
    "c": entries.NoReading.CLOSED,
    "m": entries.NoReading.MISSING,
    "d": entries.NoReading.DOWN,
    "g": entries.NoReading.DAMAGED,
    "o": entries.NoReading.OTHER,
}
"""Letter after ``x`` that says why a trap has no count."""
REASON_HINT = "s skipped, c closed, m missing, d down, g damaged, o other"
"""The letters after ``x``, in words."""
BLANK = Problem("", "nothing is written", "0 for an empty trap, x and a letter for no reading")
"""What a blank entry is answered with: it is never a zero."""

_DIGITS = re.compile(r"[0-9]+")
_LABEL = re.compile(r'\s*(?:"((?:[^"]|"")*)"|([^\s"]\S*))')
_BARE = re.compile(r'[^\s"]\S*')
_LABELLED = {
    "r": ("lure", "r alone for the trap's own species, r:LOT, or r:none", "is no lot", ("no",)),
    "b": ("body", "b alone for a clean body without a label, or b:LABEL", "is no label of a body", ("no", "none")),
    "w": ("lure_found", "w:none, w:SPECIES or w:LOT", "is neither a lot nor a species", ("no", "yes")),
}
"""Marks with a label behind them: field, hint, and labels that there are not, with what is said of them."""


_VISIT = entries.KIND_OF["visit"]
_FLAGS = entries.marked(_VISIT, entries.Form.FLAG)
_NUMBERS = entries.marked(_VISIT, entries.Form.WHOLE)
MARKS_HINT = (
    f"a count, then {' '.join(one.fact.mark for one in _FLAGS)} r b,"
    f" {' '.join(f'{one.fact.mark}12' for one in _NUMBERS)}, x and a letter, w:LURE, n:note"
)
"""All marks in one line."""


def draft_of(visit: entries.Visit) -> entries.Draft:
    """What an entry says, without its trap, day and author."""
    return entries.Draft(**{name: getattr(visit, name) for name in entries.SAID})


def parse_tally(text: str, *, where: str = "") -> tuple[entries.Draft | None, tuple[Problem, ...]]:
    """Read one entry.

    Args:
        text: ``4 l r``, ``0``, ``x m``, ``4o12lr``; letters in either case, spaces where one likes. A note, after
            ``n:``, runs to the end of the text; a lot or label runs to the next space, or stands in double quotes.
        where: Place of the text, as every problem names it.

    Returns:
        The draft and no problems, or None and everything that is wrong with the text. Blank is wrong: it is not zero.
    """
    if not text.strip():
        return None, (Problem(where, BLANK.message, BLANK.hint),)
    reader = _Reader(text, where)
    reader.read()
    draft = reader.draft()
    problems = reader.problems or list(contradictions(draft.visit("", date.min), where=where))
    return (None, tuple(problems)) if problems else (draft, ())


def format_tally(draft: entries.Draft) -> str:
    """Write an entry in the notation; ``parse_tally`` reads it back as it was.

    Args:
        draft: What the entry says; its note has no spaces at either end.
    """
    marks: list[str] = []
    if draft.count is not None:
        marks.append(str(draft.count))
    if draft.no_reading is not None:
        marks.append("x" + next(letter for letter, reason in REASONS.items() if reason is draft.no_reading))
    marks += [one.fact.mark for one in _FLAGS if getattr(draft, one.attribute) != bool(one.default)]
    if draft.lure is not None:
        marks.append("r" if draft.lure == entries.YES else f"r:{_quoted(draft.lure)}")
    if draft.body is not None:
        marks.append("b" if draft.body == entries.YES else f"b:{_quoted(draft.body)}")
    for one in _NUMBERS:
        if (number := getattr(draft, one.attribute)) is not None:
            marks.append(f"{one.fact.mark}{number}")
    if draft.lure_found is not None:
        marks.append(f"w:{_quoted(draft.lure_found)}")
    if draft.note:
        marks.append(f"n:{draft.note}")
    return " ".join(marks)


def _quoted(label: str) -> str:
    return label if _BARE.fullmatch(label) else '"' + label.replace('"', '""') + '"'


class _Reader:
    """Reads marks from left to right and keeps what they say."""

    def __init__(self, text: str, where: str) -> None:
        self.text = text
        self.where = where
        self.at = 0
        self.said: dict[str, object] = {}
        self.problems: list[Problem] = []
        self._marks: dict[str, Callable[[], None]] = {
            **{one.fact.mark: self._flag(one) for one in _FLAGS},
            **{one.fact.mark: self._number_after(one) for one in _NUMBERS},
            **{mark: self._labelled(mark) for mark in _LABELLED},
            "x": self._reason,
            "n": self._note,
        }

    def draft(self) -> entries.Draft:
        """What was said so far."""
        return entries.Draft(**self.said)  # type: ignore[arg-type]

    def read(self) -> None:
        """Read all marks; where one is not understood, stop there."""
        while not self.problems:
            self._skip_spaces()
            if self.at >= len(self.text):
                return
            letter = self.text[self.at]
            mark = self._marks.get(letter.lower())
            if letter in "0123456789":
                self._number("count", "a count")
            elif mark is not None:
                self.at += 1
                mark()
            else:
                self._refuse(f"'{sanitize(letter)}' is no mark here", MARKS_HINT)

    def _refuse(self, message: str, hint: str = "") -> None:
        where = f"{self.where}, character {self.at + 1}" if self.where else f"character {self.at + 1}"
        self.problems.append(Problem(where, message, hint))

    def _say(self, name: str, value: object, mark: str) -> None:
        if name in self.said:
            self._refuse(f"{mark} is there twice", "write each mark once")
        self.said[name] = value

    def _skip_spaces(self) -> None:
        while self.at < len(self.text) and self.text[self.at].isspace():
            self.at += 1

    def _number(self, name: str, words: str) -> None:
        found = _DIGITS.match(self.text, self.at)
        if found is None:
            self._refuse(f"{words} is missing", "write it in digits")
            return
        digits = found.group().lstrip("0") or "0"
        if len(digits) > len(str(entries.MOST_MOTHS)):
            self._refuse(f"{sanitize(digits, 12)} is more than a trap can hold", f"at most {entries.MOST_MOTHS}")
            return
        self._say(name, int(digits), words)
        self.at = found.end()

    def _flag(self, one: entries.EntryField) -> Callable[[], None]:
        return lambda: self._say(one.attribute, not one.default, one.fact.mark)

    def _number_after(self, one: entries.EntryField) -> Callable[[], None]:
        def read() -> None:
            self._skip_spaces()
            self._number(one.attribute, f"the number of {one.fact.short}")

        return read

    def _reason(self) -> None:
        self._skip_spaces()
        letter = self.text[self.at : self.at + 1]
        reason = REASONS.get(letter.lower())
        if reason is None:
            self._refuse(f"x {sanitize(letter)}".rstrip() + " gives no reason", REASON_HINT)
            return
        self._say("no_reading", reason, "x")
        self.at += 1

    def _note(self) -> None:
        rest = self.text[self.at :].lstrip()
        note = rest.removeprefix(":").strip()
        if not note:
            self._refuse("the note is empty", "write it after n:")
            return
        self._say("note", note, "n")
        self.at = len(self.text)

    def _label(self, mark: str, hint: str) -> str | None:
        """The label after a colon; None, and the reading place unmoved, where no colon follows."""
        found = re.compile(r"\s*:").match(self.text, self.at)
        if found is None:
            return None
        label = _LABEL.match(self.text, found.end())
        written = "" if label is None else (label.group(2) or (label.group(1) or "").replace('""', '"')).strip()
        if label is None or not written:
            self._refuse(f"nothing stands after {mark}:", hint)
            return ""
        self.at = label.end()
        return written

    def _labelled(self, mark: str) -> Callable[[], None]:
        name, hint, wrong, never = _LABELLED[mark]

        def read() -> None:
            label = self._label(mark, hint)
            folded = entries.YES if label is None else label.casefold()
            if label is None and mark == "w":
                self._refuse("w does not say what was found", hint)
            elif label is not None and folded in never:
                self._refuse(f"'{sanitize(label)}' {wrong}", hint)
            else:
                self._say(name, folded if folded in (entries.YES, entries.NONE) else label, mark)

        return read
