"""A sitting at a paper sheet: rows put on record as they are left, pasted, set right and taken back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from roundtui.app.sheet_keeper import SheetKeeper
from roundtui.app.sheet_lines import MARK, many
from roundtui.domain.plain import plain
from roundtui.domain.sheet import SheetRow, pasted, totals
from roundtui.domain.sheet_typing import Ask, Line, Typing, typed_on
from roundtui.domain.tally import draft_of, format_tally, parse_tally
from roundtui.domain.visits import Visit
from roundtui.errors import Problem, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.session import Session


class SheetSitting:
    """A sheet under way, whatever the keys are.

    Args:
        session: Who, where and when.
        route: Name of the route.
    """

    def __init__(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.wants = Ask.NOTHING
        """What the screen is to do: show a summary, the differences, the keys, or go back."""
        self.stopped: tuple[str, RoundtuiError] | None = None
        """What stopped the work; the screen says it and forgets it."""
        self.shows_past = False
        """Whether last week's figures are asked for."""
        self.take_up(second=False)

    def take_up(self, *, second: bool) -> None:
        """Open the sheet where it stands.

        Args:
            second: Whether it is keyed the second time, without sight of the first.
        """
        self.keeper = SheetKeeper(self.session, self.route, second=second)
        self.at = self._first_blank()
        """The row that is typed on; past the last one at the end."""
        self.typing = Typing()
        """What is typed on it."""
        self.last: list[int] = []
        """Places of the rows recorded, the last at the end; ``z`` goes back through them."""
        self.back_to: int | None = None
        """Where keying goes on after a row was set right."""
        self.sure: tuple[int, str] | None = None
        """A row and a text of which was said what they do, and that Enter takes it."""
        self.unlikely: dict[str, str] = {}
        """Traps whose count in this sitting is unlikely, and what is usual."""
        self.pasted: list[str] = []
        """Ids of the rows pasted just before; nothing was typed since."""
        self.question = ""
        """The question that stands open; empty where none does."""
        self._asked = ""
        self._right: set[str] = set()

    @property
    def rows(self) -> list[SheetRow]:
        """Rows of the sheet."""
        return self.keeper.rows

    @property
    def row(self) -> SheetRow | None:
        """The row that is typed on; None past the end."""
        return self.rows[self.at] if self.at < len(self.rows) else None

    def _first_blank(self) -> int:
        return next((at for at, row in enumerate(self.rows) if row.draft is None), len(self.rows))

    def say(self, words: str) -> None:
        """A word to the person at the keys."""
        self.typing = replace(self.typing, said=words, ask=Ask.NOTHING)

    def attempt(self, act: Callable[[], object], title: str) -> bool:
        """Do something that the store can refuse; False where it did."""
        try:
            act()
        except RoundtuiError as error:
            self.stopped = (title, error)
            return False
        return True

    # --- recording ---------------------------------------------------------------------------------------------------

    def commit(self, row: SheetRow) -> bool:
        """Put the row on the disk; False where it stays as typed, with a word."""
        draft, problems = parse_tally(self.typing.text)
        if draft is None:
            self.say(sentences(problems))
            return False
        visit, problems = self.keeper.visit(row, draft)
        if problems:
            self.say(sentences(problems))
            return False
        if row.draft == draft_of(visit) and (visit.replaces or self.keeper.second):
            self.typing = Typing(said=f"{plain(row.trap, 20)} says that already, and stands")
            return True
        if not self._is_sure(row, visit):
            return False
        try:
            (recorded,) = self.keeper.keep([self.at], [visit], [self.typing.keys])
        except RoundtuiError as error:
            self.stopped = (f"{plain(row.trap, 20)} is not recorded", error)
            self.say("Not recorded: what is typed is still here, Enter tries again")
            return False
        self.pasted = []
        self.last = [*(at for at in self.last if at != self.at), self.at]
        self.typing = Typing(said=self._remark(row, recorded))
        self._ask_if_right()
        return True

    def _is_sure(self, row: SheetRow, visit: Visit) -> bool:
        """Whether there is nothing to say before the row is recorded, or it was said and Enter came again."""
        if self.sure == (self.at, self.typing.text):
            self.sure = None
            return True
        said = ""
        if row.draft is not None and not self.keeper.second:
            if visit.replaces is None:
                stands = plain(format_tally(row.draft), 12)
                said = f"{plain(row.scout, 16)} has {stands} here; Enter again: a second reading beside it"
            else:
                said = self.changes(visit)
        if said:
            self.sure = (self.at, self.typing.text)
            self.say(said)
        return not said

    def changes(self, visit: Visit) -> str:
        """What a correction changes for the growers, to be said before it is taken."""
        try:
            changes = self.keeper.consequences(visit)
        except RoundtuiError as error:
            return f"{error.message}; Enter again records"
        return f"Enter again takes it: {many([str(one) for one in changes], 1)}" if changes else ""

    def _remark(self, row: SheetRow, visit: Visit) -> str:
        """What is worth a word of a row that was recorded."""
        name = plain(row.trap, 20)
        self.unlikely.pop(row.trap, None)
        usual = None if self.keeper.second else self.session.usual_if_unlikely(visit)
        if usual is not None:
            self.unlikely[row.trap] = f"unlikely, usually {usual:.1f}"
            return f"{MARK}{name} {visit.count}: unlikely, usually about {usual:.1f} a week. z goes back"
        if row.draft is not None and (visit.replaces or self.keeper.second):
            was, now = (plain(format_tally(draft), 20) for draft in (row.draft, draft_of(visit)))
            return f"{name} was {was}, is {now}: both on record"
        effect = self.keeper.effect(visit)
        return f"{MARK}{effect}" if effect else ""

    def paste(self, text: str) -> None:
        """A column of numbers goes to the rows from this one on; a single line is typed on the row.

        Args:
            text: What was pasted.
        """
        lines = text.strip("\r\n")
        if self.typing.line is not Line.ROW or ("\n" not in lines and "\r" not in lines):
            self.typing = typed_on(self.typing, " ".join(lines.split()))
        elif self.typing.text:
            self.say(f"{plain(self.typing.text, 20)} is typed: Enter records it, then paste")
        else:
            self._paste_rows(text)

    def _paste_rows(self, text: str) -> None:
        drafts, problems = pasted(text, self.rows[self.at :])
        places, visits = [], []
        for at, draft in enumerate(drafts, self.at):
            if draft is not None:
                visit, found = self.keeper.visit(self.rows[at], draft)
                problems += tuple(replace(one, where=f"row of {plain(self.rows[at].trap, 20)}") for one in found)
                places.append(at)
                visits.append(visit)
        if problems:
            more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
            self.say(f"Nothing pasted. {problems[0]}{more}")
            return
        before = [self.rows[at] for at in places]
        try:
            recorded = self.keeper.keep(places, visits, [1] * len(visits))
        except RoundtuiError as error:
            self.stopped = ("Nothing is pasted", error)
            return
        for row, visit in zip(before, recorded, strict=True):
            self._remark(row, visit)
        self.pasted = [visit.id for visit in recorded]
        self.last += places
        self.at += len(drafts)
        back = "" if self.keeper.second else ". u takes them back"
        self.say(f"{len(visits)} rows pasted: {totals(drafts)}{back}")
        self._ask_if_right()

    # --- is it the right sheet? --------------------------------------------------------------------------------------

    def _ask_if_right(self) -> None:
        if self.question or not self.last:
            return
        found = self.keeper.alike(self.last[-1])
        if found is not None and found.name not in self._right:
            self._asked = found.name
            back = "" if self.keeper.second else ", u: no, take back"
            self.question = f"{found.rows} rows read like {plain(found.name, 30)}. The right sheet? y: yes{back}"

    def right_sheet(self) -> None:
        """The question whether it is the right sheet is answered."""
        if not self.question:
            self.say("y answers a question, and none is open")
            return
        self._right.add(self._asked)
        self.question = ""
        self.say("Taken as the right sheet")

    def take_back(self) -> None:
        """Take back what was keyed in this sitting, when it was asked for twice."""
        ids = self.pasted or list(self.keeper.undo)
        what = "pasted" if self.pasted else "keyed in this sitting"
        if self.keeper.second or not ids:
            self.say("No rows keyed in this sitting to take back together")
        elif self.sure != (self.at, "u"):
            self.sure = (self.at, "u")
            self.say(f"u again takes back the {len(ids)} rows {what}; what was keyed stays on record")
        elif self.attempt(lambda: self.keeper.take_back(ids), "Nothing is taken back"):
            self.sure, self.question, self.last, self.pasted, self.unlikely = None, "", [], [], {}
            self.at = self._first_blank()
            self.say(f"{len(ids)} rows taken back")

    # --- second keying -----------------------------------------------------------------------------------------------

    def turn(self) -> None:
        """To the second keying, and back to the first."""
        second = not self.keeper.second
        if self.attempt(lambda: self.take_up(second=second), "The sheet cannot be opened"):
            words = "Second keying: type the whole sheet again; the first is not shown. v or Escape goes back"
            self.say(words if second else "The first keying, as it stands on record")


def sentences(problems: tuple[Problem, ...]) -> str:
    """The first problems as sentences."""
    return ". ".join(
        f"{one.message[:1].upper()}{one.message[1:]}{f': {one.hint}' if one.hint else ''}" for one in problems[:2]
    )
