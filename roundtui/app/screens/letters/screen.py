"""Letters: farms with what their letter will say, a preview, a covering note, and writing one or all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.worker import Worker

from roundtui.app.keys import Action, keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.board import listed
from roundtui.domain.text import WARNS, sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.letters import desk
from roundtui.report.letters.material import short_day
from roundtui.store.session import Session

LETTERS = keys_of("desk", "letters")

_OLDER = 3
_LIST = 80
"""Width of the list where the letter stands beside it. [columns]"""


class LettersScreen(RoundtuiScreen[None]):
    """The letters of the session's day. Nothing is sent: files are written.

    Args:
        session: Who, where and when.
    """

    STOPPED = "The letters cannot be read"
    CSS_PATH = "style.tcss"
    KEYS = LETTERS
    KEYS_FIRST = True
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (2 * _LIST, "-wide")]  # noqa: RUF012 - as the base has it

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = desk.LetterDesk(session)
        self.area: desk.AreaText | None = None
        """The area update, while it stands in place of a letter."""
        self.letters: desk.Letters | None = None
        self.older: tuple[str, ...] = ()
        """Letters on earlier days that no longer hold."""
        self.marked = 0
        self._writing: Worker[int] | None = None
        self._done = ""
        """What was written, said when the list is read that shows it."""

    def compose(self) -> ComposeResult:
        """A bar, the farms, a line for what goes on, the letter of the marked farm, the keys."""
        yield from texts("head", "farms", "said")
        with VerticalScroll(id="page", can_focus=False):
            yield from texts("letter")
        yield from texts("keys")

    def on_mount(self) -> None:
        """Show the place at once, the letters when they are read."""
        self.put("farms", "  Reading what the letters will say …")
        self._read()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self.put_head("Letters", f"seven days to {short_day(self.session.on)}   {sanitize(self.session.scout, 24)} ")
        self._draw()

    # --- reading and writing, beside the app -------------------------------------------------------------------------

    def _read(self) -> None:
        self.read(self.desk.read, self._have, "The letters cannot be read", lambda: None)

    def _have(self, letters: desk.Letters) -> None:
        self.letters = letters
        self.marked = min(self.marked, len(letters.farms))
        self._draw()
        self._say(self._done)
        self._done = ""
        self.aside("older", lambda: self.desk.older(letters), self._have_older, "Older letters cannot be read")

    def _have_older(self, found: tuple[str, ...]) -> None:
        self.older = found
        self._list()

    def _write(self, farms: tuple[str, ...]) -> None:
        letters = self.letters
        if letters is None or not farms or self._writing is not None:
            return
        self.area = None
        notes = {farm: self.desk.whole_note(farm) for farm in farms}
        write, stopped = partial(self.desk.write, letters, notes), "Not all letters were written"
        self._writing = self.aside("write", write, self._written, stopped, stopped=self._stopped, told=self._say)

    def _written(self, done: int) -> None:
        self._stopped(f"{done} {'letter' if done == 1 else 'letters'} written, nothing sent: {self.desk.to}")

    def _stopped(self, words: str = "") -> None:
        self._writing, self._done = None, words
        self._read()

    def idle(self) -> str:
        """What is not written is not viewed, and nobody is called about the public update."""
        page = self.desk.page(self.letters, self._farm()) if self.letters is not None else None
        return f"{'' if page is not None and page.exists() else 'view'} {'' if self._farm() else 'notified'}"

    def keys_here(self) -> Sequence[Action]:
        """Where the public update is marked Enter publishes."""
        first, *rest = super().keys_here()
        update = self.letters is not None and self._farm() is None
        return [replace(first, words="publish file, sends nothing") if update else first, *rest]

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_write_all(self) -> None:
        """Write every letter."""
        if self.letters is not None:
            self._write(tuple(one.farm for one in self.letters.farms))

    def action_write_one(self) -> None:
        """Write the marked farm's letter; what is to be seen first, or replaced, is asked about."""
        if self.letters is None or self._writing is not None:
            return
        farm = self._farm()
        if farm is None:
            self._update()
            return
        from roundtui.report.letters.season_lines import old_temperatures

        old = old_temperatures(self.letters.material)
        said = [(f"{old[:1].upper()}{old[1:]}.", True)] if old else []
        page = self.desk.page(self.letters, farm)
        if page and page.exists():
            said.append(("A letter of this week is there already: it is replaced.", True))
        if said:
            name = sanitize(self.letters.farms[self.marked].name, 40)
            self.ask(f"Write the letter to {name}?", said, lambda: self._write((farm,)))
        else:
            self._write((farm,))

    def action_notified(self) -> None:
        """Record a call made to the marked farm."""
        if self.letters is None:
            return
        farm = self._farm()
        if any(row.farm == farm for row in self.letters.material.summary.blocks):
            self.soon(self._tell(self.letters, farm or ""))
        else:
            self._say("Mark a farm that has blocks, then c: nobody can be called here")

    async def _tell(self, letters: desk.Letters, farm: str) -> None:
        from roundtui.app.dialogs.office import record_call

        if said := await record_call(self, letters.material.summary, farm):
            self._say(said)
            self._read()

    def _update(self) -> None:
        """Write the area update that is shown."""
        if self._writing is not None or any(one.name == "area" and not one.is_finished for one in self.workers):
            return
        seen = self.area
        if seen is None:
            return
        write = partial(self.desk.area, seen)
        title = f"Publish the area update of the week to {seen.update.week_ends}?"
        said = [(words, True) for words in seen.before] + [("What is published stays.", False)]
        self.ask(title, said, lambda: self.aside("area", write, self._area_done, "The area update is not written"))

    def _area_done(self, found: desk.AreaText | tuple[Path, ...]) -> None:
        if isinstance(found, tuple):
            self._draw()
            self._say(f"Area update written, nothing sent: {self.desk.updates}")
            return
        changed = self.area is not None
        self.area = found
        self._preview()
        again = "CHANGED in the meantime. " if changed else ""
        to = f"as a file in {self.desk.updates.name}/"
        self._say(f"{again}Week to {found.update.week_ends}: Enter publishes it for good, {to}")

    def action_note(self) -> None:
        """Type the covering note of all letters."""
        self.soon(self._note("", "Covering note for all letters"))

    def action_farm_note(self) -> None:
        """Type a note for the marked farm alone."""
        if (farm := self._farm()) is not None and self.letters is not None:
            name = self.letters.farms[self.marked].name
            self.soon(self._note(farm, f"A note for {sanitize(name, 40)} alone"))

    async def _note(self, farm: str, title: str) -> None:
        from roundtui.app.dialogs.office import LetterNoteDialog

        words = await self.app.push_screen_wait(LetterNoteDialog(title, self.desk.note(farm)))
        if words is not None:
            self.desk.keep_note(words.strip(), farm)
            self._leave_area()

    def action_view(self) -> None:
        """Show the marked farm's page, or the public update, in the system's viewer."""
        if self.letters is None:
            return
        path = self.desk.page(self.letters, self._farm())
        if path is None or not path.exists():
            self._say("This is not written yet: Enter writes it")
            return
        with self.saying("Nothing can be shown"):
            desk.open_in_viewer(path)
            self._say(f"Opened {path}")

    def action_mark(self, step: int) -> None:
        """Mark another farm."""
        self.marked = max(0, self.marked + step)
        if self.letters is not None:
            self.marked = min(len(self.letters.farms), self.marked)
            self._leave_area()

    def action_back(self) -> None:
        """Stop writing after the letter at hand, or back to where one was."""
        if self._writing is None:
            self.dismiss()
        else:
            self._writing.cancel()
            self._stopped("Stopped: the list has the letters that are written")

    # --- what is shown -----------------------------------------------------------------------------------------------

    @property
    def _columns(self) -> tuple[int, int]:
        """Columns of the list and of the letter, which stand side by side where there is room for both."""
        width = self.width
        return (_LIST, width - _LIST) if width >= 2 * _LIST else (width, width)

    def _farm(self) -> str | None:
        farms = self.letters.farms if self.letters is not None else ()
        return farms[self.marked].farm if self.marked < len(farms) else None

    def _list(self) -> None:
        if self.letters is None:
            return
        self.put_strip()
        farms = self.letters.farms
        width, height = self._columns[0] - 2, self.size.height
        height = max(7, height - 8 if self.width >= 2 * _LIST else height // 3)
        head, *lines = desk.letter_rows(farms, self.desk.page(self.letters, None), width - 2)
        rows = [listed(lines, self.marked, (width, height), str, head=f"  {head}")]
        if not farms:
            rows.append(Content("No trap hung in these seven days, so there is nobody to write to."))
        if self.older:
            more = f" and {len(self.older) - _OLDER} more" if len(self.older) > _OLDER else ""
            rows.append(Content.styled(f"{WARNS}Older, OUT OF DATE: {', '.join(self.older[:_OLDER])}{more}", "bold"))
        note = sanitize(self.desk.note(), width - 18)
        self.put("farms", Content("\n").join([*rows, Content(f"Covering note: {note or 'none, n types one'}")]))

    def _leave_area(self) -> None:
        """The letter stands where the update stood, and what was asked is asked no more."""
        self.area = None
        self._say("")
        self._at_foot = ""
        self._draw()

    def _draw(self) -> None:
        self._list()
        self._preview()

    def _preview(self) -> None:
        farm, width = self._farm() or "", min(100, self._columns[1] - 3)
        letters, area, note = self.letters, self.area, self.desk.whole_note(farm)
        if letters is None:
            return

        def text() -> str:
            try:
                if farm:
                    return self.desk.preview(letters, farm, width, note)
                return self.desk.preview_area(area, width) if area else ""
            except RoundtuiError as error:
                return f"{error.message}\n{error.hint}"

        self.put("letter", "Composing it …" if farm or area else "")
        self.at_rest(partial(self.aside, "preview", text, partial(self.put, "letter"), "The letter cannot be shown"))
        self.query_one("#page", VerticalScroll).scroll_home(animate=False)
        if not farm and area is None:
            self._say("Reading the area …")
            self.aside("area", self.desk.area, self._area_done, "There is no area update to show")

    def _say(self, words: str) -> None:
        """Say what was done; where nothing was, what the marked row cuts, and the file of the letter."""
        if not words and self._farm() is not None and self.letters is not None:
            one = self.letters.farms[self.marked]
            line = desk.letter_rows(self.letters.farms, None, self._columns[0] - 4)[self.marked + 1]
            page = self.desk.page(self.letters, one.farm)
            does = "Written:" if page is not None and page.exists() else "Enter writes"
            to = f"{does} {page.parent.name}/{page.name}" if page is not None else ""
            words = "; ".join([*(said for said in (one.name, one.says, one.state) if said not in line), to])
        lines = wrap(sanitize(words), self._columns[0] - 2, max_lines=2, placeholder=" …")
        self.put("said", "\n".join(lines))
