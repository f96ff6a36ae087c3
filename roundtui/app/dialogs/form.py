"""The one way to ask: forms of a few lines, one line, yes or no, the menu, and what stops work."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from itertools import zip_longest
from textwrap import wrap
from typing import Any, ClassVar, TypeVar

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from roundtui.app.threads import OPENING_SECONDS, Said, heeded
from roundtui.domain.text import WARNS, padded, sanitize, spoken_days
from roundtui.errors import ProblemsError, RefusedError, RoundtuiError

T = TypeVar("T")
WIDTH = 74
"""Columns inside a dialog at 80 columns."""
LOOKING = "Looking up what it changes …"
_MOST_LINES = 15
_MOST = 99_999


def inside(width: int) -> int:
    """Columns inside a dialog on a terminal of so many; its style says how wide it is itself."""
    return min(max(WIDTH, width * 84 // 100 - 6), width - 6)


def fault_words(error: RoundtuiError) -> list[str]:
    """What was refused and what to do next, a line each, made harmless."""
    if isinstance(error, ProblemsError) and error.problems:
        return [sanitize(f"{WARNS}{one}", 300) for one in error.problems[:3]]
    return [sanitize(f"{WARNS}{error.message}{f': {error.hint}' if error.hint else ''}", 400)]


def effect_lines(said: Said, width: int, today: date | None) -> list[tuple[str, str]]:
    """What a change changes, line by line, each with its style."""
    lines: list[tuple[str, str]] = []
    for words, needs in said:
        mark, style = (WARNS, "bold $text-warning") if needs else ("  ", "")
        whole = sanitize(spoken_days(f"{mark}{words}", today), 400)
        lines += [(line, style) for line in wrap(whole, width, subsequent_indent="    ")]
    return lines


class AskDialog(ModalScreen["bool | RoundtuiError"]):
    """Names a thing, lists what changes, and wants ``y``. Enter alone does nothing here.

    Gives the answer, or why it cannot be known what changes.

    Args:
        title: What is asked.
        said: What changes, and whether each sentence is to be marked. Where that is to be looked up, what does it: in a
            thread, which Escape stops, while other keys wait. Where it finds nothing, nothing is asked.
        ticks: Gives seconds, so that a key held from before is dropped.
    """

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "yes", "Yes", id="ask.yes", tooltip="Do it."),
        Binding("escape,n", "no", "No", id="ask.no", tooltip="Change nothing."),
        Binding("down,tab,plus,add", "choose(True)", "To yes", id="ask.down", tooltip="Mark yes; then Enter."),
        Binding("up,shift+tab,minus,subtract", "choose(False)", "Back", id="ask.up", tooltip="Mark nothing."),
        Binding("enter", "take", "Take", id="ask.enter", tooltip="Take yes, where it is marked."),
        Binding("pageup", "read(-1)", "Read back", id="ask.read-back", tooltip="The lines before."),
        Binding("pagedown", "read(1)", "Read on", id="ask.read-on", tooltip="More of what changes."),
    ]

    def __init__(self, title: str, said: Said | Callable[[], Said], ticks: Callable[[], float]) -> None:
        super().__init__()
        self._words = (title, said)
        self._ticks = ticks
        self._shown_at = ticks()
        self.have_read = asyncio.Event()
        """Not set while keys wait for what changes."""
        self.chosen = False
        """Whether yes is marked."""
        self._lines: list[tuple[str, str]] = []
        """What changes, of which so many lines are shown at once, from the first on."""
        self._room, self._first = 1, 0

    def put(self, app: App[Any], then: Callable[[], object], refuse: Callable[[RoundtuiError], object]) -> None:
        """Ask.

        Args:
            app: Where.
            then: Done after a yes, or where nothing is found to ask about.
            refuse: Told what stops that.
        """

        def answered(yes: bool | RoundtuiError | None) -> None:
            try:
                if isinstance(yes, RoundtuiError):
                    raise yes
                if yes:
                    then()
            except RoundtuiError as error:
                refuse(error)

        app.push_screen(self, answered)

    def compose(self) -> ComposeResult:
        """The question, what changes, the two answers."""
        width, height = self.app.size
        asked = wrap(sanitize(spoken_days(self._words[0]), 300), inside(width))
        self._room = max(1, min(max(_MOST_LINES, height // 2), height - 5 - len(asked)))
        with Vertical(classes="dialog"):
            yield Static("\n".join(asked), classes="title", markup=False)
            yield Static(id="changes", markup=False)
            yield Static(f"{LOOKING}   [Esc] stop", id="said", markup=False)

    def on_mount(self) -> None:
        """Nothing is marked at first."""
        said = self._words[1]
        if callable(said):
            self.run_worker(heeded(said, partial(self.call_later, self._told)), thread=True, exit_on_error=False)
        else:
            self._have(said)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """It is known what changes, or why it cannot be."""
        error = event.worker.error
        if event.state is WorkerState.SUCCESS and event.worker.result:
            self._have(event.worker.result)
        elif event.state is WorkerState.SUCCESS:
            self.dismiss(True)
        elif event.state is WorkerState.ERROR and error is not None:
            if not isinstance(error, RoundtuiError):
                raise error
            self.dismiss(error)

    def on_unmount(self) -> None:
        """No key waits for a dialog that is closed."""
        self.have_read.set()

    def _told(self, words: str) -> None:
        if not self.have_read.is_set():
            self.query_one("#said", Static).update(f"{LOOKING} {words}   [Esc] stop")

    def _have(self, said: Said) -> None:
        today = getattr(self.app, "session", None)
        self._lines = effect_lines(said, inside(self.app.size.width), today.on if today is not None else None)
        self._shown_at = self._ticks()
        self.have_read.set()
        self._show()

    def _show(self, words: str = "") -> None:
        yes, last = ("[y] yes", "bold reverse" if self.chosen else "bold"), self._first + self._room
        shown, below = self._lines[self._first : last], len(self._lines) - last
        self.query_one("#changes", Static).update(Content("\n").join(Content.styled(*line) for line in shown))
        more = f"PgDn {below} more" if below > 0 else "PgUp reads back" if self._first else ""
        self.query_one("#said", Static).update(Content.assemble(yes, "   [Esc] no   ", words or more))

    def action_read(self, step: int) -> None:
        """More of what changes."""
        self._first = max(0, min(self._first + step * self._room, len(self._lines) - self._room))
        self._show()

    def action_choose(self, yes: bool) -> None:
        """Mark yes, or nothing: for a number pad."""
        self.chosen = yes
        self._show("Enter: yes" if yes else "")

    def action_take(self) -> None:
        """Enter is yes only where yes is marked."""
        if self.chosen:
            self.action_yes()
        else:
            self._show("Enter does nothing here")

    def action_yes(self) -> None:
        """Do it."""
        if self._ticks() - self._shown_at >= OPENING_SECONDS:
            self.dismiss(True)

    def action_no(self) -> None:
        """Change nothing."""
        self.dismiss(False)


class Save(Static, can_focus=True):
    """The last line of a form: it says what is saved, and Enter there saves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "screen.save", "Save", id="form.save", tooltip="Save what the lines say.")
    ]


class FormDialog(ModalScreen[T]):
    """A few named lines. Enter goes to the next line that is still blank, else to Save; Enter there saves.

    Args:
        ticks: Gives seconds, so that a key held from before is dropped.
        title: Its title.
        fields: Name, words and first value of each line.
        above: What stands between the title and the lines.
    """

    CSS_PATH = "style.tcss"
    FIRST = ""
    """Line to begin at; empty: the first."""
    HINT = ""
    """A further word that stands under the lines."""
    MOVES = "↑↓ lines   PgDn to Save"
    """What other keys do here."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "cancel", "Cancel", id="form.cancel", tooltip="Nothing is saved."),
        Binding("pagedown", "to_save", "To the last line", id="form.to-save", tooltip="To the line that saves."),
        Binding("tab,down", "app.focus_next", "Next", id="form.next", tooltip="The next line."),
        Binding("shift+tab,up", "app.focus_previous", "Back", id="form.before", tooltip="The line before."),
    ]

    def __init__(
        self, ticks: Callable[[], float], title: str, fields: Sequence[tuple[str, str, str]], *above: Widget
    ) -> None:
        super().__init__()
        self._ticks = ticks
        self._parts = (title, fields, above)
        self._at_first = {name: value.strip() for name, _, value in fields}
        """What stood in the lines at first."""
        self._last = ""
        """The line that was typed on last."""

    def compose(self) -> ComposeResult:
        """Title, lines, foot."""
        title, fields, above = self._parts
        with Vertical(classes="dialog"):
            yield Static(spoken_days(title), classes="title", markup=False)
            yield from above
            with Container(classes="lines"):
                for name, words, value in fields:
                    yield Static(words, classes="words", markup=False)
                    yield Input(value, id=name, compact=True, max_length=2000)
            yield from self.foot()

    def foot(self) -> ComposeResult:
        """The line that saves, one for a word, and the keys."""
        yield Save(id="save", markup=False)
        yield Static(id="said", markup=False)
        yield Static(f"Enter next   {self.MOVES}   Esc leave", classes="hint", markup=False)

    def on_mount(self) -> None:
        """Ready to type."""
        for one in self.query(Input):
            one.cursor_blink = False
        first = self.FIRST or next(iter(self._at_first))
        self.set_focus(self.query_one(f"#{first}"))
        self.say(self.HINT)
        self._say_what()

    def on_screen_suspend(self) -> None:
        """What it dimmed is dimmed by the dialog over it now."""
        self.styles.background = "transparent"

    def on_screen_resume(self) -> None:
        """It dims again."""
        self.styles.background = None

    def on_input_changed(self, event: Input.Changed) -> None:
        """The last line says what would be saved now."""
        event.stop()
        self._last = event.input.id or ""
        self.changed(self._last)
        self._say_what()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the next line that is still blank, else to the last one."""
        event.stop()
        self._last = event.input.id or ""
        if self.left(self._last):
            names = list(self._at_first)
            after = names[names.index(self._last) + 1 :]
            to = next((name for name in after if not self.typed(name)), "save")
            self.set_focus(self.query_one(f"#{to}"))

    def left(self, name: str) -> bool:  # noqa: ARG002
        """A line is left by Enter; False where it is to be looked at again."""
        return True

    def changed(self, name: str) -> None:
        """A line says something else."""

    def saves(self) -> str:
        """What Enter at the last line saves, in words."""
        return ""

    def save(self) -> None:
        """Save, or raise why not.

        Raises:
            RoundtuiError: It cannot be; it is said, and nothing is saved.
        """
        raise NotImplementedError

    def action_to_save(self) -> None:
        """To the line that saves, past all others."""
        for line in self.query(Save):
            self.set_focus(line)

    def action_save(self) -> None:
        """Save what the lines say."""
        try:
            self.save()
        except RoundtuiError as error:
            self.refuse(error)

    def action_cancel(self) -> None:
        """Save nothing; what was typed is asked about."""
        if all(self.typed(name) == value for name, value in self._at_first.items()):
            self.dismiss(None)
        else:
            self.ask("Leave without saving?", [("What is typed here is dropped.", False)], lambda: self.dismiss(None))

    def ask(self, title: str, said: Said | Callable[[], Said], then: Callable[[], object]) -> None:
        """Do something once it is answered by yes, or nothing is found to ask about."""
        AskDialog(title, said, self._ticks).put(self.app, then, self.refuse)

    def typed(self, name: str) -> str:
        """What stands in a line."""
        return self.query_one(f"#{name}", Input).value.strip()

    def day(self, name: str) -> date | None:
        """The day in a line; None where it is none."""
        try:
            return date.fromisoformat(self.typed(name))
        except ValueError:
            return None

    def wrong(self, name: str, message: str, hint: str = "") -> RefusedError:
        """What is wrong with a line, to be raised."""
        self._last = name
        return RefusedError(message, hint)

    def needed_day(self, name: str, words: str, last: date | None = None) -> date:
        """The day of a line.

        Args:
            name: The line.
            words: How messages call it.
            last: The last day that it may be; None: any.

        Raises:
            RefusedError: None is written there, or a later one.
        """
        day = self.day(name)
        if day is None:
            raise self.wrong(name, f"{words}: write a day as 2031-06-03")
        if last is not None and day > last:
            raise self.wrong(name, f"{words}: {day.isoformat()} is still to come")
        return day

    def whole(self, name: str, words: str, least: int = 0) -> int:
        """The whole number of a line, not below the least.

        Raises:
            RefusedError: None is written there.
        """
        typed = self.typed(name)
        if not (typed.isascii() and typed.isdecimal() and least <= int(typed) <= _MOST):
            raise self.wrong(name, f"{words}: a whole number from {least} to {_MOST}")
        return int(typed)

    def refuse(self, error: RoundtuiError) -> None:
        """Say what is wrong, and go to the line that it is about."""
        where = error.problems[0].where if isinstance(error, ProblemsError) and error.problems else ""
        to = next((name for name in (where, f"at-{where}", self._last) if name in self._at_first), "save")
        self.set_focus(self.query_one(f"#{to}"))
        self.say(fault_words(error))

    @property
    def room(self) -> int:
        """Columns inside."""
        return inside(self.app.size.width)

    def say(self, words: str | Sequence[str]) -> None:
        """Say something under the lines."""
        lines = [words] if isinstance(words, str) else words
        style = "bold $text-warning" if lines and lines[0].startswith(WARNS) else ""
        said = self.query_one("#said", Static)
        said.display = any(lines)
        said.update(Content.styled("\n".join(lines), style))

    def _say_what(self) -> None:
        for line in self.query(Save):
            line.update(Content(sanitize(spoken_days(f"Save {self.saves()}").rstrip(), 3 * WIDTH)))


class PagedDialog(FormDialog[T]):
    """A form about one of a few things; page keys choose which."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "move(-1)", "Before", id="form.above", tooltip="The one before."),
        Binding("pagedown", "move(1)", "After", id="form.below", tooltip="The one after."),
    ]
    marked = 0
    """Which one."""

    def choices(self) -> Sequence[object]:
        """What is chosen from."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """The first of them."""
        self._show()

    def action_move(self, step: int) -> None:
        """Mark another."""
        self.marked = max(0, min(len(self.choices()) - 1, self.marked + step))
        self._show()
        self._say_what()

    def _show(self) -> None:
        raise NotImplementedError


class LineDialog(FormDialog[str | None]):
    """One line, asked for again until it can be; Enter goes on.

    Args:
        title: What it is for.
        words: Name of the line.
        value: What stands in it at first; the first key replaces it.
        fault: Says what is wrong with a line; empty where nothing is.
        hint: A further word on how to write it.
    """

    def __init__(self, title: str, words: str, value: str = "", *, fault: Callable[[str], str], hint: str = "") -> None:
        super().__init__(lambda: 0.0, title, [("line", words, value)], *([Static(hint, markup=False)] if hint else []))
        self._fault = fault

    def foot(self) -> ComposeResult:
        """A line for a word, and the keys: no line saves."""
        yield Static(id="said", markup=False)
        yield Static("Enter go on   Esc cancel", classes="hint", markup=False)

    def left(self, name: str) -> bool:  # noqa: ARG002
        """Take it, or say what is wrong with it."""
        text = " ".join(self.typed("line").split())
        fault = self._fault(text) if text else "It cannot be blank"
        if fault:
            self.say(f"{WARNS}{fault}")
        else:
            self.dismiss(text)
        return False

    def action_cancel(self) -> None:
        """Nothing is selected."""
        self.dismiss(None)


class ErrorDialog(ModalScreen[None]):
    """What happened, and what to do next. It closes on Escape, or on Enter pressed alone.

    Whoever types on without looking at the screen presses digits, then Enter: that is dropped here, and said.

    Args:
        title: What did not work, in plain words.
        message: What happened, to which trap, block or file.
        hint: What to do next; may be empty.
        ticks: Gives seconds, so that a key held from before is dropped.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "Close", id="error.enter", tooltip="Close this."),
        Binding("escape", "close", "Close", id="error.close", tooltip="Close this."),
    ]

    def __init__(self, title: str, message: str, hint: str, ticks: Callable[[], float]) -> None:
        super().__init__()
        self._words = (title, message, hint)
        self._ticks = ticks
        self._shown_at = ticks()
        self._typed = ""

    def compose(self) -> ComposeResult:
        """Title, message, hint, and how to close it."""
        title, message, hint = (sanitize(words, 600) for words in self._words)
        with Vertical(classes="dialog"):
            yield Static(f"{WARNS}{title}", classes="title", markup=False)
            yield Static(message, id="message", markup=False)
            if hint:
                yield Static(f"Next: {hint}", classes="hint", markup=False)
            yield Static("Enter alone or Escape closes this.", id="close", classes="hint", markup=False)

    def on_key(self, event: events.Key) -> None:
        """Drop what is typed, and say so."""
        if event.character is not None and event.character.isprintable():
            self._typed += event.character

    def action_enter(self) -> None:
        """Back to where it happened, unless something was typed for a trap before this Enter."""
        if self._typed:
            words = f"{sanitize(self._typed, 20)} was typed here and is not saved. Enter alone or Escape closes this."
            self.query_one("#close", Static).update(words)
            self._typed = ""
        elif self._ticks() - self._shown_at >= OPENING_SECONDS:
            self.dismiss()

    def action_close(self) -> None:
        """Back to where it happened."""
        self.dismiss()


Rows = Sequence[tuple[str, str]]
MENU_HINT = "A digit or a letter chooses   Esc back"


class MenuDialog(ModalScreen[str | None]):
    """Two lists of a key and its words; gives the key that was pressed.

    Args:
        rows: What is done here, by digit.
        places: Places to go to, by letter.
    """

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,m", "back", "Back", id="menu.back", tooltip="Back.")]

    def __init__(self, rows: Rows, places: Rows) -> None:
        super().__init__()
        self._rows = (rows, places)
        self._keys = {key for part in self._rows for key, _ in part}

    def compose(self) -> ComposeResult:
        """Here at the left, places in two columns at the right."""
        rows, places = self._rows
        half = (len(places) + 1) // 2
        gap, widths = ("  ", (30, 22, 22)) if self.app.size.width >= 80 else (" ", (20, 18, 18))
        here = [f"{key}{gap}{words}" for key, words in rows] or ["no more keys here"]
        to = [[f"{key}{gap}{words}" for key, words in part] for part in (places[:half], places[half:])]
        lines = [
            "".join(padded(one, width) for one, width in zip(line, widths, strict=True))
            for line in (("Here", "Go to", ""), *zip_longest(here, *to, fillvalue=""))
        ]
        with Vertical(classes="menu"):
            yield Static("\n".join(line.rstrip() for line in lines), markup=False)
            yield Static(MENU_HINT, id="said", markup=False)

    def on_key(self, event: events.Key) -> None:
        """A key of one of the lists chooses; any other says that it is none."""
        key = (event.character or "").lower()
        if key in self._keys:
            event.stop()
            self.dismiss(key)
        elif key.isprintable() and key not in ("", "m"):
            self.query_one("#said", Static).update(f"{key} is not in the menu. {MENU_HINT}")

    def action_back(self) -> None:
        """Nothing is chosen."""
        self.dismiss(None)
