"""What all screens have in common: opening one another by name, work beside the app, and the texts they are made of."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection, Coroutine, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from textwrap import wrap
from typing import Any, ClassVar, TypeVar

from rich.segment import Segment
from textual import events
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import BindingType
from textual.content import Content
from textual.screen import Screen
from textual.strip import Strip
from textual.timer import Timer
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from roundtui.app.keys import OPENS, Action, bindings, dead_key, keys_of, strip
from roundtui.app.threads import OPENING_SECONDS, Said, heeded
from roundtui.domain.text import cells, sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.store.session import Session

T = TypeVar("T")
APP = keys_of("desk", "app")
"""Keys of all places, the one that leaves last."""
PLACES = {action.shown.removeprefix("m "): action for action in keys_of("desk", "desk") if action.place}
"""What the menu leads to, by letter."""
REST_SECONDS = 0.1
"""How long no key is pressed before what is shown is looked up. [s]"""
READ = "what the screen shows"
"""Name of the work that keys wait for."""
BARS = {"head": "bar", "keys": "keys"}
"""Classes of the texts at the top and the bottom."""


def load(name: str) -> Any:
    """The class of a screen, loaded when it is first asked for: the one in its module that bears ``STOPPED``.

    Args:
        name: Its folder.
    """
    module = import_module(f"roundtui.app.screens.{name}.screen")
    own = (one for one in vars(module).values() if getattr(one, "__module__", "") == module.__name__)
    return next(one for one in own if "STOPPED" in getattr(one, "__dict__", ()))


def show_error(app: App[Any], title: str, error: RoundtuiError, ticks: Callable[[], float]) -> None:
    """Say what stopped, over the screen that it stopped."""
    from roundtui.app.dialogs.form import ErrorDialog

    said = [error.message, "; ".join(str(one) for one in getattr(error, "problems", ())[:3])]
    app.push_screen(ErrorDialog(title, ": ".join(filter(None, said)), error.hint, ticks))


class RoundtuiScreen(Screen[T]):
    """A screen on a session.

    Args:
        session: Who, where and when.
    """

    # At the app they would be looked up by name in a table of all characters, which is most of a megabyte.
    BINDINGS: ClassVar[list[BindingType]] = bindings(APP[:-1])
    STOPPED: ClassVar[str] = ""
    """What is said where it cannot be opened; each screen that is opened by its name has its own."""
    KEYS: ClassVar[tuple[Action, ...]] = ()
    """What its keys do; bindings, strip, menu and help follow from it."""
    writes = False
    """Whether what keys wait for is written, and so is not stopped half-way: Escape waits too."""
    KEYS_FIRST: ClassVar[bool] = False
    """Whether they act before the focused widget sees them."""

    def __init_subclass__(cls, **more: Any) -> None:
        if "KEYS" in cls.__dict__:
            cls.BINDINGS = bindings(cls.KEYS, priority=cls.KEYS_FIRST)
        super().__init_subclass__(**more)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._at_foot = ""
        """What was just said above the keys; the next key takes it away."""
        self._jobs: dict[str, tuple[Callable[[Any], None], str, Callable[[], object] | None]] = {}
        """What is done beside the app: whom its result is told, and what is said where it stops."""
        self._resting: Timer | None = None
        self.have_read = asyncio.Event()
        """Not set while keys wait for what the screen shows."""
        self.have_read.set()

    # --- other screens -----------------------------------------------------------------------------------------------

    async def open_screen(
        self, name: str, *asked: object, done: Callable[[Any], None] | None = None, **more: object
    ) -> None:
        """Open a screen over this one.

        Args:
            name: Its folder.
            asked: What it is asked to show.
            done: Told what it gives back; None: ``came_back`` is called.
            more: The same, by name.
        """
        opened = load(name)
        with self.saying(opened.STOPPED):
            screen = opened(self.session, *asked, **more)
            await self.app.push_screen(screen, done or (lambda _: self.came_back()))

    def open_soon(self, name: str, *asked: object, done: Callable[[Any], None] | None = None) -> None:
        """The same, from where nothing can be waited for."""
        self.soon(self.open_screen(name, *asked, done=done))

    def soon(self, work: Coroutine[Any, Any, object]) -> None:
        """Do what opens a screen or a dialog; keys typed behind it wait until that stands."""
        self.app.run_worker(work, group=OPENS, exclusive=True)

    def have_due(self) -> None:
        """What is due at the traps has been read by the desk below."""

    def _show(self) -> None:
        """Bring the lines up to what is so, and to how many there is room for; a page sees to that by itself."""

    def came_back(self) -> None:
        """A screen that was opened from here is closed: it may have put something on record."""

    def show_error(self, title: str, error: RoundtuiError) -> None:
        """Say what stopped."""
        show_error(self.app, title, error, self.session.ticks)

    @contextmanager
    def saying(self, title: str) -> Iterator[None]:
        """Say what stops what is done inside; the rest of it is left undone."""
        try:
            yield
        except RoundtuiError as error:
            self.show_error(title, error)

    def ask(self, title: str, said: Said | Callable[[], Said], then: Callable[[], object]) -> None:
        """Do something once it is answered by yes, or nothing is found to ask about.

        Args:
            title: What is asked.
            said: What changes, and whether each sentence is to be marked; or what looks that up in a thread.
            then: Does it.
        """
        from roundtui.app.dialogs.form import AskDialog

        AskDialog(title, said, self.session.ticks).put(self.app, then, partial(self.show_error, "Nothing was changed"))

    # --- keys --------------------------------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """The strip, anew where the page gets more lines than are in view; what else there is the screen puts there."""
        self.put_strip()
        for page in self.query("#page"):
            self.watch(page, "show_vertical_scrollbar", self.put_strip, init=False)

    def on_resize(self) -> None:
        """The strip is as wide as the terminal."""
        self.put_strip()

    async def _on_key(self, event: events.Key) -> None:
        """A letter acts in either case; one that does nothing here says what to press."""
        key = event.character or ""
        if event.key in self.active_bindings or not key.isprintable() or not key:
            self.tell("")
        elif key.lower() in self.active_bindings:
            event.stop()
            found = self.active_bindings[key.lower()]
            await self.app.run_action(found.binding.action, found.node)
        elif self.KEYS:
            event.stop()
            self.tell(dead_key(self.KEYS, key))

    def tell(self, words: str) -> None:
        """Say something at the foot, until the next key."""
        if words != self._at_foot:
            lines, self._at_foot = self.height, words
            self.put_strip()
            if self.height != lines and self.query("#keys"):
                self._show()

    @property
    def reads_on(self) -> bool:
        """Whether the page has more lines than are in view."""
        return any(page.show_vertical_scrollbar for page in self.query("#page"))

    def idle(self) -> str:
        """Names of keys that do nothing now, parted by blanks."""
        return ""

    def keys_here(self) -> Sequence[Action]:
        """The keys as the strip names them now: none that does nothing."""
        awake = [one for one in self.KEYS if self.reads_on or not one.act.startswith("scroll")]
        return [one for one in awake if one.id.partition(".")[2] not in self.idle().split()]

    def put_strip(self) -> None:
        """The lines at the foot: what was just said, and the keys that matter; what is under way hides some."""
        if not self.query("#keys"):
            return
        lines = [Content(line) for line in strip(self.keys_here(), self.width)]
        if self._at_foot:
            said = Content.styled(sanitize(f" {self._at_foot}", self.width), "bold")
            lines[: self.height == self.size.height] = [said]
        self.put("keys", Content("\n").join(lines))

    def action_menu(self) -> None:
        """What has no key of its own, by digit, and the places, by letter."""
        from roundtui.app.dialogs.form import MenuDialog

        rows = [(str(one.menu), one.words) for one in self.KEYS if one.menu]
        self.app.push_screen(MenuDialog(rows, [(key, one.words) for key, one in PLACES.items()]), self._chosen)

    def _chosen(self, key: str | None) -> None:
        if key in PLACES:
            self.action_place(PLACES[key].place)
        elif key is not None:
            self.do(next(one for one in self.KEYS if str(one.menu) == key))

    def commands(self) -> Iterable[SystemCommand]:
        """What the palette finds beside the keys: rows of the menu, places, and labels."""
        known = self.session.programme
        blocks = ((one.block, f"{one.block} {one.name}: block") for one in known.blocks.values())
        farms = ((one.farm, f"{one.farm} {one.name}: farm") for one in known.farms.values())
        for action in self.KEYS:
            if action.menu:
                yield SystemCommand(action.words.capitalize(), action.help, partial(self.do, action))
        for place in PLACES.values():
            if place not in self.KEYS:
                yield SystemCommand(place.words.capitalize(), place.help, partial(self.action_place, place.place))
        for label, words in (*((one, f"{one}: trap") for one in known.hangings), *blocks, *farms):
            go = partial(self.call_later, self.open_label, label)
            yield SystemCommand(sanitize(words, 60), "Go there.", go, discover=False)

    def do(self, action: Action) -> None:
        """Do what a row of the table says."""
        self.soon(self.run_action(action.act))

    def action_place(self, name: str) -> None:
        """Open a place from here, on the route that is looked at."""
        routes = list(self.session.programme.routes)
        route = getattr(self, "route", None) or (routes[0] if routes else "")
        if name in ("sheet", "replay") and not route:
            self.tell("No route is set up yet")
            return
        self.open_soon(name, *{"sheet": (route,), "replay": (route,), "sample": ("", route)}.get(name, ()))

    async def action_name(self) -> None:
        """Ask who is at the keys, until somebody is; the same person goes on from here."""
        from roundtui.app.dialogs.form import LineDialog

        named, hint = self.session.scout, "The name stands on every entry made from here on."

        def have(name: str | None) -> None:
            if name:
                self.session.name_scout(name)
                self.came_back()
                self.tell(f"At the keys from here on: {sanitize(name, 40)}")
            elif not named:
                self.soon(self.action_name())

        dialog = LineDialog("Who is scouting?", "Name", named, fault=lambda _: "", hint=hint)
        await self.app.push_screen(dialog, have)

    async def ask_label(self, title: str, labels: Collection[str], go: Callable[[str], object]) -> None:
        """Ask for one of some labels, in either case of letters.

        Args:
            title: What it is for.
            labels: Those there are.
            go: Notified the one that was chosen.
        """
        from roundtui.app.dialogs.form import LineDialog
        from roundtui.domain.round.checks import in_case, nearest

        def fault(text: str) -> str:
            known = in_case(text, labels) in labels
            return "" if known else f"{sanitize(text, 20)} is not among them. {nearest(text, labels)}".rstrip()

        def chosen(text: str | None) -> None:
            if text:
                go(in_case(text, labels))

        await self.app.push_screen(LineDialog(title, "Label", fault=fault), chosen)

    async def action_go_to(self) -> None:
        """Go to a trap, a block or a farm: its season, or the rows of its farm."""
        known = self.session.programme
        labels = dict.fromkeys((*known.hangings, *known.blocks, *known.farms))
        await self.ask_label("Go to a trap, block or farm", labels, self.open_label)

    def open_label(self, label: str) -> None:
        """Open what a label names: the season of a trap or block, the row of a farm."""
        programme = self.session.programme
        if label in programme.farms:
            self.open_soon("register", "farms", label)
            return
        hangings = programme.hangings.get(label)
        if hangings:
            self.open_soon("season", hangings[-1].block, hangings[-1].species, label)
        else:
            self.open_soon("season", label)

    def show_keys(self) -> None:
        """Show the keys of this screen."""
        self.soon(self.app.run_action("app.keys"))

    def action_scroll_page(self, step: int) -> None:
        """Read on in the page of a screen that has one, or back."""
        page = self.query_one("#page")
        page.scroll_relative(y=step * max(1, page.size.height - 2), animate=False)

    def action_back(self) -> None:
        """One step back."""
        self.dismiss()

    # --- work beside the app -----------------------------------------------------------------------------------------

    def aside(
        self,
        name: str,
        work: Callable[[], object],
        done: Callable[[Any], None],
        title: str,
        *,
        stopped: Callable[[], object] | None = None,
        told: Callable[[str], object] = lambda _: None,
    ) -> Worker[Any]:
        """Do something in a thread of its own, until the screen is left; the same asked for again takes its place.

        Args:
            name: Name of the work.
            work: The work; it touches no widget and no connection of the app.
            done: Notified the result.
            title: What is said where the work stops.
            stopped: Notified then as well.
            told: Told how far the work has come.
        """
        self._jobs[name] = (done, title, stopped)
        beside = heeded(work, partial(self.call_later, told))
        return self.run_worker(beside, name=name, group=name, thread=True, exclusive=True, exit_on_error=False)

    def at_rest(self, then: Callable[[], object] | None) -> None:
        """Do something, or nothing, where a key that is held down rests; what was to be done before is not."""
        if self._resting is not None:
            self._resting.stop()
        self._resting = self.set_timer(REST_SECONDS, then) if then else None

    def read(
        self, work: Callable[[], object], done: Callable[[Any], None], title: str, stopped: Callable[[], object]
    ) -> None:
        """Read what this screen shows, in a thread; keys wait for it, Escape leaves it.

        Args:
            work: The work, as above.
            done: Told the result.
            title: What is said where the work stops.
            stopped: Called then as well.
        """
        self.have_read.clear()
        self.call_after_refresh(self.aside, READ, work, done, title, stopped=stopped)

    def read_record(self, part: str, then: Callable[[], object]) -> None:
        """Go on when the record is known; where it takes long it is read as above, and one of the texts says so."""

        def have(take_over: Callable[[], object]) -> None:
            take_over()
            then()

        if self.session.reads_long:
            self.put(part, "  Reading what is on record …")
            self.read(self.session.read_history, have, self.STOPPED, self.dismiss)
        else:
            then()

    def on_unmount(self) -> None:
        """No key waits for a screen that is closed."""
        self.have_read.set()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was worked out, or say why it was not."""
        if event.worker.name not in self._jobs:
            return
        reading = (one for one in self.workers if one.node is self and one.name == READ)
        # What is read anew takes the place of what was still read: keys wait for that.
        if event.worker.name == READ and all(one.is_finished for one in reading):
            self.have_read.set()
            self.writes = False
            self.tell("")
        done, title, stopped = self._jobs[event.worker.name]
        if event.state is WorkerState.SUCCESS:
            done(event.worker.result)
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            if stopped is not None:
                stopped()
            if not isinstance(event.worker.error, RoundtuiError):
                raise event.worker.error
            self.show_error(title, event.worker.error)

    # --- texts -------------------------------------------------------------------------------------------------------

    def put(self, part: str, words: Content | str) -> None:
        """Put words into one of the texts; people's words are never markup."""
        self.query_one(f"#{part}", Static).update(Content(words) if isinstance(words, str) else words)

    @property
    def width(self) -> int:
        """Columns to write in."""
        return max(40, self.size.width)

    @property
    def height(self) -> int:
        """Lines to write in: one fewer while something is said above the keys, and not in their place."""
        return self.size.height - (self._at_foot[-1:] not in ("", "…"))

    def put_said(self, words: str, lines: int = 2) -> None:
        """What was done, above the strip: so many lines at most, each set in."""
        said = wrap(sanitize(words), self.width - 4, max_lines=lines, placeholder=" …")
        self.put("said", Content.styled("\n".join(f"  {line}" for line in said), "bold"))

    def put_head(self, left: str, right: str = "") -> None:
        """The title: where one is, and at the right the day and who is at the keys."""
        session = self.session
        day, who = spoken_day(session.on, session.on), sanitize(session.scout, 48) or "nobody named"
        whole = right or f"{day} {session.on.year}   {who} "
        # The year goes first, then the day, then what stands behind the name of the place, then that name.
        short = whole.replace(f" {session.on.year} ", " ")
        rights = (whole, short, "" if short.strip() == day else short if right else f"{who} ")
        lefts = [left]
        while "   " in lefts[-1]:
            lefts.append(lefts[-1].rpartition("   ")[0])
        lefts += [rest for name, _, rest in [lefts[-1].partition("  ")] if rest and " " not in name]
        room = ((one, other) for one in lefts for other in rights if cells(one + other) + 2 + bool(other) <= self.width)
        left, right = next(room, (lefts[-1], rights[-1]))
        left = sanitize(f" {left}", max(1, self.width - cells(right) - 1))
        self.put("head", sanitize(left + " " * max(1, self.width - cells(left) - cells(right)) + right, self.width))


class Foot(Static):
    """The lines of keys; in 16 colours, where no ground sets them off, the first is drawn as the title of a rule."""

    def render_line(self, y: int) -> Strip:
        """One of them."""
        drawn = super().render_line(y)
        if y or not self.app.current_theme.ansi:
            return drawn
        said, style = drawn.text.strip(), next(iter(drawn)).style
        words = f"{'─' if cells(said) + 3 > self.size.width else '─ '}{said} " if said else ""
        return Strip([Segment(words + "─" * (self.size.width - cells(words)), style)]).crop(0, self.size.width)


def texts(*names: str) -> ComposeResult:
    """Empty texts of these names."""
    for name in names:
        yield (Foot if name == "keys" else Static)(id=name, markup=False, classes=BARS.get(name, ""))


class TextsScreen(RoundtuiScreen[T]):
    """Texts named by ``PARTS``, from the top down; what they say is put there by ``_show``."""

    PARTS: ClassVar[tuple[str, ...]] = ()
    """Names of the texts."""

    def compose(self) -> ComposeResult:
        """The texts, empty."""
        yield from texts(*self.PARTS)

    def on_mount(self) -> None:
        """Say what there is to say."""
        self._begin()

    said = ""
    """What was done last, until something else is said."""

    def say(self, words: str) -> None:
        """Say what was done."""
        self.said = words
        self._show()

    # Textual calls a handler of a base as well as that of the class below it: this is what a screen changes instead.
    def _begin(self) -> None:
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show()


class ListScreen(TextsScreen[T]):
    """Rows of which one is marked, and a word on what was done last.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.marked = 0
        self.shown_at = 0.0
        """When what its digits mean was shown."""

    def on_key(self, event: events.Key) -> None:
        """A digit chooses, where it means something and that has been seen."""
        if event.character is None or not event.character.isdecimal() or not self._choices():
            return
        event.stop()
        event.prevent_default()
        seen = self.session.ticks() - self.shown_at >= OPENING_SECONDS
        if seen and 0 < int(event.character) <= self._choices():
            self._choose(int(event.character))

    def _choices(self) -> int:
        return 0

    def _choose(self, at: int, /) -> None:
        """Take the choice of that number."""

    def _rows(self) -> Sequence[Any]:
        raise NotImplementedError

    def keys_here(self) -> Sequence[Action]:
        """No key marks another row where there is none."""
        return [one for one in super().keys_here() if len(self._rows()) > 1 or not one.act.startswith("mark")]

    @property
    def row(self) -> Any:
        """The marked row; None where there is none."""
        rows = self._rows()
        return rows[min(self.marked, len(rows) - 1)] if rows else None

    def action_mark(self, step: int) -> None:
        """Another row."""
        self.marked += step
        self.say("")

    def say(self, words: str) -> None:
        """Say what was done, until another row is marked; there may be fewer rows now."""
        self.marked = max(0, min(len(self._rows()) - 1, self.marked))
        super().say(words)
        self.put_strip()
