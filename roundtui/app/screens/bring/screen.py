"""A table of one's own: what it was read as stands there before anything is written, and one key writes it."""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.worker import Worker

from roundtui.app.keys import keys_of
from roundtui.app.screen import TextsScreen, texts
from roundtui.domain.programme.rounds import steps
from roundtui.domain.text import WARNS, sanitize, several, spoken_days
from roundtui.errors import RefusedError
from roundtui.store.bring.answers import Question, TableFound
from roundtui.store.bring.bring import BringDesk, Brought
from roundtui.store.bring.table import Kind
from roundtui.store.session import Session

BRING = keys_of("desk", "bring")

_KINDS = ", ".join(Kind)
_FILES = "A CSV file of any kind, or an .xlsx spreadsheet; its path, or its name where it lies in the folder."


class BringScreen(TextsScreen[None]):
    """One table at a time.

    Args:
        session: Who, where and when.
        kind: What a table is taken to hold at first; empty: whoever brings it says so.
    """

    STOPPED = "No table can be brought"
    CSS_PATH = "style.tcss"
    KEYS = BRING

    def __init__(self, session: Session, kind: str = "") -> None:
        super().__init__(session)
        self.desk = BringDesk(session)
        self.file, self.kind = "", kind
        self.found: TableFound | None = None
        self.more = [
            "No table is read yet: f names its file, and says what it holds.",
            "What it is read as stands here first, and nothing is written before you say y.",
        ]
        """What stands there where no table does."""
        self._busy: Worker[object] | None = None
        self._stopping = False

    def compose(self) -> ComposeResult:
        """A bar, what is read, a word on it, the keys."""
        yield from texts("head")
        with VerticalScroll(id="page", can_focus=False):
            yield from texts("list")
        yield from texts("said", "keys")

    def _begin(self) -> None:
        self._show()
        self.action_file()

    def action_file(self) -> None:
        """Name a file, and what it holds."""
        if self._busy is None:
            self.soon(self._ask_file())

    async def _ask_file(self) -> None:
        from roundtui.app.dialogs.form import LineDialog

        def no_file(text: str) -> str:
            return "" if self.desk.path(text).is_file() else f"there is no file {sanitize(text, 60)}"

        def no_kind(text: str) -> str:
            return "" if _kind(text) else f"one of {_KINDS}"

        name = await self.app.push_screen_wait(
            LineDialog("Bring a table", "File", self.file, fault=no_file, hint=_FILES)
        )
        text = name and await self.app.push_screen_wait(
            LineDialog("What does it hold?", "Holds", self.kind, fault=no_kind, hint=f"{_KINDS}: a letter will do")
        )
        kind = _kind(text) if text else None
        if name and kind is not None:
            self.file, self.kind = name, kind.value
            self._read(self.desk.path(name), kind)

    def _read(self, path: Path | None = None, kind: Kind | None = None) -> None:
        self.said = "Reading …"
        self._show()
        self.query_one("#page").scroll_home(animate=False)
        self._busy = self.aside(
            "read", lambda: self.desk.read(path, kind), self._looked, "The table cannot be read", stopped=self._stopped
        )

    def _looked(self, found: TableFound) -> None:
        self._busy, self.found = None, found
        if found.questions:
            self.said = f"{found.questions[0].words} Enter answers."
        elif found.brings:
            self.said = f"Nothing is written yet. Enter writes {several(found.brings, 'row')}."
        else:
            self.said = "Nothing in it is new."
        self._show()

    def _stopped(self) -> None:
        self._busy, self.said = None, "Nothing was written"
        self._show()

    def action_go_on(self) -> None:
        """Answer what is asked, or write what was read."""
        found = self.found
        if found is None or self._busy is not None:
            self.action_file()
        elif found.questions:
            self.soon(self._answer(found.questions[0]))
        elif found.brings:
            left = len(found.problems)
            said = [(words, False) for words in found.says()[:2]]
            said += [(f"{several(left, 'kind')} of rows left out, as named.", True)] if left else []
            self.ask(
                f"Write {several(found.brings, 'row')} of {sanitize(found.answers.path.name, 40)}?", said, self._write
            )

    async def _answer(self, question: Question) -> None:
        from roundtui.app.dialogs.form import LineDialog

        numbers = {str(at): answer for at, (answer, _) in enumerate(question.choices, 1)}
        hint = "\n".join(f"{at}  {sanitize(words, 60)}" for at, (_, words) in enumerate(question.choices, 1))

        def fault(text: str) -> str:
            return "" if not numbers or text in numbers else "Write the number before an answer"

        text = await self.app.push_screen_wait(
            LineDialog(sanitize(question.words, 200), "Number" if numbers else "Answer", fault=fault, hint=hint)
        )
        if text:
            if self.found is not None:
                self.found.answers.take(question, numbers.get(text, text))
            self._read()

    def _write(self) -> None:
        whole, self._stopping = self.found.brings if self.found is not None else 0, False

        def tell(done: int) -> None:
            if self._stopping:  # It is told inside the transaction, which this undoes.
                raise RefusedError("you stopped it", "Enter writes it after all")
            self.call_later(self.say, f"Writing: {done} of {whole} rows")

        self._busy = self.aside(
            "write", lambda: self.desk.write(tell), self._written, "Nothing was written", stopped=self._stopped
        )

    def _written(self, brought: Brought) -> None:
        found = self.found
        words = [] if found is None else [*found.words, *(f"{WARNS}Left out: {one}" for one in found.problems)]
        self._busy, self.found = None, None
        self.desk.renew()
        steps_left = [step for step in steps(self.session.programme, 0) if step.needed and not step.done]
        self.more = [*words, "", *map(str, (*brought.remarks, *brought.problems))]
        if steps_left:
            self.kind = steps_left[0].name
            self.more += [f"Next: {self.kind}, each {steps_left[0].words}."]
        self.said = f"{brought.words}; f brings {self.kind if steps_left else 'another'}"
        self._show()

    def action_back(self) -> None:
        """One step back; what is being written is undone first."""
        if self._busy is None or self._busy.name != "write":
            self.dismiss()
        else:
            self._stopping = True
            self.say("Stopping")

    def _show(self) -> None:
        width = self.width
        name = f"   {sanitize(self.found.answers.path.name, 40)} as {self.kind}" if self.found else ""
        self.put_head(f"Bring{name}")
        more = (sanitize(spoken_days(one, self.session.on), 300) for one in self.more)
        lines = [part for one in more for part in wrap(one, width - 4, subsequent_indent="  ") or [""]]
        if self.found is not None:
            lines = self.found.lines(width - 4, self.session.on)
        self.put("list", Content("\n".join(f"  {line}" for line in lines)))
        self.put_said(self.said, 3)
        self.put_strip()


def _kind(text: str) -> Kind | None:
    """The kind whose name begins so."""
    return next((kind for kind in Kind if text and kind.value.startswith(text.casefold())), None)
