"""Keys as terminals send them, turned into the keys an entry knows.

The field of a round: digits are the count, every other key acts without leaving the field.
"""

from __future__ import annotations

from collections.abc import Callable

from textual import events
from textual.widgets import Input

_PAD = "plus + add + asterisk * multiply * slash / divide / minus - subtract - question_mark ? equal ="
_POINT = "full_stop . decimal . comma , separator , newline enter"
_NAMED = dict(zip(*[iter(f"{_PAD} {_POINT}".split())] * 2, strict=True)) | {"space": " "}
_WAYS = "enter escape backspace up down left right home end insert delete pageup pagedown kp_begin tab shift+tab f3"
ACTING = frozenset(_WAYS.split())
"""Named keys that an entry answers; every other named key is the app's."""


def presses(key: str, character: str | None) -> tuple[str, ...]:
    """What an entry is to make of a key.

    Args:
        key: Name of the key, as Textual gives it.
        character: Character that came with it; pads send some keys without one.

    Returns:
        The presses it stands for: alt and a letter is Escape, then the letter. Empty for a key that is not an entry's.
    """
    if key.startswith("alt+"):
        last = key.removeprefix("alt+").removeprefix("shift+")
        return ("escape", *presses(last, last if len(last) == 1 else None))
    if key in _NAMED:
        return (_NAMED[key],)
    if len(key) == 1:
        return (key,)
    if key in ACTING:
        return (key,)
    if character is not None and len(character) == 1 and character.isprintable():
        return (character,)
    return ()


class CountInput(Input):
    """A field that hands each key on as it comes, in the order typed.

    All keys of an entry are dealt with here, in the field's own turn: a key that had to travel to a binding first
    could be overtaken by the digits of the next trap.

    Args:
        press: Notified each key of an entry.
        pasted: Notified that text was pasted, which is no entry.
        id: Id of the widget.
    """

    DEFAULT_CSS = """
    CountInput { width: 10; height: 1; border: none; padding: 0 1; }
    CountInput.-text { width: 1fr; }
    """

    def __init__(self, press: Callable[[str], None], pasted: Callable[[], None], *, id: str) -> None:  # noqa: A002
        super().__init__(id=id, compact=True, select_on_focus=False)
        self.cursor_blink = False
        self.takes_text = False
        """Whether every character is text just now."""
        self._press_key = press
        self._pasted = pasted

    def show(self, value: str, *, takes_text: bool) -> None:
        """Show what is typed, the cursor at its end."""
        if takes_text is not self.takes_text:
            self.takes_text = takes_text
            self.set_class(takes_text, "-text")
        if value != self.value:
            with self.prevent(Input.Changed):
                self.value = value
            self.cursor_position = len(value)

    @property
    def content_width(self) -> int:
        """That of the field while it takes a number: a digit then lays nothing out anew."""
        return super().content_width if self.takes_text else 8

    def check_consume_key(
        self,
        key: str,  # noqa: ARG002
        character: str | None,
    ) -> bool:
        """Whether a key is typed into the field rather than acting."""
        return character is not None and character.isprintable() and (self.takes_text or character.isdigit())

    async def _on_key(self, event: events.Key) -> None:
        keys = presses(event.key, event.character)
        if not keys and event.key not in self._bindings.key_to_bindings:
            return
        event.stop()
        event.prevent_default()
        if self.takes_text and keys[:1] not in (("enter",), ("escape",)):
            await self._edit(event)
            return
        for key in keys:
            self._press_key(key)

    async def _edit(self, event: events.Key) -> None:
        """A key of a line of text."""
        if event.character is not None and event.character.isprintable():
            self.insert_text_at_cursor(event.character)
            return
        for binding in self._bindings.key_to_bindings.get(event.key, ()):
            await self.run_action(binding.action)
            return

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        if not self.takes_text:
            self._pasted()
        elif event.text.strip():
            self.insert_text_at_cursor(" ".join(event.text.split()))
