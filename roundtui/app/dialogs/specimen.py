"""What else was in a trap: a kind by its letter, how many, a vial, and whether they were counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.app.screens.vials.specimens import SpecimenDesk
from roundtui.domain.orchard_entries import Specimen
from roundtui.domain.round.specimens import KINDS, Kind, likenesses
from roundtui.domain.text import plain
from roundtui.errors import ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from datetime import date

_KEYS = "Enter: next line, at the last saves   Escape cancels"
_ORDER = ("kind", "number", "vial", "counted")


class SpecimenDialog(FieldsDialog[str | None]):
    """Four short lines; it is on record before the dialog closes.

    Args:
        desk: Where it is recorded.
        trap: Label of the trap.
        read_on: Day of the visit.
        counted: Moths typed at the trap where its count is not on record yet.
    """

    CSS_PATH = "../screens/vials/style.tcss"
    FIRST = "kind"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="specimen.call-off", tooltip="Nothing is recorded."),
    ]

    def __init__(self, desk: SpecimenDesk, trap: str, read_on: date, counted: int | None) -> None:
        super().__init__()
        self._desk = desk
        self._trap = trap
        self._read_on = read_on
        self._counted = counted
        self._kind: Kind | None = None

    def compose(self) -> ComposeResult:
        """Kinds with their letters, then the lines."""
        hanging = self._desk.session.programme.hangings.get(self._trap, ())
        species = hanging[-1].species if hanging else ""
        kinds = "  ".join(f"{kind.key} {kind.word}" for kind in KINDS.values())
        alike = ", ".join(plain(one.name, 40) for one in likenesses(species))
        with Vertical(classes="dialog"):
            yield Static(
                f"Other catch in {plain(self._trap, 20)}, {plain(species, 12)}, {self._read_on}",
                classes="title",
                markup=False,
            )
            yield Static(kinds, markup=False)
            yield Static(
                f"Easily mistaken for {plain(species, 12)}: {alike}" if alike else "", id="alike", markup=False
            )
            yield from self.field("kind", "Kind, a letter", "")
            yield from self.field("number", "How many", "1")
            yield from self.field("vial", "Vial, blank: none", "")
            yield from self.field("counted", "Counted? y or n", "")
            yield Static(_KEYS, id="said", markup=False)

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name before it."""
        with Horizontal(classes="row"):
            yield from super().field(name, words, value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """A letter is a kind, and goes on to the number."""
        event.stop()
        if event.input.id != "kind" or not event.value.strip():
            return
        # A number typed right behind the letter may reach this line before the next one has the focus.
        typed = event.value.strip().casefold()
        key = typed.rstrip("0123456789")
        self._kind = next((kind for kind in KINDS.values() if key in (kind.key, kind.word)), None)
        if self._kind is None:
            self.say(f"! No kind has the letter {plain(key, 10)}")
            return
        self.say(f"{self._kind.word.capitalize()}.   {_KEYS}")
        self.query_one("#vial", Input).value = self._desk.vial() if self._kind.doubtful else ""
        self.query_one("#counted", Input).value = "" if self._kind.doubtful else "n"
        if typed != key:
            event.input.value = key
            number = self.query_one("#number", Input)
            number.value = typed[len(key) :]
            self.set_focus(number)
            number.cursor_position = len(number.value)
        elif len(key) == 1:
            self.set_focus(self.query_one("#number"))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the next line; at the last, record it or say what cannot be."""
        event.stop()
        if event.input.id != _ORDER[-1]:
            self.set_focus(self.query_one(f"#{_ORDER[_ORDER.index(event.input.id or '') + 1]}"))
            return
        number, counted = self.typed("number"), self.typed("counted").casefold()[:1]
        if self._kind is None:
            self._refuse("kind", "Kind: one of the letters above")
        elif not (number.isascii() and number.isdecimal() and int(number)):
            self._refuse("number", "How many: a whole number")
        elif counted not in ("y", "n"):
            self._refuse("counted", "y: they are in the trap's count; n: they were left out")
        else:
            self._record(self._kind, int(number), in_count=counted == "y")

    def _record(self, kind: Kind, number: int, *, in_count: bool) -> None:
        specimen = Specimen(
            trap=self._trap,
            read_on=self._read_on,
            what=kind.word,
            number=number,
            vial=self.typed("vial"),
            in_count=in_count,
        )
        try:
            self.dismiss(self._desk.note(specimen, counted=self._counted))
        except ProblemsError as error:
            self.say([plain(f"! {problem.message}: {problem.hint}", 200) for problem in error.problems[:2]])
        except RoundtuiError as error:
            self.say(plain(f"! {error.message}{f': {error.hint}' if error.hint else ''}", 300))

    def _refuse(self, field: str, words: str) -> None:
        self.say(f"! {words}")
        self.set_focus(self.query_one(f"#{field}"))
