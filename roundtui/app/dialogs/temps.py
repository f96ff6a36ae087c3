"""A day's maximum and minimum, read off a thermometer that keeps them."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.season_entries import TempsRead
from roundtui.domain.text import plain
from roundtui.domain.units import unit_of
from roundtui.errors import ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.season.seasons import Seasons


class TempsDialog(FieldsDialog[TempsRead | None]):
    """Type maximum and minimum of a day at a station; it is recorded before the dialog closes.

    Args:
        seasons: Where it is recorded.
        station: Code of the station.
    """

    FIRST = "tmax"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="temps.call-off", tooltip="Nothing is recorded."),
    ]

    def __init__(self, seasons: Seasons, station: str) -> None:
        super().__init__()
        self._seasons = seasons
        self._station = station

    def compose(self) -> ComposeResult:
        """Two short lines to fill in, two that are filled in."""
        known = self._seasons.session.programme.stations.get(self._station)
        name = f", {plain(known.name, 40)}" if known else ""
        with Vertical(classes="dialog"):
            yield Static(f"Thermometer of {plain(self._station, 20)}{name}", classes="title", markup=False)
            yield from self.field("tmax", "Maximum", "")
            yield from self.field("tmin", "Minimum", "")
            yield from self.field("unit", "Unit, F or C", self._seasons.unit_of(self._station))
            yield from self.field("day", "Day", self._seasons.session.on.isoformat())
            yield Static("Tab: next line   Enter saves   Escape cancels", id="said", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Record it, or say what cannot be."""
        event.stop()
        if event.input.id == "tmax" and not self.typed("tmin"):
            self.focus_next()
            return
        day, unit = self.day("day"), unit_of(self.typed("unit"))
        if day is None:
            self.say(f"Day: write a day as {self._seasons.session.on.isoformat()}")
            return
        if unit is None:
            self.say("Unit: F or C")
            return
        entry = TempsRead(station=self._station, day=day, tmin=self.typed("tmin"), tmax=self.typed("tmax"), unit=unit)
        try:
            recorded, odd = self._seasons.enter_temps(entry)
        except ProblemsError as error:
            self.say([plain(str(problem), 300) for problem in error.problems])
        except RoundtuiError as error:
            self.say(plain(f"{error.message}: {error.hint}" if error.hint else error.message, 300))
        else:
            for problem in odd:
                self.notify(plain(str(problem), 300), severity="warning", markup=False, timeout=10)
            self.dismiss(recorded)
