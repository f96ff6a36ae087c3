"""What the close of a season asks of the store, and tells it.

The close of a season: traps in the order in which they are walked, one key for what became of each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, cast

from textual import work
from textual.content import Content
from textual.widgets import Static
from textual.worker import Worker

from roundtui.app.keys import APP, SEASON_CLOSE, bindings, footer
from roundtui.app.screens.season_close import view as close_lines
from roundtui.app.widgets.texts import TextsScreen
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import PartKind, PartNoted, PartState
from roundtui.domain.traps.parts import Part, Whereabouts
from roundtui.domain.traps.season_close import not_put_away, to_discard
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.report import text as numbers
from roundtui.store import journal, read
from roundtui.store.connect import transaction
from roundtui.store.set_up.register import carry_out
from roundtui.store.set_up.register_deeds import TRAPS, row_of, taken_down
from roundtui.store.traps.parts import read_close

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.domain.figures.integrity import Held
    from roundtui.domain.traps.season_close import ToTakeDown

SEASON_END = "season-end"
"""Folder, within the scouting folder, that the season's end is written into."""
PLACE = "parts-place"
"""Setting that keeps where parts are put away."""


@dataclass(frozen=True, slots=True)
class CloseRow:
    """A trap that hangs, or a part that is about."""

    trap: str
    """Its label; empty for a part alone."""
    species: str
    """Its species."""
    block: str
    """Block it hangs in."""
    route: str
    """Route it is on."""
    parts: tuple[Part, ...]
    """Its labelled parts, or the part."""
    missing_since: date | None = None
    """Day since which the trap was found missing."""

    @property
    def scented(self) -> tuple[Part, ...]:
        """Bodies that smell of another species."""
        return tuple(part for part in self.parts if part.foreign)


class CloseDesk:
    """Traps that hang, parts that are about.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.place = session.kept(PLACE)
        """Where parts are put away."""
        self.look()

    def look(self) -> None:
        """Read what hangs and what is known of parts."""
        session = self.session
        close = read_close(session.conn, session.office, session.on)
        self.known, hanging = close.known, close.hanging
        every = self.known.parts.values()
        about = [part for part in not_put_away(every) if not part.foreign]
        loose = [part for part in to_discard(every) if part.state is not Whereabouts.HUNG]
        self.hanging = len(hanging)
        """Traps that hang."""
        self.rows = (*map(_trap, hanging), *(_alone(part) for part in (*about, *loose)))

    def held(self, part: Part) -> tuple[Held, ...]:
        """What a body has held."""
        return next((past.held for past in self.known.bodies if past.label == part.label), ())

    def keep_place(self, place: str) -> None:
        """Say where parts are put away, and keep it."""
        self.place = place
        self.session.keep(PLACE, place)

    def note(self, row: CloseRow, state: PartState) -> int:
        """Take a trap down and say what became of its parts, all or nothing; on the disk when this returns.

        Args:
            row: The trap, or the part.
            state: Stored, lost or discarded; of a trap discarded the body alone is, and the rest is put away.

        Returns:
            How many parts were noted.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session = self.session
        if not session.scout:
            raise RefusedError("your name is not known", "enter your name at the desk first")
        author, now = journal.Author(session.scout, session.device), session.clock()
        notes = [self._noted(part, state) for part in row.parts]
        with transaction(session.conn):
            if row.trap:
                down = taken_down(row_of(session.conn, TRAPS, row.trap), session.on, f"close of season: {state.value}")
                carry_out(session.conn, down, author, now)
            if notes:
                journal.record(session.conn, notes, author, now)
        session.programme = read.programme(session.conn)
        session.forget()
        self.look()
        return len(notes)

    def write_end(self) -> str:
        """Write the season's end as ``season-end --to`` does, over a connection of its own, so that a thread can.

        Returns:
            What was written, in a few words.

        Raises:
            RoundtuiError: Nothing can be said of the season, or a file cannot be written.
        """
        # Puts whole seasons together, which nothing else in the app does at the close.
        from contextlib import closing

        from roundtui.report.letters.template import Templates
        from roundtui.report.season.season_end import write_season_ends
        from roundtui.store.connect import open_store
        from roundtui.store.season.years import YearsRecord

        session = self.session
        with closing(open_store(session.folder, now=session.clock())) as conn:
            record = YearsRecord(conn, session.folder, session.on, session.office)
            known = record.now.programme
            if not record.now.series:
                raise RefusedError(f"no trap hung in the season {record.now.season}", "there is nothing to report")
            ends = record.ends(["", *sorted(known.farms)])
        return f"{SEASON_END}: {write_season_ends(ends, known, Templates(session.folder), session.folder / SEASON_END)}"

    def _noted(self, part: Part, state: PartState) -> PartNoted:
        if state is PartState.DISCARDED and part.part is not PartKind.BODY and part.state is Whereabouts.HUNG:
            state = PartState.STORED
        scent = f"smells of {part.foreign[-1]}" if part.foreign else ""
        noted = PartNoted(
            label=part.label,
            part=part.part,
            species=part.species,
            state=state,
            noted_on=self.session.on,
            note=scent,
        )
        return replace(noted, place=self.place) if state is PartState.STORED else noted


def _trap(one: ToTakeDown) -> CloseRow:
    row = one.hanging
    return CloseRow(row.trap, row.species, row.block, one.route, one.parts, one.missing_since)


def _alone(part: Part) -> CloseRow:
    return CloseRow("", part.species, "", "", (part,))


DONE = {PartState.STORED: "put away", PartState.LOST: "noted as lost", PartState.DISCARDED: "discarded"}


class SeasonCloseScreen(TextsScreen[None]):
    """Traps to take down, and parts to put away.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "about", "said", "keys")
    BINDINGS = bindings(SEASON_CLOSE)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.desk = CloseDesk(session)
        self.marked = 0
        self.said = ""
        self._asked: tuple[CloseRow, PartState] | None = None
        """The row that wants the same key a second time, and what it stands for."""

    @property
    def row(self) -> CloseRow | None:
        """The marked one."""
        return self.desk.rows[self.marked] if self.desk.rows else None

    def action_mark(self, step: int) -> None:
        """Another one."""
        self.marked = max(0, min(len(self.desk.rows) - 1, self.marked + step))
        self.said, self._asked = "", None
        self._show()

    def action_note(self, state: str) -> None:
        """What became of the marked one."""
        row, what = self.row, PartState(state)
        if row is None:
            return
        doubt = close_lines.doubt(row, what)
        if doubt and self._asked != (row, what):
            self._asked, self.said = (row, what), doubt
            self._show()
            return
        try:
            parts = self.desk.note(row, what)
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("Nothing was noted", error)
            return
        name = row.trap or row.parts[0].label
        place = f" in {plain(self.desk.place, 40)}" if self.desk.place and what is PartState.STORED else ""
        down = " is down," if row.trap else ","
        self.said = f"{plain(name, 24)}{down} {parts} {'part' if parts == 1 else 'parts'} {DONE[what]}{place}"
        self.marked, self._asked = max(0, min(len(self.desk.rows) - 1, self.marked)), None
        self._show()

    @work
    async def action_place(self) -> None:
        """Where parts are put away."""
        from roundtui.app.dialogs.line import LineDialog

        dialog = LineDialog("Where are parts put away?", "Place", self.desk.place, fault=lambda _: "")
        place = await self.app.push_screen_wait(dialog)
        if place is not None:
            self.desk.keep_place(place)
            self._show()

    def action_write_end(self) -> None:
        """The season's end for the programme and every farm, as files."""
        self.said = "Writing the season's end …"
        self._show()
        self.run_worker(self.desk.write_end, name="end", thread=True, exclusive=True, exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say what was written, or why nothing was."""
        if event.worker.name != "end" or not event.worker.is_finished:
            return
        error = event.worker.error
        if error is not None and not isinstance(error, RoundtuiError):
            raise error
        self.said = "" if error is not None else f"Written in {event.worker.result}"
        self._show()
        if isinstance(error, RoundtuiError):
            cast("RoundtuiApp", self.app).show_error("The season's end is not written", error)

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        desk = self.desk
        head = f" Close of season   {self.session.on.isoformat()}   {desk.hanging} hang,"
        about = numbers.several(len(desk.rows) - desk.hanging, "part")
        head += f" {about} about   place: {plain(desk.place, 20) or 'none named, p'}"
        self._text("head", Content(plain(head, width)))
        lines = max(3, height - 12)
        self._text("list", close_lines.listed(desk.rows, self.marked, (width, lines)))
        row = self.row
        self._text("about", close_lines.about(desk, row, width, 5) if row else Content(""))
        words = Content.styled(plain(self.said or close_lines.CAUTION, 2 * width - 4), "bold" if self.said else "")
        self._text("said", words)
        self._text("keys", Content(plain(f" {footer(SEASON_CLOSE)}  {footer(APP)}", width)))

    def _text(self, part: str, words: Content) -> None:
        self.query_one(f"#{part}", Static).update(words)

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss()
