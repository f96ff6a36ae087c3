"""About one trap: a count estimated from squares, what else was in it, and what is in a vial."""

from __future__ import annotations

from datetime import date
from textwrap import wrap

from textual.widgets import Input, Static

from roundtui.app.dialogs.form import FormDialog
from roundtui.domain.entries import Specimen
from roundtui.domain.figures.figures import from_grid, grid_note, grid_problem
from roundtui.domain.round.specimens import KINDS, Identification, Kind, likenesses
from roundtui.domain.text import WARNS, sanitize
from roundtui.errors import ProblemsError, RefusedError
from roundtui.report.figures.changes import consequence_words
from roundtui.report.round.specimens import SpecimenDesk
from roundtui.store.session import Session

SQUARES = "grid-squares"
"""Setting that keeps how many squares a liner has."""


class GridDialog(FormDialog[tuple[int, str] | None]):
    """Three numbers; gives the count, and the note that says how it came about.

    Args:
        session: Where the number of squares is kept from one time to the next.
        trap: The trap, as it is shown.
    """

    def __init__(self, session: Session, trap: str) -> None:
        squares = ("squares", "Squares in all", session.kept(SQUARES))
        fields = (("counted", "Squares counted", ""), squares, ("moths", "Moths in those", ""))
        advice = Static("Choose squares all over the liner before you look at them.", id="ask")
        super().__init__(session.ticks, f"Estimate from squares, {trap}", fields, advice)
        self._session = session

    def _numbers(self) -> tuple[int | None, int | None, int | None]:
        def number(name: str) -> int | None:
            text = self.typed(name)
            return int(text) if text.isascii() and text.isdecimal() and len(text) <= 6 else None

        return number("counted"), number("squares"), number("moths")

    def saves(self) -> str:
        """The estimate."""
        counted, squares, moths = self._numbers()
        if grid_problem(counted, squares, moths) is not None or counted is None or squares is None or moths is None:
            return "the estimate"
        return f"{from_grid(counted, squares, moths)} as the count; it is not recorded before Enter on the walk"

    def save(self) -> None:
        """Give the estimate."""
        counted, squares, moths = self._numbers()
        problem = grid_problem(counted, squares, moths)
        if problem is not None or counted is None or squares is None or moths is None:
            raise RefusedError(problem.message if problem else "three numbers", problem.hint if problem else "")
        self._session.keep(SQUARES, str(squares))
        self.dismiss((from_grid(counted, squares, moths), grid_note(counted, squares, moths)))


class SpecimenDialog(FormDialog[str | None]):
    """Four short lines; it is on record before the dialog closes.

    Args:
        desk: Where it is recorded.
        trap: Label of the trap.
        read_on: Day of the visit.
        counted: Moths typed at the trap where its count is not on record yet.
    """

    def __init__(self, desk: SpecimenDesk, trap: str, read_on: date, counted: int | None) -> None:
        hanging = desk.session.programme.hangings.get(trap, ())
        species = sanitize(hanging[-1].species if hanging else "", 12)
        kinds = "  ".join(f"{kind.key}\N{NO-BREAK SPACE}{kind.word}" for kind in KINDS.values())
        # The narrowest form has so many columns; Textual would part a letter from its word.
        kinds = "\n".join(wrap(kinds, 54))
        alike = ", ".join(sanitize(one.name, 40) for one in likenesses(species))
        mistaken = Static(f"Easily mistaken for {species}: {alike}" if alike else "", id="alike", markup=False)
        found = (("kind", "Kind, a letter", ""), ("number", "How many", "1"))
        fields = (*found, ("vial", "Vial, blank: none", ""), ("counted", "Counted? y or n", ""))
        title = f"Other catch in {sanitize(trap, 20)}, {species}, {read_on}"
        super().__init__(desk.session.ticks, title, fields, Static(kinds, markup=False), mistaken)
        self._desk = desk
        self._trap = trap
        self._read_on = read_on
        self._counted = counted
        self._kind: Kind | None = None

    def changed(self, name: str) -> None:
        """A letter is a kind, and goes on to the number."""
        line = self.query_one("#kind", Input)
        typed = line.value.strip().casefold()
        if name != "kind" or not typed:
            return
        # A number typed right behind the letter may reach this line before the next one has the focus.
        key = typed.rstrip("0123456789")
        self._kind = next((kind for kind in KINDS.values() if key in (kind.key, kind.word)), None)
        if self._kind is None:
            self.say(f"{WARNS}No kind has the letter {sanitize(key, 10)}")
            return
        self.say(f"{self._kind.word.capitalize()}.")
        self.query_one("#vial", Input).value = self._desk.vial() if self._kind.doubtful else ""
        self.query_one("#counted", Input).value = "" if self._kind.doubtful else "n"
        number = self.query_one("#number", Input)
        if typed != key:
            line.value, number.value = key, typed[len(key) :]
            self.set_focus(number)
            number.cursor_position = len(number.value)
        elif len(key) == 1:
            self.set_focus(number)

    def saves(self) -> str:
        """What is saved."""
        kind = self._kind.word if self._kind is not None else "what was found"
        vial = f", vial {self.typed('vial')}" if self.typed("vial") else ""
        return f"{self.typed('number')} {kind} of {sanitize(self._trap, 20)}{vial}"

    def save(self) -> None:
        """Put it on record."""
        if self._kind is None:
            raise self.wrong("kind", "Kind: one of the letters above")
        number, counted = self.whole("number", "How many", 1), self.typed("counted").casefold()[:1]
        if counted not in ("y", "n"):
            raise self.wrong("counted", "y: they are in the trap's count; n: they were left out")
        specimen = Specimen(
            trap=self._trap,
            read_on=self._read_on,
            what=self._kind.word,
            number=number,
            vial=self.typed("vial"),
            in_count=counted == "y",
        )
        self.dismiss(self._desk.note(specimen, counted=self._counted))


class IdentifyDialog(FormDialog[str | None]):
    """Lines for vial, name, person and day; what a name changes is said before it is accepted.

    Args:
        desk: Where it is recorded.
        marked: The specimen that is marked in the list; None where none is.
    """

    HINT = "A species or a kind; unknown removes a name."

    def __init__(self, desk: SpecimenDesk, marked: Specimen | None) -> None:
        vial = "" if marked is None else marked.vial or marked.id
        named = (("vial", "Vial", vial), ("what", "Is", ""), ("by", "Identified by", ""))
        super().__init__(desk.session.ticks, "Identify a vial", (*named, ("day", "On", str(desk.session.on))))
        self.FIRST = "what" if marked is not None else "vial"
        self._desk = desk
        self._marked = marked

    def saves(self) -> str:
        """What is saved."""
        return f"{self.typed('vial') or 'the vial'} as {self.typed('what') or '-'}"

    def save(self) -> None:
        """Look up what it changes, then ask."""
        day = self.needed_day("day", "On")
        vial = self.typed("vial")
        wanted = self._marked.id if self._marked is not None and vial == self._at_first["vial"] else vial
        try:
            ready = self._desk.identification(wanted, self.typed("what"), self.typed("by"), day)
        except ProblemsError as error:
            raise RefusedError(". ".join(f"{one.message}: {one.hint}" for one in error.problems[:2])) from error
        title = f"{sanitize(vial, 20)} is {sanitize(self.typed('what'), 40)}?"
        self.ask(title, lambda: self._ahead(ready), lambda: self.dismiss(self._desk.name(ready)))

    def _ahead(self, ready: Identification) -> list[tuple[str, bool]]:
        ahead = self._desk.ahead(ready)
        said = [(consequence_words(one), one.needs_a_word) for one in ahead.consequences]
        said += [(words, True) for words in ahead.letters]
        if ready.visit is not None:
            said.insert(0, (f"The count of {sanitize(ready.visit.trap, 16)} becomes {ready.visit.count}.", False))
        return said or [("No count changes.", False)]
