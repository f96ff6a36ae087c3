"""The app: its samples, its keys, and what is done when something goes wrong."""

from __future__ import annotations

import asyncio
import gc
import os
import select
import sys
import threading
from collections import deque
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path, PurePath
from typing import ClassVar, TypeVar

from textual import events
from textual.app import App, SystemCommand
from textual.binding import BindingType
from textual.driver import Driver
from textual.screen import Screen
from textual.theme import Theme
from textual.timer import Timer
from textual.worker import Worker

from roundtui.app.drawing import Shown, changes_only
from roundtui.app.keys import OPENS, bindings
from roundtui.app.screen import APP, show_error
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.themes import dress, fit, next_theme
from roundtui.app.widgets.count_input import CountInput, presses
from roundtui.errors import Problem, RoundtuiError
from roundtui.store.apart import apart
from roundtui.store.session import THEME, Session, open_session

T = TypeVar("T")
MEET_AFTER = 3.0
"""How long after the first screen the laptop first meets others, where it does so by itself. [s]"""
MEET_APART = 60.0
"""Least time between two meetings that nobody waited for. [s]"""
REST_SECONDS = 0.2
"""How long a window keeps its size before it is drawn once more. [s]"""
REST = asyncio.Event()
REST.set()
"""Of a screen that reads nothing."""
LEAVES = ("escape", "ctrl+q", "ctrl+c")
"""Keys that wait for nothing that is read."""
SLOW_SECONDS = 1.0
"""How long an opening takes before something is said of it. [s]"""
OPENING = "Opening the record: once a day it is checked and a copy is kept (Ctrl-C stops)"
KEY_SECONDS = 2.0
"""No longer than this does a key wait for what the one before it sets off. [s]"""


class TypedApp(App[T]):
    """An app that deals with keys one by one, however fast they are typed."""

    def __init__(self) -> None:
        super().__init__()
        self._typed_ahead: deque[events.Key] = deque()
        self._dealing: asyncio.Task[None] | None = None
        self._moved = asyncio.Event()
        """Whether another screen is shown, or work that a key set off is done, since somebody began to wait for it."""

    def on_mount(self) -> None:
        """Hear of every other screen, and see where the terminal is gone."""
        self.screen_change_signal.subscribe(self, lambda _: self._moved.set(), immediate=True)
        self._quiet = self.set_interval(5, self._collect)
        if not self.is_headless and hasattr(select, "poll"):
            self.set_interval(2, self._leave_where_hung_up)

    def _leave_where_hung_up(self) -> None:
        """Leave where nobody can type any more: a process of another session than its terminal's gets no signal."""
        poll = select.poll()
        poll.register(getattr(self._driver, "fileno", 0), 0)
        if poll.poll(0):
            self.exit()

    def on_worker_state_changed(self) -> None:
        """Work that a key set off began, is done, or was given up."""
        self._moved.set()

    async def on_event(self, event: events.Event) -> None:
        """Look at a key when all that the one before it set off is dealt with, however fast they are typed.

        A key often acts by a message, as Enter in a line of a form does, or by opening a dialog. What was typed behind
        it would otherwise land in the line or on the screen that it leaves.
        """
        if isinstance(event, events.Key) and event.key == "ctrl+j":
            event = events.Key("enter", "\r")  # Some number pads send it.
        if not isinstance(event, events.Key) or event.is_forwarded:
            await super().on_event(event)
        elif self._waits(event):
            self._typed_ahead.append(event)
            if self._dealing is None:
                self._dealing = asyncio.create_task(self._deal(self.screen, self._opening()))
        else:
            # A count field deals with its digits in their order by itself.
            alone = isinstance(self.focused, CountInput) and event.key.isdigit()
            before = self.screen, self._opening()
            await self._hand_on(event)
            if not alone and self._dealing is None:
                self._dealing = asyncio.create_task(self._deal(*before))

    async def _hand_on(self, event: events.Key) -> None:
        """A count field answers its keys itself: nothing above it is asked first whether it has a use for them."""
        self._quiet.reset()
        if isinstance(self.focused, CountInput) and presses(event.key, event.character):
            self.focused.post_message(event)
        else:
            if self.focused is None and hasattr(self.screen, "tell"):
                self.screen.tell("")  # What was said stands until the next key, also one that the screen is bound to.
            await super().on_event(event)

    def _collect(self) -> None:
        """Let go of what closed screens held, where there may be some and nobody types or waits."""
        if gc.get_count()[2] >= 10 and all(one.is_finished for one in self.workers):
            gc.collect()

    def _waits(self, event: events.Key) -> bool:
        """Whether a key waits for another one, or for what its screen reads; Escape waits for neither then."""
        reading = not getattr(self.screen, "have_read", REST).is_set()
        if reading and event.key in LEAVES and not getattr(self.screen, "writes", False):
            self._typed_ahead.clear()
            return False
        return reading or self._dealing is not None

    def _opening(self) -> set[Worker[object]]:
        return {one for one in self.workers if one.group == OPENS and not one.is_finished}

    async def _deal(self, screen: Screen[object], opening: set[Worker[object]]) -> None:
        try:
            while True:
                with suppress(TimeoutError):
                    async with asyncio.timeout(KEY_SECONDS):
                        await self._dealt_with(screen, opening)
                ahead, writes = self._typed_ahead, getattr(self.screen, "writes", False)
                if not ahead or ahead[0].key not in LEAVES or writes:
                    await getattr(self.screen, "have_read", REST).wait()
                if not self._typed_ahead:
                    return
                screen, opening = self.screen, self._opening()
                await self._hand_on(self._typed_ahead.popleft())
        except Exception as error:
            self._handle_exception(error)
        finally:
            self._dealing = None

    async def _dealt_with(self, screen: Screen[object], opening: set[Worker[object]]) -> None:
        """Wait for a key on its way from the field up to the app, for the message it sends, and for what it opens."""
        await self._messages()
        await self._messages()
        waiting = self._opening() - opening
        while self.screen is screen and any(not one.is_finished for one in waiting):
            self._moved.clear()
            await self._moved.wait()
        if waiting or self.screen is not screen:
            await self._messages()

    async def _messages(self) -> None:
        """Wait for the messages that are under way now from the focused widget up to the app."""
        for node in (self.focused or self.screen).ancestors_with_self:
            done = asyncio.Event()
            if node.call_later(done.set):
                await done.wait()


class RoundtuiApp(TypedApp[int]):
    """One scouting folder on one day.

    Args:
        session: Who, where and when.
        problems: What kept newer set-up files from being loaded.
    """

    TITLE = "roundtui"
    # A style file that comes with a screen makes Textual parse all of them anew: 10 ms at the first trap, measured.
    CSS_PATH: ClassVar[list[str | PurePath]] = ["base.tcss", "screens/desk/style.tcss", "screens/walk/style.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = bindings(APP[-1:], priority=True)
    """It leaves from a dialog too; the other keys of all places are the screens'."""
    ENABLE_COMMAND_PALETTE = True

    def __init__(self, session: Session, problems: Sequence[Problem] = ()) -> None:
        super().__init__()
        self.session = session
        self.problems = tuple(problems)
        dress(self, session.kept(THEME))
        self.report: Path | None = None
        """Where a crash was written down."""
        self._drawn = False
        self._at_rest: Timer | None = None
        self._meeting = False
        self._met_at: float | None = None
        self._failed = ""

    def on_resize(self) -> None:
        """Draw everything once more when the window has come to rest.

        What was on its way to a window of the old size may have fallen on the new one, and only what changes is drawn
        again by itself.
        """
        if self._at_rest is not None:
            self._at_rest.stop()
        self._shown_cells.forget()
        if self._drawn:
            self._at_rest = self.set_timer(REST_SECONDS, self._draw_anew)
        self._drawn = True

    def get_driver_class(self) -> type[Driver]:
        """Send what has changed, and nothing that stands there already."""
        self._shown_cells = Shown()
        return changes_only(super().get_driver_class(), self._shown_cells)

    def _draw_anew(self) -> None:
        self._shown_cells.forget()
        for screen in self.screen_stack[-1:]:  # None is left while the app is being closed.
            screen.refresh()

    def on_ready(self) -> None:
        """The first screen stands."""
        if not self.is_headless:
            # From here on garbage is collected, but not among what is there for good.
            for act in (gc.collect, gc.freeze, gc.enable):
                self.set_timer(0.05, act)
        if self.problems:
            more = f", and {len(self.problems) - 1} more" if len(self.problems) > 1 else ""
            words = f"{self.problems[0]}{more}"
            hint = "correct the file and open the folder again; until then the set-up is as it was before"
            error = RoundtuiError(words, hint)
            show_error(self, "Newer set-up files were not loaded", error, self.session.ticks)

        if self.session.regular is not None:
            self.session.meet = self.meet
            self.set_timer(MEET_AFTER, self.meet)
            self.set_interval(60, self._meet_if_due)

    # --- meeting other laptops ---------------------------------------------------------------------------------------

    def meet(self) -> None:
        """Exchange with others where this folder does so by itself, in a thread that nobody waits for."""
        regular, ticks = self.session.regular, self.session.ticks()
        if regular is None or self._meeting or (self._met_at is not None and ticks - self._met_at < MEET_APART):
            return
        self._meeting, self._met_at = True, ticks
        threading.Thread(target=self._meet, args=(regular.place,), daemon=True).start()

    def _meet_if_due(self) -> None:
        regular = self.session.regular
        if regular is not None and self.session.ticks() - (self._met_at or 0) >= regular.minutes * 60:
            self.meet()

    def _meet(self, place: str) -> None:
        words, failed, new = "", "", False
        try:
            asked = str(self.session.folder), place, self.session.device, self.session.clock().isoformat()
            (met,) = apart("roundtui.store.hub.regular:one_pass", *asked)
            words, new = met.words, met.new
        except RoundtuiError as error:
            failed = error.message
        with suppress(RuntimeError):  # The app is closed by now.
            self.call_later(self._have_met, words, failed, new)

    def _have_met(self, words: str, failed: str, new: bool) -> None:
        self._meeting = False
        if words or (failed and failed != self._failed):
            self.notify(words or failed, severity="warning" if failed else "information", markup=False)
        self._failed = failed
        if new:
            self.session.grown = True
            if isinstance(self.screen, DeskScreen):
                self.screen.refill()

    def get_theme(self, theme_name: str) -> Theme | None:
        """One of the samples. Asked some hundred times while a screen opens, so it copies no table first."""
        return self._registered_themes.get(theme_name)

    def get_default_screen(self) -> Screen[None]:
        """The desk is what the app opens on."""
        return DeskScreen(self.session)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The palette lists what the keys of this screen do, and the places; it finds traps, blocks and farms."""
        yield from getattr(screen, "commands", tuple)()
        for binding in screen.active_bindings.values():
            name = (binding.binding.id or ".back").rpartition(".")[2]
            if binding.enabled and name not in ("back", "up", "down") and binding.node in (screen, self):
                action, node = binding.binding.action, binding.node
                yield SystemCommand(
                    binding.binding.description.capitalize(),
                    binding.binding.tooltip,
                    lambda action=action, node=node: self.call_later(self.run_action, action, node),
                )

    async def action_keys(self) -> None:
        """The keys of this place on one screen."""
        from roundtui.app.screens.help.screen import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            await self.push_screen(HelpScreen(self.session, getattr(self.screen, "KEYS", ())))

    async def action_guide(self) -> None:
        """How a round goes."""
        from roundtui.app.screens.help.screen import GuideScreen

        if not isinstance(self.screen, GuideScreen):
            await self.push_screen(GuideScreen(self.session))

    def action_theme(self) -> None:
        """The next sample, kept for the next time."""
        self.theme = next_theme(self.theme, list(self.available_themes))
        self.session.keep(THEME, self.theme)

    # --- crashes -----------------------------------------------------------------------------------------------------

    def _handle_exception(self, error: Exception) -> None:
        """Write a report and leave in plain words; what was entered is on the disk already."""
        if self.is_headless:
            super()._handle_exception(error)
            return
        from roundtui.app.crash import write_report

        self._return_code = 1
        if self._exception is None:
            self._exception = error
            self._exception_event.set()
            self.report = write_report(self.session.folder, error, self.session.clock())
        self._close_messages_no_wait()


def run_app(folder: Path, *, on: date | None, scout: str | None) -> int:
    """Open the app on a scouting folder.

    Args:
        folder: The scouting folder.
        on: The day to stand on; None: today.
        scout: Who is at the keys; None: the one kept from before, else the app asks.

    Returns:
        The exit code.

    Raises:
        RoundtuiError: The folder or its store cannot be used.
    """
    said = threading.Timer(SLOW_SECONDS, print, [OPENING], {"file": sys.stderr, "flush": True})
    said.start()
    try:
        session, problems = open_session(folder, on=on, scout=scout)
    finally:
        said.cancel()
    try:
        os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
        # To go through all that is kept of many traps takes a second, which no key is to wait for: see ``_collect``.
        gc.set_threshold(700, 10, 1_000_000)
        app = RoundtuiApp(session, problems)
        fit(app, os.environ, session.kept(THEME))
        app.run()
    finally:
        session.close()
    if app.report is not None or app.return_code:
        from roundtui.app.crash import say_crashed

        return say_crashed(app.report)
    return app.return_value or 0
