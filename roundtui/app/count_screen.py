"""A count field that takes the keys of a screen, and an Enter that may come from a held key: the walk and a sample."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from textual import events
from textual.timer import Timer
from textual.widgets import Static

from roundtui.app.keys import Action
from roundtui.app.screen import RoundtuiScreen
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.round.entry import HELD_SECONDS, EnterWatch, Pressed
from roundtui.store.session import Session

T = TypeVar("T")


class CountScreen(RoundtuiScreen[T]):
    """Keys go to a count field, one by one; an Enter that may come from a key held down waits a moment.

    Args:
        session: Who, where and when.
    """

    AUTO_FOCUS = "#count"
    HELD: ClassVar[str]
    """Said where Enter is held down."""
    NO_ANSWER: ClassVar[frozenset[str]] = frozenset()
    """Keys after which an Enter that waited was no answer."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.enters = EnterWatch(session.ticks())
        self.waiting: Timer | None = None

    def on_mount(self) -> None:
        """Show what is asked first."""
        self.parts = {widget.id or "": widget for widget in self.query(Static)}
        self.count = self.query_one(CountInput)
        self.set_focus(self.count)
        self._show()

    async def on_key(self, event: events.Key) -> None:
        """Send unhandled keys to the count field."""
        if self.focused is not self.count:
            await self.count._on_key(event)

    def do(self, action: Action) -> None:
        """A row of the menu is a key of the entry."""
        self._press(action.keys)

    def tell(self, words: str) -> None:
        """Words have their own line here."""
        if words:
            self._say(words)
            self._show()

    def press(self, key: str) -> None:
        """What a key of an entry does here; nothing where a dialog came in between."""
        if not self.is_active:
            return
        if key != "enter":
            if self.enters.other() and key not in self.NO_ANSWER:
                self._press("enter")
        elif not self._enter_is_meant(self.session.ticks()):
            self._show()
            return
        self._press(key)

    def _enter_is_meant(self, at: float) -> bool:
        found = self.enters.enter(at, at_stage=self._is_asked())
        if self.waiting is not None:
            self.waiting.stop()
        if found is Pressed.HELD:
            self._say(self.HELD)
        elif found is Pressed.DOUBTFUL:
            self.waiting = self.set_timer(HELD_SECONDS, self._enter_waited)
        return found is Pressed.MEANT

    def _enter_waited(self) -> None:
        """A moment after an Enter that could have been the first of many."""
        match self.enters.elapsed():
            case Pressed.MEANT:
                self._press("enter")
            case Pressed.HELD:
                self.tell(self.HELD)

    def _is_asked(self) -> bool:
        """Whether Enter would answer something that one held down must not."""
        raise NotImplementedError

    def _press(self, key: str) -> None:
        raise NotImplementedError

    def _say(self, words: str) -> None:
        raise NotImplementedError

    def _pasted(self) -> None:
        self.tell("Pasting is off here: type the count")
