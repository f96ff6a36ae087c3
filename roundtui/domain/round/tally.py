"""The tally notation: one trap's entry as it stands on a paper sheet, as ``4 l r`` or ``x m``.

One parser serves the count field, the paper sheet and the files. Samples of leaves and fruit have keys of their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from roundtui.domain.round.checks import contradictions
from roundtui.domain.text import plain
from roundtui.domain.visits import MOST_MOTHS, NONE, YES, NoReading, Visit
from roundtui.errors import Problem

REASONS = {
    "s": NoReading.SKIPPED,
    "c": NoReading.CLOSED,
    "m": NoReading.MISSING,
    "d": NoReading.DOWN,
    "g": NoReading.DAMAGED,
    "o": NoReading.OTHER,
}
"""Letter after ``x`` that says why a trap has no count."""
REASON_HINT = "s skipped, c closed, m missing, d down, g damaged, o other"
"""The letters after ``x``, in words."""
MARKS_HINT = "a count, then l r k b c e, o12, x and a letter, w:LURE, n:note"
"""All marks in one line."""
BLANK = Problem("", "nothing is written", "0 for an empty trap, x and a letter for no reading")
"""What a blank entry is answered with: it is never a zero."""

_DIGITS = re.compile(r"[0-9]+")
_LABEL = re.compile(r'\s*(?:"((?:[^"]|"")*)"|([^\s"]\S*))')
_BARE = re.compile(r'[^\s"]\S*')
_NO_LABELS = {"no", "none", "yes"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What one entry says, before it is known of which trap and day. The fields mean what they mean in ``Visit``."""

    count: int | None = None
    """Moths of the trap's species; None: not counted."""
    no_reading: NoReading | None = None
    """Why it was not counted."""
    cleared: bool = True
    """Whether the moths were taken out."""
    liner: bool = False
    """Liner replaced."""
    lure: str | None = None
    """None: left alone; a lot; ``YES``: own species; ``NONE``: taken out and none put in."""
    kill_strip: bool = False
    """Kill strip replaced."""
    body: str | None = None
    """None: left alone; ``YES``: a clean body without a label; else the label of the new body."""
    note: str = ""
    """Free words."""
    others: int | None = None
    """Other insects in the trap."""
    estimated: bool = False
    """The count is an estimate."""
    lure_found: str | None = None
    """A lot, a species, or ``NONE``; None where nothing was remarked."""

    def visit(
        self,
        trap: str,
        read_on: date,
        *,
        recount: bool = False,
        scout: str = "",
        device: str = "",
        recorded_at: datetime | None = None,
        id: str = "",  # noqa: A002
        replaces: str | None = None,
        reason: str = "",
    ) -> Visit:
        """The entry, now of a trap and a day.

        Args:
            trap: Label of the trap.
            read_on: Day of the visit.
            recount: A second look at a catch already counted.
            scout: Who.
            device: Which laptop.
            recorded_at: Instant of recording, UTC.
            id: Id; empty until recorded.
            replaces: Id of the entry that it corrects.
            reason: Why that one is corrected.
        """
        return Visit(
            trap=trap,
            read_on=read_on,
            count=self.count,
            no_reading=self.no_reading,
            cleared=self.cleared,
            liner=self.liner,
            lure=self.lure,
            kill_strip=self.kill_strip,
            body=self.body,
            note=self.note,
            others=self.others,
            estimated=self.estimated,
            lure_found=self.lure_found,
            recount=recount,
            scout=scout,
            device=device,
            recorded_at=recorded_at,
            id=id,
            replaces=replaces,
            reason=reason,
        )


def draft_of(visit: Visit) -> Draft:
    """What an entry says, without its trap, day and author."""
    return Draft(
        count=visit.count,
        no_reading=visit.no_reading,
        cleared=visit.cleared,
        liner=visit.liner,
        lure=visit.lure,
        kill_strip=visit.kill_strip,
        body=visit.body,
        note=visit.note,
        others=visit.others,
        estimated=visit.estimated,
        lure_found=visit.lure_found,
    )


def parse_tally(text: str, *, where: str = "") -> tuple[Draft | None, tuple[Problem, ...]]:
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


def format_tally(draft: Draft) -> str:
    """Write an entry in the notation; ``parse_tally`` reads it back as it was.

    Args:
        draft: What the entry says; its note has no spaces at either end.
    """
    marks: list[str] = []
    if draft.count is not None:
        marks.append(str(draft.count))
    if draft.no_reading is not None:
        marks.append("x" + next(letter for letter, reason in REASONS.items() if reason is draft.no_reading))
    for letter, there in (("e", draft.estimated), ("c", not draft.cleared), ("l", draft.liner)):
        if there:
            marks.append(letter)
    if draft.lure is not None:
        marks.append("r" if draft.lure == YES else f"r:{_quoted(draft.lure)}")
    if draft.kill_strip:
        marks.append("k")
    if draft.body is not None:
        marks.append("b" if draft.body == YES else f"b:{_quoted(draft.body)}")
    if draft.others is not None:
        marks.append(f"o{draft.others}")
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
            "l": lambda: self._say("liner", True, "l"),
            "k": lambda: self._say("kill_strip", True, "k"),
            "e": lambda: self._say("estimated", True, "e"),
            "c": lambda: self._say("cleared", False, "c"),
            "r": self._lure,
            "b": self._body,
            "w": self._found,
            "x": self._reason,
            "o": self._others,
            "n": self._note,
        }

    def draft(self) -> Draft:
        """What was said so far."""
        return Draft(**self.said)  # type: ignore[arg-type]

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
                self._refuse(f"'{plain(letter)}' is no mark here", MARKS_HINT)

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
        if len(digits) > len(str(MOST_MOTHS)):
            self._refuse(f"{plain(digits, 12)} is more than a trap can hold", f"at most {MOST_MOTHS}")
            return
        self._say(name, int(digits), words)
        self.at = found.end()

    def _others(self) -> None:
        self._skip_spaces()
        self._number("others", "the number of other insects")

    def _reason(self) -> None:
        self._skip_spaces()
        letter = self.text[self.at : self.at + 1]
        reason = REASONS.get(letter.lower())
        if reason is None:
            self._refuse(f"x {plain(letter)}".rstrip() + " gives no reason", REASON_HINT)
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

    def _lure(self) -> None:
        hint = "r alone for the trap's own species, r:LOT, or r:none"
        label = self._label("r", hint)
        if label is not None and label.casefold() == "no":
            self._refuse("'no' is no lot", hint)
            return
        folded = label.casefold() if label else None
        self._say("lure", YES if folded in (None, YES) else NONE if folded == NONE else label, "r")

    def _body(self) -> None:
        hint = "b alone for a clean body without a label, or b:LABEL"
        label = self._label("b", hint)
        if label is not None and label.casefold() in _NO_LABELS - {YES}:
            self._refuse(f"'{plain(label)}' is no label of a body", hint)
            return
        self._say("body", YES if label is None or label.casefold() == YES else label, "b")

    def _found(self) -> None:
        hint = "w:none, w:SPECIES or w:LOT"
        label = self._label("w", hint)
        if label is None:
            self._refuse("w does not say what was found", hint)
        elif label.casefold() in _NO_LABELS - {NONE}:
            self._refuse(f"'{plain(label)}' is neither a lot nor a species", hint)
        else:
            self._say("lure_found", NONE if label.casefold() == NONE else label, "w")
