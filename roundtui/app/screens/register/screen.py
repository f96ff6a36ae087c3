"""The register: farms, blocks, traps, lots and routes as they stand, and every change of them on record."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from functools import partial

from textual.app import ComposeResult
from textual.containers import Container

from roundtui.app.dialogs.office import RegisterRowDialog
from roundtui.app.keys import Action, keys_of
from roundtui.app.screen import ListScreen, TextsScreen, texts
from roundtui.app.screens.register import forms
from roundtui.app.screens.register import view as register_lines
from roundtui.app.screens.register.forms import Form
from roundtui.app.widgets.board import listed, tabs
from roundtui.domain.entries import SetUpChanged
from roundtui.domain.programme.rounds import out_of_order, stop_words
from roundtui.domain.text import sanitize, several, spoken_days
from roundtui.store.session import Session
from roundtui.store.set_up import register
from roundtui.store.set_up.columns import BY_NAME, named
from roundtui.store.set_up.office_rows import is_office
from roundtui.store.set_up.register import BLOCKS, FARMS, FILES, RULES, VIEWS, RegisterChange, RegisterDesk, RegisterRow
from roundtui.store.set_up.versions import text_of

REGISTER = keys_of("season", "register")
ROW_HISTORY = keys_of("season", "row-history")

CARRYING = {"open": "drop it here", "mark(-1)": "carry", "back": "put back"}
"""What keys do while the stops of a route are in an order that is not kept yet."""
TALL = 30
"""From so many lines on a history shows more than the marked change. [lines]"""
HISTORY_LINES = 8
"""Changes shown at once. [lines]"""
DETAIL_LINES = 8
"""Lines for the marked row below the list; a stop of a route needs two. [lines]"""
BESIDE = 110
"""From so many columns on it stands beside the list, which then has 76; stops stand side by side. [columns]"""


class RegisterScreen(TextsScreen[None]):
    """Rows of one view at a time; the marked one is shown in full.

    Args:
        session: Who, where and when.
        view: What is shown first, by its name; another word: the traps.
        label: What is marked at first; empty for none.
        only: Traps that alone are shown, until a view is chosen; empty: all.
        why: What they have in common.
    """

    STOPPED = "The register cannot be read"
    CSS_PATH = "style.tcss"
    KEYS = REGISTER

    def __init__(
        self, session: Session, view: str = "", label: str = "", only: Collection[str] = (), why: str = ""
    ) -> None:
        super().__init__(session)
        self.only = only
        self.desk = RegisterDesk(session)
        self.view = VIEWS.index(view.title()) if view.title() in VIEWS else register.TRAPS_VIEW
        self.marks = [0] * len(VIEWS)
        self.order: tuple[str, ...] | None = None
        """Traps of the marked route in an order that is not kept yet."""
        self.said = f"{why}. 1 shows all traps" if only else ""
        self.added = ("", "")
        """File and label of the row that was added last."""
        self.label = label

    def compose(self) -> ComposeResult:
        """The views, the list and the marked row of one, what was done, the keys."""
        yield from texts("head", "views")
        with Container(id="both"):
            yield from texts("list", "detail")
        yield from texts("said", "keys")

    def _begin(self) -> None:
        def then() -> None:
            self.marks[self.view] = next((at for at, row in enumerate(self.rows) if row.label == self.label), 0)
            self.say(self.said)

        self._read(then)
        self._show()

    def _read(self, then: Callable[[], None]) -> None:
        """Read the view where it is not known as it stands now, then go on."""
        if self.desk.knows(self.view):
            then()
            return
        self.tell("Reading the register …")
        self.read(partial(self.desk.read, self.view), lambda _: then(), self.STOPPED, self.dismiss)

    # --- going about -------------------------------------------------------------------------------------------------

    @property
    def rows(self) -> tuple[RegisterRow, ...]:
        """Rows of the view, stops in the order that is not kept yet where there is one."""
        rows = self.desk.rows(self.view)
        if self.only:
            rows = tuple(row for row in rows if row.label in self.only)
        if self.order is None or not rows:
            return rows
        route = self._route(rows)
        stops = {row.label: row for row in rows if row.values["route"] == route}
        moved = iter(self.order)

        def placed(row: RegisterRow) -> RegisterRow:
            return replace(row, values=stops[next(moved)].values | {"position": row.values["position"]})

        return tuple(placed(row) if row.values["route"] == route else row for row in rows)

    @property
    def row(self) -> RegisterRow | None:
        """The marked row."""
        rows = self.rows
        return rows[min(self.marks[self.view], len(rows) - 1)] if rows else None

    def _route(self, rows: tuple[RegisterRow, ...]) -> str:
        return str(rows[min(self.marks[register.ROUTES_VIEW], len(rows) - 1)].values["route"])

    def action_view(self, view: int) -> None:
        """Another view; -1 is the next one."""
        if self._order_open():
            return
        self.view, self.only = (self.view + 1) % len(VIEWS) if view < 0 else view, ()
        self._read(partial(self.say, ""))

    def action_mark(self, step: int) -> None:
        """Another row."""
        if self.order is not None:
            self._carry(step)
            return
        self.marks[self.view] = max(0, min(len(self.rows) - 1, self.marks[self.view] + step))
        self.say("")

    async def action_find(self) -> None:
        """Mark the row of a label that is typed."""
        if not self._order_open():
            await self.ask_label(f"Find in {VIEWS[self.view].lower()}", [row.label for row in self.rows], self._find)

    def _find(self, label: str) -> None:
        self.marks[self.view] = [row.label for row in self.rows].index(label)
        self.say("")

    # --- changes ----------------------------------------------------------------------------------------------------

    def action_add(self) -> None:
        """Add a row to the view."""
        row = self.row
        again = row is not None and (row.file.name, row.label) == self.added
        file = FILES[self.view] if self.view < RULES else row.file if row is not None else None
        if file is not None:
            self._open(forms.add_form(self.desk, file, row, again=again))

    def action_open(self) -> None:
        """Change columns of the marked row; in the routes pick the marked stop up, or drop it where it is."""
        if self.order is not None:
            self._keep_order()
        elif self.view == register.ROUTES_VIEW and self.row is not None:
            self.order = self._order()
            name = sanitize(self.row.label, 20)
            self.say(f"{name} is picked up: Up and Down carry it, Enter drops it, Escape puts it back")
        else:
            self.action_edit()

    def action_edit(self) -> None:
        """Change columns of the marked row."""
        if self.row is not None:
            self._open(forms.edit_form(self.desk, self.row))

    def action_move(self) -> None:
        """Move the marked trap."""
        self._of_trap(partial(forms.move_form, self.desk))

    def action_take_down(self) -> None:
        """Take the marked trap down, or the marked rule out."""
        if self.view >= RULES:
            if self.row is not None and self.row.values["at"] is not None:
                self._open(forms.take_out_form(self.desk, self.row))
            else:
                self.say("It is none of the office's own: there is nothing to take out")
        else:
            self._of_trap(forms.take_down_form)

    def action_restore(self) -> None:
        """Say that the marked trap was never down, or hang it again."""
        self._of_trap(forms.restore_form)

    def action_no_entry(self) -> None:
        """The day before which the marked block must not be entered."""
        if self.view == BLOCKS and self.row is not None:
            self._open(forms.no_entry_form(self.row))
        else:
            self.say("Only a block can be closed: 2 shows the blocks")

    def action_last(self) -> None:
        """Mark a farm as to be visited last, or put such farms last in the route."""
        row = self.row
        if self.view == FARMS and row is not None:
            self._do(lambda: self.desk.do(self.desk.visit_last(row)))
        elif self.view == register.ROUTES_VIEW and row is not None:
            self._put(self.desk.last_at_the_end, "Farms to visit last are", "last")
        else:
            self.say("Only a farm can be visited last: 3 shows the farms; in the routes m 5 puts them last")

    def action_as_walked(self) -> None:
        """Put the marked route in the order in which its traps were read."""
        if self.view == register.ROUTES_VIEW and self.row is not None:
            self._put(self.desk.as_walked, "The stops are", "as they were read in the last seven days")
        else:
            self.say("Only a route is walked: 5 shows the routes")

    def _put(self, arranged: Callable[[Sequence[str]], tuple[str, ...]], what: str, how: str) -> None:
        """Show the marked route in another order; nothing is kept before Enter."""
        order = self._order()
        self.order = arranged(order)
        if self.order == order:
            self.order = None
            self.say(f"{what} {how} already")
        else:
            self.say(f"{what} now {how}: Enter keeps the order, Escape drops it")

    def _carry(self, step: int) -> None:
        """Carry the stop that is picked up along its route; nothing is kept before Enter."""
        rows, row = self.rows, self.row
        if row is None:
            return
        order = list(self._order())
        at = order.index(row.label)
        to = max(0, min(len(order) - 1, at + step))
        order.insert(to, order.pop(at))
        first = next(place for place, one in enumerate(rows) if one.values["route"] == row.values["route"])
        self.order, self.marks[register.ROUTES_VIEW] = tuple(order), first + to
        self.say(f"{sanitize(row.label, 20)} carried to place {to + 1}: Enter drops it there, Escape puts it back")

    def _order(self) -> tuple[str, ...]:
        rows = self.rows
        route = self._route(rows)
        return self.order or tuple(row.label for row in rows if row.values["route"] == route)

    def _keep_order(self) -> None:
        order, route = self.order or (), self._route(self.rows)
        self.order = None
        self._do(lambda: self.desk.do(self.desk.reordered(route, order)))

    def _order_open(self) -> bool:
        if self.order is not None:
            self.say("The order is not kept yet: Enter keeps it, Escape drops it")
        return self.order is not None

    def action_write(self) -> None:
        """Write the set-up files of the folder, once that is answered by yes."""
        if self._order_open():
            return
        words = "Every set-up file is written as the register stands; the former ones go to a folder, set-up-before-…"
        self.ask("Write the set-up files?", [(words, False)], self._write)

    def _write(self) -> None:
        def have(found: tuple[int, str]) -> None:
            where = f"; those of before are in {found[1]}" if found[1] else ""
            self._read(partial(self.say, f"{found[0]} set-up files written{where}"))

        self.tell("Writing the set-up files: keys wait until all are written …")
        self.read(self.desk.write_files, have, "The files are not written", lambda: None)
        self.writes = True

    async def action_history(self) -> None:
        """Who changed the marked row, when, from what to what."""
        if not self._order_open() and self.row is not None:
            history = RowHistoryScreen(self.desk, self.row)
            await self.app.push_screen(history, lambda _: self._read(partial(self.say, "")))

    def _of_trap(self, form: Callable[[RegisterRow], Form]) -> None:
        if self.view == register.TRAPS_VIEW and self.row is not None:
            self._open(form(self.row))
        else:
            self.say("Only for a trap: 1 shows the traps")

    def _open(self, form: Form) -> None:
        if not self._order_open():
            self.app.push_screen(RegisterRowDialog(self.desk, form), self._asked)

    def _asked(self, done: Sequence[SetUpChanged] | None) -> None:
        if done:
            self._read(partial(self._done, done))

    def _mark(self, entry: SetUpChanged) -> None:
        """Mark the row that was added."""
        if self.row is not None and is_office(self.row.file):
            found = [at for at, row in enumerate(self.rows) if (row.file, row.values["origin"]) == (self.row.file, "")]
            self.marks[self.view] = found[-1] if found else 0
            return
        for at, row in enumerate(self.rows):
            if entry.becomes == text_of(BY_NAME[entry.file], row.values, entry.was):
                self.marks[self.view] = at
                return

    def _do(self, change: Callable[[], Sequence[SetUpChanged]]) -> None:
        with self.saying("Nothing was changed"):
            self._read(partial(self._done, change()))

    def _done(self, done: Sequence[SetUpChanged]) -> None:
        if done[0].change == "added":
            self._mark(done[-1])
            self.added = (self.row.file.name, self.row.label) if self.row is not None else ("", "")
        row, change = self.row, done[0].change
        name = named(row.file, row.values) if row is not None and change != "reordered" else "the route"
        stop = ""
        if row is not None and row.file.table == "traps" and change in ("added", "moved", "restored"):
            moved = change == "moved" and bool(row.earlier) and row.earlier[0]["block"] != row.values["block"]
            words = stop_words(self.session.programme, row.label, moved=moved)
            stop = f"; ! {words} (5 Routes)" if words else ""
        behind = "; not in the files yet: w writes them" if self.desk.behind else ""
        self.say(f"Saved, {change.replace('-', ' ')}: {name}, {several(len(done), 'row')}{stop}{behind}")

    def action_back(self) -> None:
        """Drop an order that is not kept, or back to where one was."""
        if self.order is not None:
            self.order = None
            self.say("The order is as it was")
        else:
            self.dismiss()

    # --- showing -----------------------------------------------------------------------------------------------------

    def keys_here(self) -> Sequence[Action]:
        """In the routes Enter picks a stop up; while it is carried Enter drops it, and Escape puts it back."""
        if self.order is not None:
            return [replace(one, words=CARRYING[one.act]) for one in self.KEYS if one.act in CARRYING]
        named = {"open": "pick up"} if self.view == register.ROUTES_VIEW else {}
        return [replace(one, words=named.get(one.act, one.words)) for one in self.KEYS]

    def _show(self) -> None:
        session, width, height = self.session, max(40, self.size.width), self.height
        rows, row = self.rows, self.row
        if not rows and not self.have_read.is_set():
            self.put_head("Traps and blocks")
            return
        behind = f"   {len(self.desk.behind)} to write" if self.desk.behind else ""
        kind = "stops" if self.view == register.ROUTES_VIEW else VIEWS[self.view].lower()
        kind = kind.removesuffix("s") if len(rows) == 1 and kind != "species" else kind
        self.put_head(f"Traps and blocks   {len(rows)} {kind}{behind}")
        self.put("views", tabs(VIEWS, self.view, width))
        line = partial(register_lines.row_line, self.view, session=session, behind=self.desk.behind)
        routes = self.view == register.ROUTES_VIEW
        # So many columns are enough for a stop, but for what is remarkable about it.
        each, beside = 54 if routes and width >= BESIDE else 0, width >= BESIDE and not routes
        self.set_class(beside, "-beside")
        room, below = (76, 0) if beside else (width, 2 if routes else DETAIL_LINES)
        size, head = (room, max(2, height - below - 7)), register_lines.head_line(self.view)
        none = "  Nothing yet: a adds a row."
        self.put("list", listed(rows, self.marks[self.view], size, line, none, head=head, each=each))
        size = (width - room, height - 6) if beside else (width, below)
        self.put("detail", register_lines.detail(self.desk, self.view, row, size, each or room))
        self.put_said(spoken_days(self.said or self._warning(), session.on))
        self.put_strip()

    def _warning(self) -> str:
        if self.view != register.ROUTES_VIEW or self.row is None:
            return ""
        programme = self.session.programme
        return register_lines.order_words(out_of_order(programme, self._order(), self.session.on), programme)


class RowHistoryScreen(ListScreen[None]):
    """Changes of a row made in the app, the newest first.

    Args:
        desk: Where they are asked for.
        row: The row.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "detail", "said", "keys")
    KEYS = ROW_HISTORY

    def __init__(self, desk: RegisterDesk, row: RegisterRow) -> None:
        super().__init__(desk.session)
        self.desk = desk
        self.of = row
        self.entries = desk.history(row)

    def _rows(self) -> Sequence[SetUpChanged]:
        return self.entries

    def action_revert(self) -> None:
        """Put the marked change back, and those recorded with it, on a second press."""
        if self.row is None:
            return
        with self.saying("Not reverted"):
            change = self.desk.undone(self.row)
            rows = f"{len(change.changes)} row(s) become as they were, by a further entry; both stay on record."

            def said() -> list[tuple[str, bool]]:
                return [*((remark, True) for remark in self.desk.remarks(change)), (rows, False)]

            self.ask("Revert this change?", said, lambda: self._revert(change))

    def _revert(self, change: RegisterChange) -> None:
        with self.saying("Not reverted"):
            self.desk.do(change)
            self.entries, self.marked = self.desk.history(self.of), 0
            self.say("Reverted; both stay on record")

    def _show(self) -> None:
        width, file = self.width, self.of.file
        self.put_head(f"History of {file.name} {self.of.values[file.key[0]]}")
        found = [register_lines.change_lines(one, self.entries, self.session.on, width - 4) for one in self.entries]
        size = width, max(HISTORY_LINES, self.size.height - 20)
        self.put("list", listed(found, self.marked, size, lambda one: one[0], "  Not changed in the app."))
        # A high terminal shows the changes before the marked one as well.
        many = len(found) if self.size.height >= TALL else 1
        self.put("detail", "\n\n".join("\n".join(lines) for _, lines in found[self.marked :][:many]))
        self.put_said(self.said)
