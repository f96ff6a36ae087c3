"""Vials that wait for a name; one key names what is in the marked one."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.content import Content
from textual.widgets import Static

from roundtui.app.actions import APP, VIALS, bindings, footer
from roundtui.app.screens.texts import TextsScreen
from roundtui.app.specimen_desk import SpecimenDesk
from roundtui.app.vial_lines import HEAD, in_full, vial_lines
from roundtui.domain.plain import plain
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.domain.orchard_entries import Specimen


class VialsScreen(TextsScreen[None]):
    """Specimens, the oldest first.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "../styles/vials.tcss"
    PARTS = ("head", "list", "said", "keys")
    BINDINGS = bindings(VIALS)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.desk = SpecimenDesk(session)
        self.every = False
        self.marked = 0
        self.said = ""
        """What was put on record just before."""
        self.listed: tuple[Specimen, ...] = self.desk.listed(every=False)

    def action_mark(self, step: int) -> None:
        """Another vial."""
        self.said = ""
        self.marked = max(0, min(len(self.listed) - 1, self.marked + step))
        self._show()

    def action_every(self) -> None:
        """Those named already as well, or not."""
        self.every = not self.every
        self._read()

    def action_name(self) -> None:
        """Name what is in the marked one, or in another whose number is typed."""
        from roundtui.app.dialogs.naming import NamingDialog

        marked = self.listed[self.marked] if self.listed else None
        self.app.push_screen(NamingDialog(self.desk, marked), self._named)

    def _named(self, said: str | None) -> None:
        if said:
            self.said = said
            self._read()

    def _read(self) -> None:
        try:
            self.listed = self.desk.listed(every=self.every)
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("The vials cannot be listed", error)
        self.marked = max(0, min(self.marked, len(self.listed) - 1))
        self._show()

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        programme = self.session.programme
        which = "of the season" if self.every else "waiting for a name"
        self._put("head", Content(plain(f" Vials   {len(self.listed)} {which}", width)))
        lines = vial_lines(self.listed, self.marked, programme, width, max(3, height - 6))
        rows: list[str | tuple[str, str]] = [(f"{plain(HEAD, width)}\n", "underline")]
        rows += [(f"{line}\n", "bold reverse" if marked else "") for line, marked in lines]
        if not lines:
            rows = ["  No vial waits for a name.\n" if not self.every else "  No vial was taken this season.\n"]
        self._put("list", Content.assemble(*rows))
        below = Content.styled(f"{plain(self.said, width - 2)}\n", "bold") if self.said else Content("")
        if self.listed:
            below = Content.assemble(below, f"{in_full(self.listed[self.marked], programme, 2 * width - 4)}")
        self._put("said", below)
        self._put("keys", Content(plain(f" {footer(VIALS)}  {footer(APP)}", width)))

    def _put(self, part: str, words: Content) -> None:
        self.query_one(f"#{part}", Static).update(words)

    def action_back(self) -> None:
        """Back to the desk."""
        self.dismiss()
