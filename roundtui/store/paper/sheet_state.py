"""A sitting at a paper sheet: which rows it has, how what is typed gets on record, and what each key does.

It shows nothing; the screen asks it what is so.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property, partial

from roundtui.domain.entries import Draft, StageSeen, Visit
from roundtui.domain.paper import sheet
from roundtui.domain.paper.double_entry import Alike, DoubleEntry, SheetOrder, alike
from roundtui.domain.paper.sheet import Ask, Line, SheetRow, Typing
from roundtui.domain.programme.stages import runs_backward
from roundtui.domain.round.agenda import found_choices, lure_choices, stage_choices
from roundtui.domain.round.checks import in_case, nearest, same_scout
from roundtui.domain.round.entry import NO_COUNT, NOT_SAVED
from roundtui.domain.round.tally import draft_of, format_tally, parse_tally
from roundtui.domain.round.walk import read_before
from roundtui.domain.text import WARNS, sanitize, several, spoken_day, spoken_days
from roundtui.errors import Problem, RoundtuiError
from roundtui.store.db import transaction
from roundtui.store.paper.sheets import PaperSheet, layout, said_in
from roundtui.store.record import journal
from roundtui.store.session import Session

CORRECTED = "corrected on the tally sheet"
"""Reason kept with a correction made by typing over a row."""
WITHDRAWN = "typed from another sheet, or pasted by mistake"
"""Reason kept with rows that are withdrawn together."""


class SheetKeeper(PaperSheet):
    """What the tally sheet asks and tells.

    Args:
        session: Who, where and when.
        route: Name of the route.
        second: Whether the sheet is keyed the second time, without sight of the first.
    """

    def __init__(self, session: Session, route: str, *, second: bool = False) -> None:
        super().__init__(session, route)
        self.second = second
        self.typed = 0
        """Rows typed since the sheet was opened."""
        self.undo: list[str] = []
        """Ids of the rows that can be withdrawn together."""
        self._keyed = self.second_entries() if second else {}
        order = sheet.in_order(self.round.traps, layout(session.conn, route))
        days = {trap: visit.read_on for trap, visit in self.round.done.items()}
        if second:
            days = {row.trap: row.read_on for row in reversed(self._keyed.values())}
        self.rows = [self._row(trap, days.get(trap, session.on)) for trap in order]

    # --- rows --------------------------------------------------------------------------------------------------------

    def _row(self, trap: str, on: date) -> SheetRow:
        entry = self._keyed.get((trap, on)) if self.second else self.standing(trap, on)
        if entry is None:
            return SheetRow(trap=trap, read_on=on)
        return SheetRow(trap=trap, read_on=on, draft=said_in(entry), id=entry.id, scout=entry.scout)

    def standing(self, trap: str, on: date) -> Visit | None:
        """The entry of a row: of whoever is at the keys, else of another."""
        visits = [visit for visit in self.session.visits(trap) if visit.read_on == on and not visit.recount]
        own = [visit for visit in visits if same_scout(visit.scout, self.session.scout)]
        found = own or visits
        return found[-1] if found else None

    def refresh(self, at: int) -> None:
        """Show in a row what stands."""
        self.rows[at] = self._row(self.rows[at].trap, self.rows[at].read_on)

    def read_anew(self) -> None:
        """Something else may have written: what is shown comes from the disk."""
        self.session.forget()
        for at in range(len(self.rows)):
            self.refresh(at)

    def date_from(self, at: int, on: date) -> None:
        """Give a day to a row and to all that follow and are still blank."""
        for place in range(at, len(self.rows)):
            if place == at or self.rows[place].draft is None:
                self.rows[place] = self._row(self.rows[place].trap, on)

    def place(self, trap: str, at: int) -> None:
        """Put a trap's row where it stands on the paper, and keep that order with who and when."""
        order = sheet.moved([row.trap for row in self.rows], trap, at)
        kept = SheetOrder(route=self.route, traps=json.dumps(list(order), ensure_ascii=False))
        journal.record(self.session.conn, [kept], self.session.author, self.session.clock())
        rows = {row.trap: row for row in self.rows}
        self.rows = [rows[label] for label in order]

    def see_stage(self, row: SheetRow, code: str) -> str:
        """Record the fruit stage of a row's block on the row's day; a further one that day sets it right.

        Returns:
            A word: what was recorded, or why nothing was.
        """
        session = self.session
        hanging = session.programme.hanging(row.trap, row.read_on)
        block = session.programme.blocks.get(hanging.block) if hanging else None
        known = {stage.value: stage.words for stage in stage_choices(block.crop)} if block else {}
        if block is None or code not in known:
            return (
                f"{sanitize(code, 20)} is no stage of {sanitize(block.crop if block else 'any block', 20)}: two digits"
            )
        before = session.stage(block.block)
        same_day = before if before is not None and before.seen_on == row.read_on else None
        name = f"Block {sanitize(block.block, 12)} {row.read_on:%d %b}: stage {code}, {known[code]}"
        if same_day is not None and same_day.code == code:
            return f"{name}, as it stands"
        seen = StageSeen(
            block=block.block,
            seen_on=row.read_on,
            code=code,
            unchanged=same_day is None and before is not None and before.code == code,
            replaces=same_day.id if same_day else None,
            reason=CORRECTED if same_day else "",
        )
        journal.record(session.conn, [seen], session.author, session.clock())
        session.forget()
        if before is not None and same_day is None and runs_backward(before.code, code):
            return f"{name}. That is before {before.code}; stages do not run backward: check it"
        return name

    @cached_property
    def past(self) -> dict[str, list[Visit]]:
        """What each trap showed before the round, the newest first."""
        return {trap: read_before(self.session.visits(trap), self.since) for trap in self.round.traps}

    @cached_property
    def days(self) -> list[date]:
        """Days of what the traps showed before, the newest last."""
        return sorted({visit.read_on for visits in self.past.values() for visit in visits})

    # --- one row on record -------------------------------------------------------------------------------------------

    def entry(self, row: SheetRow, draft: Draft) -> tuple[Visit, tuple[Problem, ...]]:
        """An entry ready to record, and what makes it impossible.

        Args:
            row: The row; what stands in it by the same scout is what the entry sets right.
            draft: What was typed.
        """
        own = row.id and same_scout(row.scout, self.session.scout) and not self.second
        why = CORRECTED if own else ""
        return self.visit(draft, row.trap, row.read_on, replaces=row.id if own else None, reason=why, alone=self.second)

    def keep(self, places: Sequence[int], visits: Sequence[Visit], keys: Sequence[int]) -> list[Visit]:
        """Put rows on the disk, all or none: as entries, or as rows of the second entry.

        Args:
            places: Where they stand.
            visits: What they say, checked before.
            keys: Keys pressed for each.

        Returns:
            The entries as recorded.

        Raises:
            RoundtuiError: Nothing was kept.
        """
        session = self.session
        if self.second:
            now = session.clock()
            rows = [
                DoubleEntry(
                    route=self.route,
                    sheet_on=session.on,
                    trap=visit.trap,
                    read_on=visit.read_on,
                    said=format_tally(draft_of(visit)),
                    keys=max(1, pressed),
                    replaces=self.rows[at].id or None,
                    reason="corrected while typing" if self.rows[at].id else "",
                )
                for at, visit, pressed in zip(places, visits, keys, strict=True)
            ]
            for row in journal.record(session.conn, rows, session.author, now):
                self._keyed[(row.trap, row.read_on)] = row
            recorded = list(visits)
        else:
            recorded = list(session.record(visits))
        for at in places:
            self.refresh(at)
        self.typed += len(places)
        if not self.second:
            corrected = {visit.replaces: visit.id for visit in recorded if visit.replaces}
            self.undo = [corrected.get(entry, entry) for entry in self.undo]
            self.undo += [visit.id for visit in recorded if visit.replaces is None]
        return recorded

    def withdraw(self, ids: Sequence[str]) -> None:
        """Withdraw entries together; they stay on record as withdrawn."""
        session = self.session
        with transaction(session.conn):
            for entry in ids:
                journal.withdraw(session.conn, entry, WITHDRAWN, session.author, session.clock())
        self.undo = [entry for entry in self.undo if entry not in ids]
        self.read_anew()

    def effect(self, visit: Visit) -> str:
        """What a lure put in, or found, does beyond the plain; empty where there is nothing to say."""
        programme = self.session.programme
        hanging = programme.hanging(visit.trap, visit.read_on)
        if hanging is None or (visit.lure is None and visit.lure_found is None):
            return ""
        choices = (
            *(one for one in lure_choices(programme, hanging, visit.read_on) if one.value == visit.lure),
            *(one for one in found_choices(programme, hanging) if one.value == visit.lure_found),
        )
        return "; ".join(one.effect for one in choices if one.effect)

    # --- the right sheet ---------------------------------------------------------------------------------------------

    @cached_property
    def neighbours(self) -> dict[str, list[int | None]]:
        """Counts of this round on the other sheets, each in its own order; sheets that share a trap are none."""
        found = {}
        for route in self.session.programme.routes:
            state = self.session.round_of(route)
            if route != self.route and not set(state.traps) & set(self.round.traps):
                order = sheet.in_order(state.traps, layout(self.session.conn, route))
                counts = [state.done[trap].count if trap in state.done else None for trap in order]
                if any(count is not None for count in counts):
                    found[f"those of sheet {route}"] = counts
        return found

    def alike(self, at: int) -> Alike | None:
        """The sheet that the rows up to a place read like."""
        keyed = [row.draft.count if row.draft else None for row in self.rows[: at + 1]]
        past = [self.past[row.trap] for row in self.rows]
        before = [visits[0].count if visits else None for visits in past]
        return alike(keyed, {"last week's of this sheet": before}, self.neighbours)


MANY = frozenset({Ask.LINE, Ask.PAST, Ask.SECOND, Ask.WITHDRAW})
"""What changes more rows than the one typed on."""


class SheetEntry:
    """A sheet under way, at the keys.

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
        self.shows_past = True
        """Whether last week's figures are shown."""
        self.doubted: tuple[str, list[str], Callable[[], None]] = ("", [], lambda: None)
        """What is to be asked: the question, what it changes, and what does it."""
        self._key = ""
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
        """Where entry goes on after a row was corrected."""
        self.sure: tuple[int, str] | None = None
        """A row and a text of which was asked what they do, and answered by yes."""
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
        if draft is None or (draft.count is None and draft.no_reading is None and row.draft is None):
            self.say(sentences(problems) if draft is None else NO_COUNT)
            return False
        visit, problems = self.keeper.entry(row, draft)
        if problems:
            self.say(sentences(problems))
            return False
        if row.draft == draft_of(visit) and (visit.replaces or self.keeper.second):
            self.typing = Typing(said=f"{sanitize(row.trap, 20)} has that already")
            return True
        if not self._is_sure(row, visit):
            return False
        try:
            (recorded,) = self.keeper.keep([self.at], [visit], [self.typing.keys])
        except RoundtuiError as error:
            self.stopped = (f"{sanitize(row.trap, 20)} is not recorded", error)
            self.typing = replace(self.typing, said=NOT_SAVED, ask=Ask.NOTHING, refused=True)
            return False
        self.pasted = []
        self.last = [*(at for at in self.last if at != self.at), self.at]
        self.typing = Typing(said=self._remark(row, recorded))
        self._ask_if_right()
        return True

    def _is_sure(self, row: SheetRow, visit: Visit) -> bool:
        """Whether there is nothing to ask before the row is recorded, or it was answered by yes."""
        if self.sure == (self.at, self.typing.text):
            self.sure = None
            return True
        said: list[str] = []
        if row.draft is not None and not self.keeper.second:
            if visit.replaces is None:
                stands = sanitize(format_tally(row.draft), 12)
                who = sanitize(row.scout, 30)
                said = [f"{who} has {stands} here: two counts contradict, and neither is used until one is settled."]
            else:
                said = self.changes(visit)
        if said:
            key = self._key
            title = f"Save {sanitize(row.trap, 20)}: {sanitize(self.typing.text.strip(), 40)}?"
            self.doubt((title, said), (self.at, self.typing.text), lambda: self.press(key))
        return not said

    def doubt(self, words: tuple[str, list[str]], sure: tuple[int, str], then: Callable[[], object]) -> None:
        """Have something asked before it is done."""

        def answered() -> None:
            self.sure = sure
            then()

        self.wants, self.doubted = Ask.SURE, (*words, answered)

    def changes(self, visit: Visit) -> list[str]:
        """What a correction changes for the growers, to be said before it is taken."""
        session = self.session
        was = next((one for one in session.visits(visit.trap) if one.id == visit.replaces), visit)
        record = partial(journal.record, entries=[visit], author=session.author, now=session.clock())
        try:
            return list(map(str, self.keeper.changes(record, {visit.read_on, was.read_on}, visit.trap)))
        except RoundtuiError as error:
            return [error.message]

    def _remark(self, row: SheetRow, visit: Visit) -> str:
        """What is worth a word of a row that was recorded."""
        name = sanitize(row.trap, 20)
        self.unlikely.pop(row.trap, None)
        slip = "" if self.keeper.second else self.session.slip(visit)
        if slip:
            self.unlikely[row.trap] = f"unlikely: {slip}"
            return f"{WARNS}{name} unlikely: {slip}. z goes back"
        if row.draft is not None and (visit.replaces or self.keeper.second):
            was, now = (sanitize(format_tally(draft), 20) for draft in (row.draft, draft_of(visit)))
            return f"{name} was {was}, is {now}: both on record"
        effect = self.keeper.effect(visit)
        return f"{WARNS}{effect}" if effect else ""

    def paste(self, text: str) -> None:
        """A column of numbers goes to the rows from this one on; a single line is typed on the row.

        Args:
            text: What was pasted.
        """
        lines = text.strip("\r\n")
        if self.typing.line is not Line.ROW or ("\n" not in lines and "\r" not in lines):
            self.typing = sheet.typed_on(self.typing, " ".join(lines.split()))
        elif self.typing.text:
            self.say(f"{sanitize(self.typing.text, 20)} is typed: Enter records it, then paste")
        else:
            self._paste_rows(text)

    def _paste_rows(self, text: str) -> None:
        drafts, problems = sheet.pasted(text, self.rows[self.at :])
        places, visits = [], []
        for at, draft in enumerate(drafts, self.at):
            if draft is not None:
                visit, found = self.keeper.entry(self.rows[at], draft)
                problems += tuple(replace(one, where=f"row of {sanitize(self.rows[at].trap, 20)}") for one in found)
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
        back = "" if self.keeper.second else ". m 3 withdraws them"
        self.say(f"{several(len(visits), 'row')} pasted: {sheet.totals(drafts)}{back}")
        self._ask_if_right()

    # --- is it the right sheet? --------------------------------------------------------------------------------------

    def _ask_if_right(self) -> None:
        if self.question or not self.last:
            return
        found = self.keeper.alike(self.last[-1])
        if found is not None and found.name not in self._right:
            self._asked = found.name
            back = "" if self.keeper.second else ", m 3: no, withdraw"
            self.question = f"{found.rows} rows read like {sanitize(found.name, 30)}. The right sheet? y: yes{back}"

    def right_sheet(self) -> None:
        """The question whether it is the right sheet is answered."""
        if not self.question:
            self.say("y answers a question; none is open")
            return
        self._right.add(self._asked)
        self.question = ""
        self.say("Right sheet: yes")

    def withdraw(self) -> None:
        """Withdraw what was typed in this sitting, once that is answered by yes."""
        ids = self.pasted or list(self.keeper.undo)
        what = "pasted" if self.pasted else "typed since the sheet was opened"
        if self.keeper.second or not ids:
            self.say("No rows typed since the sheet was opened")
        elif self.sure != (self.at, "withdraw"):
            title = f"Withdraw {several(len(ids), 'row')} {what}?"
            self.doubt((title, ["What was typed stays on record."]), (self.at, "withdraw"), self.withdraw)
        elif self.attempt(lambda: self.keeper.withdraw(ids), "Nothing is withdrawn"):
            self.sure, self.question, self.last, self.pasted, self.unlikely = None, "", [], [], {}
            self.at = self._first_blank()
            self.say(f"{several(len(ids), 'row')} withdrawn")

    # --- second entry -----------------------------------------------------------------------------------------------

    def turn(self) -> None:
        """To the second entry, and back to the first."""
        second = not self.keeper.second
        if self.attempt(lambda: self.take_up(second=second), "The sheet cannot be opened"):
            words = "Double entry: type the whole sheet again; the first entry is hidden. v or Escape goes back"
            self.say(words if second else "The first entry, as recorded")

    # --- keys --------------------------------------------------------------------------------------------------------

    def press(self, key: str) -> bool:
        """What a key does.

        Returns:
            Whether it may have changed more rows than the one typed on.
        """
        self._key = key
        self.typing = sheet.press(self.typing, key)
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
            Ask.WITHDRAW: self.withdraw,
            Ask.BACK: self._back,
        }

    def _want(self, ask: Ask) -> None:
        self.wants = ask
        self.say("")

    def _enter(self) -> None:
        row = self.row
        if row is None:
            if self.typing.text.strip().isdecimal():
                self.typing = Typing(said=sheet.control_words(self.rows, int(self.typing.text)))
            elif self.typing.text:
                self.say("The sheet is at its end: the paper's own total, or Up goes back to a row")
            else:
                self._want(Ask.DIFFERENCES if self.keeper.second else Ask.SUMMARY)
        elif not self.typing.text.strip():
            self._blank(row)
        elif self.commit(row):
            self.at = self.at + 1 if self.back_to is None else self.back_to
            self.back_to = None

    def _blank(self, row: SheetRow) -> None:
        name = sanitize(row.trap, 20)
        if self.typing.looked:
            self.say("Nothing recorded. If that was a digit: NumLock is off")
        elif row.draft is not None:
            self.say(f"{name} is recorded: Down goes on, typing corrects it")
        else:
            self.say(f"{name} is blank: no zero and no entry. 0 is a count, x not read, Down goes on")

    def _step(self, step: int) -> None:
        if self.typing.text.strip() and self.row is not None and not self.commit(self.row):
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
            self.say(f"No trap {sanitize(words, 20)} on this sheet: {hint}")
        elif line is Line.GO_TO:
            self.at, self.back_to = labels.index(label), None
        elif self.row is None:
            self.say("The sheet is at its end: go to the trap's row first")
        elif self.attempt(lambda: self.keeper.place(label, self.at), "The order is not kept"):
            self.say(f"{sanitize(label, 20)} is here on the paper; the order is kept")
            self.last = []

    def _date(self, words: str) -> None:
        day = sheet.day_written(words, self.session.on)
        if isinstance(day, Problem):
            self.say(f"{spoken_days(day.message, self.session.on)}: {day.hint}")
        elif self.row is None:
            self.say("The sheet is at its end: go to a row to set its day")
        elif self.row.draft is None or self.row.read_on == day or self._redate(self.row, self.row.draft, day):
            self.keeper.date_from(self.at, day)
            self.say(f"{spoken_day(day, self.session.on)} for this row and the blank ones after it")

    def _redate(self, row: SheetRow, draft: Draft, day: date) -> bool:
        """Correct the day of a row that says something; False where it stays as it was, with a word."""
        name = sanitize(row.trap, 20)
        visit, problems = self.keeper.entry(replace(row, read_on=day), draft)
        if problems:
            self.say(sentences(problems))
            return False
        if visit.replaces is None and not self.keeper.second:
            self.say(f"{name} is {sanitize(row.scout, 16)}'s entry: correct its day in the replay")
            return False
        changes = [] if self.keeper.second or self.sure == (self.at, day.isoformat()) else self.changes(visit)
        if changes:
            title = f"{name}: the day becomes {day.isoformat()}?"
            self.doubt((title, changes), (self.at, day.isoformat()), lambda: self._date(day.isoformat()))
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
            self.say("A stage belongs to the first entry: v goes back to it")
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
            self.say("No row recorded yet: g goes to a trap")
            return
        if self.back_to is None:
            self.back_to = self.at
        self.at, self.last = places[-1], places[:-1]
        name = sanitize(self.rows[self.at].trap, 20)
        self.say(f"Correcting {name}: type the row again, or Backspace for the old text")

    def _back(self) -> None:
        if self.back_to is not None:
            self.at, self.back_to, self.typing = self.back_to, None, Typing()
        elif self.keeper.second:
            self.turn()
        else:
            self.wants = Ask.BACK


def sentences(problems: tuple[Problem, ...]) -> str:
    """The first problems as sentences."""
    return ". ".join(
        f"{one.message[:1].upper()}{one.message[1:]}{f': {one.hint}' if one.hint else ''}" for one in problems[:2]
    )
