"""The register of a session's folder: its rows as they stand, and the deeds that change them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.walking_order import last_at_the_end
from roundtui.domain.traps.placement import Advice, advice_for, advice_for_block, hanging_on
from roundtui.errors import RefusedError
from roundtui.store import read
from roundtui.store.journal import Author
from roundtui.store.set_up import register_deeds
from roundtui.store.set_up.conflicts import Offer, OpenRow, open_rows
from roundtui.store.set_up.register import Deed, carry_out
from roundtui.store.set_up.register_history import history_of, undone
from roundtui.store.set_up.row import BY_NAME
from roundtui.store.set_up.row_digests import rows_in
from roundtui.store.set_up.settle import not_in_files, settle_rows

if TYPE_CHECKING:
    from pathlib import Path

    from roundtui.domain.figures.learned import Needed
    from roundtui.domain.programme.farm import Trap
    from roundtui.domain.traps.entries import SetUpChanged
    from roundtui.store.session import Session
    from roundtui.store.set_up.columns import SetUpFile, Values

VIEWS = ("Traps", "Blocks", "Farms", "Lots", "Routes")
"""What can be looked at, in the order of their digits."""
FILES = tuple(BY_NAME[name] for name in ("traps.csv", "blocks.csv", "farms.csv", "lures.csv", "routes.csv"))
"""The file of each view."""
TRAPS, BLOCKS, FARMS, LOTS, ROUTES = range(5)


@dataclass(frozen=True, slots=True)
class RegisterRow:
    """A row of a view."""

    file: SetUpFile
    """Its file."""
    values: Values
    """What it says."""
    earlier: tuple[Values, ...] = ()
    """Of a trap its earlier hangings, the newest first."""

    @property
    def label(self) -> str:
        """What it is called: of a stop, its trap."""
        return str(self.values["trap" if self.file.table in ("traps", "stops") else self.file.key[0]])


class RegisterDesk:
    """What the Register screen asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.behind: frozenset[tuple[str, str]] = frozenset()
        """File and label of the rows that the files of the folder do not have so yet."""
        self._rows: dict[int, tuple[RegisterRow, ...]] = {}
        self._hung: tuple[Trap, ...] = ()
        self._needed: Mapping[tuple[str, str], Needed] | None = None
        self.read()

    def read(self) -> None:
        """Read everything anew."""
        session = self.session
        self._rows, self._needed = {}, None
        self._hung = hanging_on(session.programme, session.on)
        self.behind = frozenset((one.file.name, one.label) for one in not_in_files(session.conn))

    def rows(self, view: int) -> tuple[RegisterRow, ...]:
        """Rows of a view: traps by label with the hanging that began last, stops as they are walked, others by label.

        Args:
            view: One of ``VIEWS``.
        """
        if view not in self._rows:
            values = list(rows_in(self.session.conn, FILES[view]).values())
            self._rows[view] = _traps(values) if view == TRAPS else _others(FILES[view], values)
        return self._rows[view]

    def advice(self, row: RegisterRow) -> tuple[Advice, ...]:
        """What is in print about the place of a trap that hangs, or about the number of traps in a block."""
        if row.file.table == "traps":
            trap = next((one for one in self._hung if one.trap == row.label), None)
            return advice_for(trap, self._hung) if trap is not None else ()
        if row.file.table == "blocks":
            return advice_for_block(self.session.programme, row.label, self._hung)
        return ()

    def needed(self, row: RegisterRow) -> tuple[str, ...]:
        """How many traps tell the two numbers of a block's rules apart, a line for each species."""
        if row.file.table != "blocks":
            return ()
        if self._needed is None:
            from roundtui.store.figures.learned import needed_in

            self._needed = needed_in(self.session.conn, self.session.office, self.session.on)
        return tuple(f"{species}: {one.words}" for (code, species), one in self._needed.items() if code == row.label)

    def history(self, row: RegisterRow) -> tuple[SetUpChanged, ...]:
        """Changes of a row made in the app, the newest first; of a stop those of its route."""
        return history_of(self.session.conn, row.file, str(row.values[row.file.key[0]]))

    # --- deeds -------------------------------------------------------------------------------------------------------

    def lot_in(self, row: RegisterRow) -> str:
        """Lot of the lure that hangs in a trap, as far as it is on record."""
        return register_deeds.lot_in(self.session.conn, row.values, self.session.on)

    def visit_last(self, row: RegisterRow) -> Deed:
        """The mark of a farm to be visited last, set or taken off."""
        typed = {"visit_last": "no" if row.values["visit_last"] else "yes"}
        return register_deeds.edited(row.file, row.values, typed, self.session.on)

    def reordered(self, route: str, order: Sequence[str]) -> Deed:
        """A route in another order."""
        return register_deeds.reordered(self.session.conn, route, order, self.session.on)

    def last_at_the_end(self, order: Sequence[str]) -> tuple[str, ...]:
        """An order with the traps of farms to be visited last after all others."""
        return last_at_the_end(self.session.programme, order, self.session.on)

    def undone(self, entry: SetUpChanged) -> Deed:
        """What puts an entry back, and those recorded with it."""
        return undone(self.session.conn, entry.id, self.session.on)

    def refuse_later(self, day: date) -> None:
        """Refuse a deed dated after the day of the session: it has not been done.

        Raises:
            RefusedError: It is.
        """
        if day > self.session.on:
            raise RefusedError(f"{day.isoformat()} is after today", "record it once it is done")

    def remarks(self, deed: Deed) -> tuple[str, ...]:
        """What a deed would leave that contradicts itself, and what it changes in what people act on."""
        from roundtui.store.set_up.register_preview import said_before

        session = self.session
        author = Author(session.scout or "nobody", session.device)
        return said_before(
            session.conn, deed, author, folder=session.folder, office=session.office, now=session.clock()
        )

    def do(self, deed: Deed) -> tuple[SetUpChanged, ...]:
        """Carry a deed out. When this returns it is on the disk, and the session knows it."""
        session = self.session
        done = carry_out(session.conn, deed, session.named(), session.clock())
        session.programme = read.programme(session.conn)
        session.forget()
        self.read()
        return done

    def write_files(self) -> tuple[Mapping[str, int], Path | None]:
        """Write the set-up files of the folder anew, the former ones kept beside; then they are loaded as they are."""
        from roundtui.store.set_up.files import write_in_place
        from roundtui.store.set_up.load import load_folder

        session = self.session
        written = write_in_place(session.conn, session.folder, session.clock())
        load_folder(session.conn, session.folder, session.clock())
        self.read()
        return written


class DifferingRows:
    """Set-up rows that another laptop, or the file, has otherwise.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.open: tuple[OpenRow, ...] = ()
        self.read()

    def read(self) -> None:
        """Read anew which differ."""
        self.open = open_rows(self.session.conn)

    def settle(self, rows: Sequence[OpenRow], whose: Sequence[str]) -> None:
        """Keep rows as they are here, or take over those of a laptop, all or none; on the disk when this returns.

        Args:
            rows: The rows.
            whose: Laptops whose rows are taken over; none: the rows here stay.

        Raises:
            RoundtuiError: Nothing was changed.
        """
        session = self.session
        try:
            choices: list[tuple[OpenRow, Offer | None]] = []
            for row in rows:
                theirs = [offer for offer in row.offers if set(offer.devices) & set(whose)]
                if theirs or not whose:
                    choices.append((row, theirs[0] if theirs else None))
            settle_rows(session.conn, choices, session.named(), session.clock())
            session.programme = read.programme(session.conn)
            session.forget()
        finally:
            self.read()

    def behind(self, file: SetUpFile) -> bool:
        """Whether a file of the folder does not say yet what was settled."""
        return any(one.file is file for one in not_in_files(self.session.conn))


def _traps(values: Sequence[Values]) -> tuple[RegisterRow, ...]:
    by_label: dict[str, list[Values]] = {}
    for row in sorted(values, key=lambda one: str(one["hung_on"]), reverse=True):
        by_label.setdefault(str(row["trap"]), []).append(row)
    return tuple(
        RegisterRow(FILES[TRAPS], by_label[label][0], tuple(by_label[label][1:]))
        for label in sorted(by_label, key=natural_key)
    )


def _others(file: SetUpFile, values: Sequence[Values]) -> tuple[RegisterRow, ...]:
    if file.table == "stops":
        ordered = sorted(values, key=lambda one: (natural_key(one["route"]), one["position"], natural_key(one["trap"])))
    else:
        ordered = sorted(values, key=lambda one: natural_key(str(one[file.key[0]])))
    return tuple(RegisterRow(file, one) for one in ordered)
