"""An empty or unknown folder is opened: one form begins a programme in it, and the desk says what comes next."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path, PurePath
from typing import ClassVar

from textual.binding import Binding, BindingType

from roundtui.app.app import TypedApp
from roundtui.app.dialogs.form import FormDialog
from roundtui.app.themes import dress, next_theme
from roundtui.domain.text import sanitize
from roundtui.domain.units import unit_of
from roundtui.store.begin import Beginning, begin, known_zone, machine_zone


class BeginDialog(FormDialog[Beginning | None]):
    """Office, unit, time zone, first farm and block; the folder is made before the dialog closes.

    Args:
        folder: The folder.
        clock: Gives the instant.
        ticks: Gives seconds that only ever run forward.
    """

    HINT = "All can be changed later; farm and block may wait. F4: theme."
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "app.theme", "Theme", id="begin.theme", tooltip="Next theme; the programme keeps it.")
    ]

    def __init__(self, folder: Path, clock: Callable[[], datetime], ticks: Callable[[], float]) -> None:
        where = "is empty" if folder.exists() else "is not there yet"
        name = sanitize(str(folder), 200)
        name = name if len(name) <= 50 else f"…{name[-49:]}"  # So that the form fits 60 columns and 20 lines.
        title = f"{name} {where}. Begin a programme in it?"
        fields = (
            ("office", "Office", ""),
            ("unit", "Unit, F or C", "F"),
            ("timezone", "Time zone", machine_zone()),
            ("farm", "Farm code, as HF", ""),
            ("farm_name", "Name of the farm", ""),
            ("block", "Block code, as N1", ""),
            ("block_name", "Name of the block", ""),
            ("crop", "Its crop", "apple"),
        )
        super().__init__(ticks, title, fields)
        self._folder = folder
        self._clock = clock

    def saves(self) -> str:
        """What is made."""
        return f"a new programme in {sanitize(self._folder.name, 30)}"

    def save(self) -> None:
        """Make the folder."""
        said = {name: " ".join(self.typed(name).split()) for name in self._at_first}
        unit = unit_of(said["unit"])
        if unit is None:
            raise self.wrong("unit", "Temperatures are in F or in C")
        if not known_zone(said["timezone"]):
            zone = sanitize(said["timezone"], 40)
            raise self.wrong("timezone", f"{zone} is no time zone", "write one as America/New_York")
        farm, block = said["farm"], said["block"]
        if block and not farm:
            raise self.wrong("farm", "A block is on a farm", "give the farm a code too")
        farms = [(farm, said["farm_name"] or farm)] if farm else []
        blocks = [(block, farm, said["block_name"] or block, said["crop"] or "apple")] if block else []
        look = getattr(self.app, "chosen", "")
        beginning = Beginning(said["office"], unit, said["timezone"], farms, blocks, look)
        begin(self._folder, beginning, self._clock())
        self.dismiss(beginning)


class BeginApp(TypedApp[Beginning | None]):
    """The form on an empty screen.

    Args:
        folder: The folder.
        clock: Gives the instant.
    """

    TITLE = "roundtui"
    CSS_PATH: ClassVar[list[str | PurePath]] = ["../base.tcss"]
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, folder: Path, clock: Callable[[], datetime]) -> None:
        super().__init__()
        self._dialog = BeginDialog(folder, clock, time.monotonic)
        self.fault: Exception | None = None
        """What stopped it."""
        self.chosen = ""
        """Theme that was chosen; empty: none was."""
        dress(self)

    def on_mount(self) -> None:
        """Ask at once."""
        self.push_screen(self._dialog, self.exit)

    def action_theme(self) -> None:
        """The next theme."""
        self.chosen = self.theme = next_theme(self.theme, list(self.available_themes))

    def _handle_exception(self, error: Exception) -> None:
        """Leave it to the command, which says faults in words."""
        self.fault = error
        self._close_messages_no_wait()
