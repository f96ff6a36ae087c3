"""A sitting at a paper sheet: what each key does to the rows. It shows nothing; the screen asks it what is so."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date

from roundtui.app.sheet_sitting import SheetSitting, sentences
from roundtui.domain.checks import in_case, nearest
from roundtui.domain.plain import plain
from roundtui.domain.sheet import SheetRow, day_written
from roundtui.domain.sheet_typing import Ask, Line, Typing, press
from roundtui.domain.tally import format_tally
from roundtui.domain.visits import Draft
from roundtui.errors import Problem

MANY = frozenset({Ask.LINE, Ask.PAST, Ask.SECOND, Ask.TAKE_BACK})
"""What changes more rows than the one typed on."""


class SheetKeying(SheetSitting):
    """A sheet under way, at the keys."""

    def press(self, key: str) -> bool:
        """What a key does.

        Returns:
            Whether it may have changed more rows than the one typed on.
        """
        self.typing = press(self.typing, key)
        ask = self.typing.ask
        if ask is not Ask.NOTHING:
            self._acts.get(ask, lambda: self._want(ask))()
        return ask in MANY

    @property
    def _acts(self) -> Mapping[Ask, Callable[[], None]]:
        return {
            Ask.ENTER: self._enter,
            Ask.UP: lambda: self._step(-1),
            Ask.DOWN: lambda: self._step(1),
            Ask.OLD_TEXT: self._old_text,
            Ask.LINE: self._line_done,
            Ask.PAST: self._past,
            Ask.LAST: self._last,
            Ask.SECOND: self.turn,
            Ask.RIGHT_SHEET: self.right_sheet,
            Ask.TAKE_BACK: self.take_back,
            Ask.BACK: self._back,
        }

    def _want(self, ask: Ask) -> None:
        self.wants = ask
        self.say("")

    def _enter(self) -> None:
        row = self.row
        if row is None:
            if self.typing.text:
                self.say("The sheet is at its end: Up goes back to a row")
            else:
                self._want(Ask.DIFFERENCES if self.keeper.second else Ask.SUMMARY)
        elif not self.typing.text.strip():
            self._blank(row)
        elif self.commit(row):
            self.at = self.at + 1 if self.back_to is None else self.back_to
            self.back_to = None

    def _blank(self, row: SheetRow) -> None:
        name = plain(row.trap, 20)
        if self.typing.looked:
            self.say("Only looked, nothing recorded. If that was a digit: NumLock is off")
        elif row.draft is not None:
            self.say(f"{name} stands as it is: Down goes on, typing sets it right")
        else:
            self.say(f"{name} is blank: no zero and no entry. 0 is a count, x no reading, Down passes on")

    def _step(self, step: int) -> None:
        if self.typing.text.strip() and (self.row is None or not self.commit(self.row)):
            return
        said = self.typing.said
        to = self.at + step
        if not 0 <= to <= len(self.rows):
            self.say(said or f"This is the {'first' if step < 0 else 'last'} row of the sheet")
            return
        self.at, self.back_to = to, None
        self.typing = Typing(said=said, looked=True)

    def _old_text(self) -> None:
        row = self.row
        if row is not None and row.draft is not None:
            self.typing = replace(self.typing, text=format_tally(row.draft))

    def _line_done(self) -> None:
        words, line = self.typing.words.strip(), self.typing.line
        self.typing = Typing()
        if line in (Line.DAY, Line.STAGE):
            (self._date if line is Line.DAY else self._stage)(words)
            return
        labels = [row.trap for row in self.rows]
        label = in_case(words, labels)
        if label not in labels:
            hint = nearest(words, labels) or "look at the rows of the sheet"
            self.say(f"No trap {plain(words, 20)} on this sheet: {hint}")
        elif line is Line.GO_TO:
            self.at, self.back_to = labels.index(label), None
        elif self.row is None:
            self.say("The sheet is at its end: go to the row where the trap stands first")
        elif self.attempt(lambda: self.keeper.place(label, self.at), "The order is not kept"):
            self.say(f"{plain(label, 20)} stands here on the paper; the order is kept")
            self.last = []

    def _date(self, words: str) -> None:
        day = day_written(words, self.session.on)
        if isinstance(day, Problem):
            self.say(f"{day.message}: {day.hint}")
        elif self.row is None:
            self.say("The sheet is at its end: a day is given to a row")
        elif self.row.draft is None or self.row.read_on == day or self._redate(self.row, self.row.draft, day):
            self.keeper.date_from(self.at, day)
            self.say(f"{day:%a} {day.isoformat()} for this row and the blank ones after it")

    def _redate(self, row: SheetRow, draft: Draft, day: date) -> bool:
        """Correct the day of a row that says something; False where it stays as it was, with a word."""
        name = plain(row.trap, 20)
        visit, problems = self.keeper.visit(replace(row, read_on=day), draft)
        if problems:
            self.say(sentences(problems))
            return False
        if visit.replaces is None and not self.keeper.second:
            self.say(f"{name} is {plain(row.scout, 16)}'s entry: its day is theirs to set right, or the replay's")
            return False
        changes = "" if self.keeper.second or self.sure == (self.at, day.isoformat()) else self.changes(visit)
        if changes:
            self.sure = (self.at, day.isoformat())
            self.say(changes.replace("Enter again", "The same day again"))
            return False
        self.rows[self.at] = replace(row, read_on=day)
        if not self.attempt(lambda: self.keeper.keep([self.at], [visit], [1]), f"{name} keeps its day"):
            self.rows[self.at] = row
            return False
        return True

    def _stage(self, words: str) -> None:
        if self.row is None:
            self.say("The sheet is at its end: a stage is of a row's block")
        elif self.keeper.second:
            self.say("A stage is recorded with the first keying: v goes back to it")
        else:
            row = self.row
            said: list[str] = []
            if self.attempt(lambda: said.append(self.keeper.see_stage(row, words)), "The stage is not recorded"):
                self.say(said[0])

    def _past(self) -> None:
        self.shows_past = not self.shows_past

    def _last(self) -> None:
        places = [at for at in self.last if at != self.at]
        if not places:
            self.say("No row recorded in this sitting before: g goes to a trap")
            return
        if self.back_to is None:
            self.back_to = self.at
        self.at, self.last = places[-1], places[:-1]
        name = plain(self.rows[self.at].trap, 20)
        self.say(f"Setting {name} right: type the row anew, or Backspace for the old text")

    def _back(self) -> None:
        if self.back_to is not None:
            self.at, self.back_to, self.typing = self.back_to, None, Typing()
        elif self.keeper.second:
            self.turn()
        else:
            self.wants = Ask.BACK
