"""What the screen of making traps up says, line by line.

Traps assembled before they are hung: body, funnel, lid and lure by their labels, Enter after each.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from textwrap import wrap

from textual import work
from textual.app import ComposeResult
from textual.containers import Grid
from textual.content import Content
from textual.widgets import Input, Static

from roundtui.app.keys import keys_of, step_strip
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import Assembled, PartKind
from roundtui.domain.programme.species import species_code
from roundtui.domain.round.checks import in_case, nearest, species_known
from roundtui.domain.text import WARNS, full_day, padded, sanitize, spoken_day, spoken_days
from roundtui.domain.traps.assembly import BenchTrap, KnownParts, Part, check_assembly, wants_label
from roundtui.store.session import Session
from roundtui.store.traps.bench import AssemblyDesk

ASSEMBLY = keys_of("season", "assembly")

GLOVES = (
    "Fresh disposable gloves for each kind of lure; keep packs sealed until needed; kill strips as their label says."
)
"""What to mind at the bench; the source stands in ``domain/cautions.py``."""


NOTHING = "  No trap to assemble. a assembles one that is not listed, by its label."
TYPE_ONE = "  No trap to assemble: type the label of one that is not listed."


def bench_line(row: BenchTrap, names: KnownParts, on: date) -> str:
    """A trap to be assembled, or assembled and not hung.

    Args:
        row: The trap.
        names: For the names of blocks.
        on: The day it is said on.
    """
    block = names.programme.blocks.get(row.block)
    place = f"{row.block} {block.name}" if block and block.name != row.block else row.block
    return f"{padded(row.trap, 10)} {padded(row.species, 5)} {padded(place, 20)} {_state(row, on)}"


def _state(row: BenchTrap, on: date) -> str:
    planned = f"to hang on {spoken_day(row.hang_on, on)}" if row.hang_on else ""
    if row.made is None:
        return planned or "hung last season"
    spite = " all the same" if row.made.despite else ""
    return f"assembled{spite}: {contents(row.made)}, {spoken_day(row.made.assembled_on, on)}"


def contents(one: Assembled) -> str:
    """Parts and lure of a trap, short.

    Args:
        one: The trap.
    """
    labels = [label for label in (one.body_label, one.funnel_label, one.lid_label) if label]
    return f"{' '.join(labels) or 'no labels'}, {f'lot {one.lot}' if one.lot else 'no lure'}"


def about_part(part: Part | None, label: str, kind: PartKind, width: int) -> str:
    """What is known of a part that is typed.

    Args:
        part: The part; None where nobody has seen its label before.
        label: What is typed.
        kind: Which part.
        width: Columns to fill.
    """
    if not label:
        return "no label" if kind is PartKind.BODY else ""
    if part is None:
        return "a new label"
    since = f" since {full_day(part.since)[4:]}" if part.since else ""
    place = f", {part.place}" if part.place else f", {part.trap}" if part.trap else ""
    held = f", held {' '.join(part.scents)}" if part.scents else ""
    return sanitize(f"{part.species}{held}, {part.state.value}{since}{place}", width)


def about_lot(known: KnownParts, lot: str, width: int) -> str:
    """What is known of a lot that is typed.

    Args:
        known: For its lots.
        lot: What is typed.
        width: Columns to fill.
    """
    if not lot:
        return "no lure yet"
    found = known.programme.lots.get(lot)
    if found is None:
        return "! no such lot"
    load = f" {float(found.load_mg):g} mg" if found.load_mg is not None else ""
    until = f", to {full_day(found.expires_on)[4:]}" if found.expires_on else ""
    return sanitize(f"{found.species}{load}{until}", width)


def spoken_against(found: Sequence[str], width: int, lines: int) -> Content:
    """What speaks against a trap, whole, with a mark before each.

    Args:
        found: The objections.
        width: Columns to fill.
        lines: Lines to fill.
    """
    shown = [
        part for one in found for part in wrap(sanitize(spoken_days(f"{WARNS}{one}")), width, subsequent_indent="  ")
    ]
    more = [f"{WARNS}and {len(shown) - lines + 1} more lines"] if len(shown) > lines else []
    return Content.styled("\n".join([*shown[: lines - len(more)], *more]), "bold")


FIELDS = ("trap", "species", "body", "funnel", "lid", "lot", "reason")
WORDS = {name: name.capitalize() for name in FIELDS} | {"lot": "Lure lot"}
KINDS = {"body": PartKind.BODY, "funnel": PartKind.FUNNEL, "lid": PartKind.LID}


class AssemblyScreen(RoundtuiScreen[None]):
    """A list of traps, and the lines of the one that is being assembled.

    Args:
        session: Who, where and when.
    """

    STOPPED = "Parts and traps cannot be read"
    CSS_PATH = "style.tcss"
    AUTO_FOCUS = ""
    """Back from a question the list has the keys, and no line takes their letters."""
    KEYS = ASSEMBLY

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = AssemblyDesk(session)
        self.marked = 0
        self.found: tuple[str, ...] = ()
        self.said = ""
        self._proposed_for = ("", "")
        self._read_at = -1
        """How often the session had changed the record when it was read."""

    def compose(self) -> ComposeResult:
        """The list, seven lines to type, what speaks against it."""
        yield from texts("head", "list")
        with Grid(id="fields"):
            for name in FIELDS:
                yield Static(WORDS[name], id=f"{name}-word", classes="words", markup=False)
                yield Input(id=name, compact=True, max_length=120 if name == "reason" else 60)
                yield Static(id=f"{name}-about", classes="about", markup=False)
        yield from texts("against", "said", "keys")

    def on_mount(self) -> None:
        """The lines stand once it is known what waits."""
        for one in self.query(Input):
            one.cursor_blink = False
        self._leave_lines()

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show()

    # --- the list ----------------------------------------------------------------------------------------------------

    @property
    def row(self) -> BenchTrap | None:
        """The marked trap."""
        rows = self.desk.rows
        return rows[self.marked] if rows else None

    def action_mark(self, step: int) -> None:
        """Another trap of the list."""
        typing = isinstance(self.focused, Input)
        self.said = ""
        self._mark(self.marked + step)
        if typing:
            self._begin()

    def _mark(self, at: int) -> None:
        self.marked = max(0, min(len(self.desk.rows) - 1, at))
        self._show()

    def action_open(self) -> None:
        """Assemble the marked trap; hang one that is assembled."""
        row = self.row
        if row is not None and row.made is not None:
            self._hang(row, row.made)
        else:
            self._begin()

    def action_other(self) -> None:
        """A trap that is not on the list."""
        self._begin(typed=True)

    @work
    async def _hang(self, row: BenchTrap, made: Assembled) -> None:
        from roundtui.app.dialogs.office import HangDialog

        place = await self.app.push_screen_wait(HangDialog(self.desk, row, made, contents(made)))
        if place is None:
            return
        with self.saying("Not hung"):
            self.desk.hang(made, *place)
            block, day = sanitize(place[0], 24), spoken_day(place[1], self.session.on)
            self.said = f"{sanitize(row.trap, 24)} hangs in block {block} from {day} on"
            self._read(lambda: self._mark(self.marked))

    def on_screen_resume(self) -> None:
        """Parts may have been put away meanwhile."""
        if self._read_at != self.session.changes:
            self._read(self._begin if self._read_at < 0 else lambda: self._mark(self.marked))

    def _read(self, then: Callable[[], None]) -> None:
        """Read what is known of parts and traps, then go on."""
        self._read_at = self.session.changes
        self.read(self.desk.read, lambda _: then(), self.STOPPED, self.dismiss)
        self.tell("Reading parts and traps …")
        self._show()

    # --- the lines ---------------------------------------------------------------------------------------------------

    def _begin(self, *, typed: bool = False) -> None:
        """Lines of the marked trap, or of one whose label is typed."""
        row = None if typed else self.row
        self._proposed_for = ("", "")
        self._put("trap", row.trap if row is not None else "")
        for name in FIELDS[1:]:
            self._put(name, "")
        if row is not None:
            self._propose(row.trap, row.species)
        self._to("trap")
        self._show()

    def _propose(self, trap: str, species: str) -> None:
        """Fill in what Enter alone takes, once for each trap."""
        if self._proposed_for == (trap, species):
            return
        self._proposed_for = (trap, species)
        one = self.desk.proposal(trap, species)
        labels = {"body": one.body_label, "funnel": one.funnel_label, "lid": one.lid_label, "lot": one.lot}
        for name, value in (labels | {"species": species, "reason": ""}).items():
            self._put(name, value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """What speaks against it is shown as it is typed."""
        event.stop()
        if event.input.id != "trap":
            self._show()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take the line, and go to the next one, or put the trap on record."""
        event.stop()
        name = event.input.id or ""
        fault = self._take(name)
        if fault:
            self._say(f"{WARNS}{fault}")
            return
        self.said = ""
        self._show()
        shown = [one for one in FIELDS if self._shown(one)]
        after = shown[shown.index(name) + 1 :]
        if after:
            self._to(after[0])
        else:
            self._record()

    def _take(self, name: str) -> str:
        """Take a line as it is known on record; gives what is wrong with it."""
        text = self._typed(name)
        known = self.desk.known
        if name == "trap":
            return self._take_trap(text)
        if name == "species":
            species, code = species_known(known.programme), self._species(text)
            if code not in species:
                return f"{sanitize(text, 24) or 'A blank'} is no species that is known. {nearest(text, species)}"
            self._propose(self._typed("trap"), code)
        elif name in KINDS and text:
            self._put(name, in_case(text, [label for kind, label in known.parts if kind is KINDS[name]]))
        elif name == "lot" and text:
            lot = in_case(text, known.programme.lots)
            if lot not in known.programme.lots:
                return f"There is no lot {sanitize(text, 24)}. {nearest(text, known.programme.lots)}"
            self._put(name, lot)
        elif name == "reason" and self.found and not text:
            return "Give the reason for the override, or change it"
        return ""

    def _take_trap(self, text: str) -> str:
        if not text:
            return "Type the label of the trap"
        trap = in_case(text, [*self.desk.known.programme.hangings, *self.desk.known.waiting])
        self._put("trap", trap)
        self.marked = next((at for at, row in enumerate(self.desk.rows) if row.trap == trap), self.marked)
        species = self.desk.species_of(trap)
        self._propose(trap, species or self.desk.last_species)
        return ""

    def _record(self) -> None:
        one = self._draft()
        faults = check_assembly(one, self.desk.known.programme)
        if faults:
            self._say(f"{WARNS}{faults[0]}")
            return
        listed = bool(self.desk.to_do)
        with self.saying("Not assembled"):
            self.desk.record(one)
            self.said = f"{sanitize(one.trap, 24)} is assembled: {sanitize(contents(one), 60)}"
            self._read(lambda: self._go_on(listed=listed))

    def _go_on(self, *, listed: bool) -> None:
        """The next trap to assemble."""
        self.marked = max(0, min(len(self.desk.to_do) - 1, self.marked))
        if listed and not self.desk.to_do:
            self._leave_lines()
            self._say(f"{self.said}. None left to assemble: Enter hangs")
        else:
            self._begin(typed=not self.desk.to_do)

    def _draft(self) -> Assembled:
        return Assembled(
            trap=self._typed("trap"),
            species=self.desk.species_of(self._typed("trap")) or self._species(self._typed("species")),
            assembled_on=self.session.on,
            body_label=self._typed("body"),
            funnel_label=self._typed("funnel"),
            lid_label=self._typed("lid"),
            lot=self._typed("lot"),
            despite=self._typed("reason") if self.found else "",
        )

    def _species(self, text: str) -> str:
        return species_code(text) or in_case(text, species_known(self.desk.known.programme))

    def _shown(self, name: str) -> bool:
        trap = self._typed("trap")
        if name == "species":
            return bool(trap) and not self.desk.species_of(trap)
        if name in ("funnel", "lid"):
            return bool(self._typed(name)) or wants_label(trap, KINDS[name], self.desk.known)
        return bool(self.found) if name == "reason" else True

    # --- what is on the screen ---------------------------------------------------------------------------------------

    def _show(self) -> None:
        desk, width, height = self.desk, max(40, self.size.width), self.height
        one = self._draft()
        self.found = desk.against(one) if one.trap and one.species and self._proposed_for[0] == one.trap else ()
        if not desk.rows and not self.have_read.is_set():
            self.put_head("Assemble traps")
            return
        self.put_head(f"Assemble traps   {len(desk.to_do)} to assemble, {len(desk.waiting)} to hang")
        typing = isinstance(self.focused, Input)
        lines = max(3, height - 20) if typing else max(3, height - 8)
        rows = [bench_line(one, desk.known, self.session.on) for one in desk.rows]
        found = listed(rows, self.marked, (width, lines), str, TYPE_ONE if typing else NOTHING)
        if rows and rows[self.marked] not in found.plain:
            state = _state(desk.rows[self.marked], self.session.on)
            found += Content("".join(f"\n    {line}" for line in wrap(sanitize(state), width - 4)))
        self.put("list", found.plain if typing else found)
        about = max(10, width - 32)
        for name in FIELDS:
            shown = self._shown(name)
            for part in (name, f"{name}-word", f"{name}-about"):
                self.query_one(f"#{part}").display = shown
        for name, kind in KINDS.items():
            label = self._typed(name)
            held = desk.known.parts.get((kind, label))
            self.put(f"{name}-about", Content(about_part(held, label, kind, about)))
        self.put("lot-about", Content(about_lot(desk.known, self._typed("lot"), about)))
        self.put("trap-about", Content(sanitize(one.species, about)))
        self.put("species-about", Content("the species it has for life"))
        self.put("reason-about", Content("reason for the override"))
        self.put("against", spoken_against(self.found, width - 2, 7))
        self._say(self.said)

    def _say(self, words: str) -> None:
        self.said = words
        self.put("said", Content.styled(words or GLOVES, "bold" if words else ""))
        self.put_strip()

    def put_strip(self) -> None:
        """While a line is typed letters are its own."""
        super().put_strip()
        if isinstance(self.focused, Input) and self.have_read.is_set():
            self.put("keys", "\n".join(step_strip("Enter next", "↑↓ another trap", "Esc list", self.width)))

    def _typing(self, *, lines: bool) -> None:
        """Lines are in sight while they are typed."""
        self.query_one("#fields").display = self.query_one("#against").visible = lines

    def _typed(self, name: str) -> str:
        return self.query_one(f"#{name}", Input).value.strip()

    def _put(self, name: str, value: str) -> None:
        with self.prevent(Input.Changed):
            self.query_one(f"#{name}", Input).value = value

    def _leave_lines(self) -> None:
        self.set_focus(None)
        self._typing(lines=False)
        self._show()

    def _to(self, name: str) -> None:
        self._typing(lines=True)
        self.query_one(f"#{name}").display = True
        field = self.query_one(f"#{name}", Input)
        self.set_focus(field)
        field.action_select_all()

    def action_back(self) -> None:
        """From the lines to the list, and from there to where one was."""
        if isinstance(self.focused, Input):
            self.said = ""
            self._leave_lines()
        else:
            self.dismiss()
