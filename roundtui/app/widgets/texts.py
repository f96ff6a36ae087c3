"""A screen made of texts that stand below each other and are drawn anew as a whole."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from textual.app import ComposeResult
from textual.screen import Screen
from textual.widgets import Static

T = TypeVar("T")
_CLASSES = {"head": "bar", "keys": "keys"}


class TextsScreen(Screen[T]):
    """Texts named by ``PARTS``, from the top down; what they say is put there by ``_show``."""

    PARTS: ClassVar[tuple[str, ...]] = ()
    """Names of the texts."""

    def compose(self) -> ComposeResult:
        """The texts, empty; people's words are never markup."""
        for name in self.PARTS:
            yield Static(id=name, markup=False, classes=_CLASSES.get(name, ""))

    def on_mount(self) -> None:
        """Say what there is to say."""
        self._begin()

    # Textual calls a handler of a base as well as that of the class below it: this is what a screen changes instead.
    def _begin(self) -> None:
        self._show()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show()

    def _show(self) -> None:
        raise NotImplementedError
